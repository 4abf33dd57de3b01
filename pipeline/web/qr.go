package web

import (
	"fmt"
	"strings"

	qr "github.com/piglig/go-qr"
)

// quiet is the margin of a QR code in modules, as ISO/IEC 18004 asks.
const quiet = 4

// QR draws a text as a QR code (ISO/IEC 18004): an SVG of dark modules on white whatever the page's ground is, and
// rows of half blocks for a terminal.
func QR(text string) (svg, rows string, err error) {
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return "", "", fmt.Errorf("drawing %d letters as a QR code: %w", len(text), err)
	}
	n := code.Size() + 2*quiet
	dark := func(x, y int) bool {
		x, y = x-quiet, y-quiet
		return x >= 0 && y >= 0 && x < code.Size() && y < code.Size() && code.Module(x, y)
	}
	var s, r strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" shape-rendering="crispEdges"><title>QR code of the address</title><rect width="%d" height="%d" fill="#ffffff"/><path fill="#000000" d="`, n, n, 8*n, 8*n, n, n)
	for y := range n {
		for x := range n {
			if dark(x, y) {
				fmt.Fprintf(&s, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	s.WriteString(`"/></svg>`)
	for y := 0; y < n; y += 2 { // light on a dark terminal: the blocks are the light modules
		for x := range n {
			r.WriteString([]string{"█", "▄", "▀", " "}[2*b(dark(x, y+1))+b(dark(x, y))])
		}
		r.WriteByte('\n')
	}
	return s.String(), r.String(), nil
}

func b(v bool) int {
	if v {
		return 1
	}
	return 0
}
