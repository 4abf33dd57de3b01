package web

import (
	"image"
	"image/color"
	"regexp"
	"strconv"
	"strings"
	"testing"

	qr "github.com/piglig/go-qr"
)

// TestQR: a reader of QR codes reads the address from the SVG's modules, and from the terminal's blocks.
func TestQR(t *testing.T) {
	const text = "http://192.168.1.20:40123/enter?code=ABCDE-FGHJK"
	svg, rows, err := QR(text)
	if err != nil {
		t.Fatal(err)
	}
	const k = 8
	read := func(n int, dark func(x, y int) bool) {
		t.Helper()
		img := image.NewGray(image.Rect(0, 0, n*k, n*k))
		for y := range n * k {
			for x := range n * k {
				img.Set(x, y, color.White)
				if dark(x/k, y/k) {
					img.Set(x, y, color.Black)
				}
			}
		}
		if got, err := qr.Decode(img); err != nil || got != text {
			t.Errorf("a reader reads %q: %v", got, err)
		}
	}
	modules, n := map[[2]int]bool{}, 0
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h1v1h-1z`).FindAllStringSubmatch(svg, -1) {
		x, errX := strconv.Atoi(m[1])
		y, errY := strconv.Atoi(m[2])
		if errX != nil || errY != nil {
			t.Fatal(m)
		}
		modules[[2]int{x, y}] = true
		n = max(n, x+1+quiet, y+1+quiet)
	}
	read(n, func(x, y int) bool { return modules[[2]int{x, y}] })
	lines := strings.Split(strings.TrimRight(rows, "\n"), "\n")
	read(n, func(x, y int) bool {
		c := []rune(lines[y/2])[x]
		return c == ' ' || c == '▄' && y%2 == 0 || c == '▀' && y%2 == 1
	})
}
