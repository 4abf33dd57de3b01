package svg

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"tracewheel/devices/needs"
	"tracewheel/geom"
)

// What an SVG really shows is told by a renderer that shares no code with the reader: librsvg paints
// the lines of one role black, and the dark area is compared with the outlines. Its limits at 4 px a
// mm, as measured for the answer files: area to 0.1 %, box to 0.3 mm.
func TestAgainstRenderer(t *testing.T) {
	needs.Program(t, "librsvg2-bin", "rsvg-convert")
	for _, name := range []string{"apron-mm.svg", "yoke-px.svg"} {
		file := filepath.Join(drafts(t), name)
		raw, err := os.ReadFile(file + ".answers.json")
		if err != nil {
			t.Fatal(err)
		}
		var o struct {
			CSS    string  `json:"oracle_css"`
			CSSSew string  `json:"oracle_css_sew"`
			Scale  float64 `json:"raster_px_per_mm"`
		}
		if err := json.Unmarshal(raw, &o); err != nil {
			t.Fatal(err)
		}
		p, _ := readDraft(t, name)
		var cut, sew []geom.Path
		for _, piece := range p.Pieces {
			cut, sew = append(cut, *piece.Cut), append(sew, piece.Sew...)
		}
		compareInk(t, name+" cut", render(t, file, o.CSS, o.Scale), cut)
		compareInk(t, name+" sew", render(t, file, o.CSSSew, o.Scale), sew)
	}
}

// The forms that a reader gets wrong most easily, in one picture.
func TestFormsAgainstRenderer(t *testing.T) {
	needs.Program(t, "librsvg2-bin", "rsvg-convert")
	for name, body := range map[string]string{
		"arcs":     `<path class="cut" d="M30 60a40 20-30 0140 10 25,15 20 1 1-20 20L30 90z"/>`,
		"curves":   `<path class="cut" d="M20 20c10-15 30-15 40 0s30 15 40 0q20 20 0 40t10 40H20z"/>`,
		"skewed":   `<g transform="translate(60 20) skewX(20) rotate(15 20 20) scale(1.5 .7)"><ellipse class="cut" cx="30" cy="40" rx="25" ry="12"/></g>`,
		"rounded":  `<rect class="cut" x="20" y="30" width="90" height="60" rx="30" ry="10" transform="rotate(10)"/>`,
		"symbol":   `<symbol id="s" viewBox="5 5 40 20" preserveAspectRatio="xMaxYMin slice" overflow="visible"><circle class="cut" cx="25" cy="15" r="10"/></symbol><use href="#s" x="40" y="50" width="60" height="60"/>`,
		"nested":   `<svg x="30" y="20" width="100" height="80" viewBox="0 0 50 80" preserveAspectRatio="none" overflow="visible"><path class="cut" d="M5 5L45 10A20 30 10 0 1 10 70z"/></svg>`,
		"mirrored": `<g transform="translate(150) scale(-1 1)"><path class="cut" d="M20 20L80 30A30 30 0 0 0 110 80L30 90Z"/></g>`,
	} {
		text := `<svg xmlns="http://www.w3.org/2000/svg" width="160mm" height="120mm" viewBox="0 0 160 120">` + body + `</svg>`
		file := filepath.Join(t.TempDir(), name+".svg")
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		p := read(t, text)
		if len(p.Pieces) != 1 {
			t.Errorf("%s: %d pieces, %+v", name, len(p.Pieces), p.Findings)
			continue
		}
		compareInk(t, name, render(t, file, `.cut{fill:#000!important}`, 8), []geom.Path{*p.Pieces[0].Cut})
	}
}

// ink is the dark area in mm2 and its box in mm, y down.
type ink struct{ area, x0, y0, x1, y1, height float64 }

func render(t *testing.T, file, css string, scale float64) ink {
	t.Helper()
	sheet := filepath.Join(t.TempDir(), "sheet.css")
	if err := os.WriteFile(sheet, []byte(css), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("rsvg-convert", "-d", "96", "-p", "96", "-z", fmt.Sprint(scale*25.4/96), "-b", "white", "-s", sheet, file).Output()
	if err != nil {
		t.Fatalf("rsvg-convert: %v", err)
	}
	img, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	k := ink{x0: math.Inf(1), y0: math.Inf(1), height: float64(b.Dy()) / scale}
	pix, stride, step := pixels(t, img)
	for y := range b.Dy() {
		row := pix[y*stride:]
		for x := range b.Dx() {
			v := row[x*step]
			if v == 0xff {
				continue
			}
			dark := 1 - float64(v)/0xff
			k.area += dark / scale / scale
			if dark > 0.5 {
				fx, fy := float64(x)/scale, float64(y)/scale
				k.x0, k.y0 = math.Min(k.x0, fx), math.Min(k.y0, fy)
				k.x1, k.y1 = math.Max(k.x1, fx+1/scale), math.Max(k.y1, fy+1/scale)
			}
		}
	}
	return k
}

// pixels gives the bytes of a picture; the first of each pixel is its red.
func pixels(t *testing.T, img image.Image) (pix []byte, stride, step int) {
	switch m := img.(type) {
	case *image.RGBA:
		return m.Pix, m.Stride, 4
	case *image.NRGBA:
		return m.Pix, m.Stride, 4
	case *image.Gray:
		return m.Pix, m.Stride, 1
	}
	t.Fatalf("a picture of type %T", img)
	return nil, 0, 0
}

func compareInk(t *testing.T, what string, k ink, lines []geom.Path) {
	t.Helper()
	if len(lines) == 0 {
		return
	}
	var area float64
	box := lines[0].Bound()
	for _, l := range lines {
		area += l.Area()
		box = box.Union(l.Bound())
	}
	if math.Abs(area/k.area-1) > 0.002 {
		t.Errorf("%s: area %.2f, rendered %.2f", what, area, k.area)
	}
	for i, d := range []float64{box.Min[0] - k.x0, box.Max[0] - k.x1, k.height - box.Max[1] - k.y0, k.height - box.Min[1] - k.y1} {
		if math.Abs(d) > 0.5 {
			t.Errorf("%s: side %d of the box is off by %.2f mm", what, i, d)
		}
	}
}
