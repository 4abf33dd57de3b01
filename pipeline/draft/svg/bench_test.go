package svg

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
)

// bigDraft has 30 pieces with 20,000 vertices in all: cut lines of 400, sew lines of 250, and marks.
func bigDraft() []byte {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" width="6000mm" height="5000mm" viewBox="0 0 6000 5000"><style>.cut,.sew{fill:none}</style>`)
	ring := func(cx, cy, r float64, n int) {
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			k := r * (1 + 0.1*math.Sin(5*a))
			fmt.Fprintf(&b, "%c%.4f %.4f", "ML"[min(i, 1)], cx+k*math.Cos(a), cy+k*math.Sin(a))
		}
		b.WriteString(`Z"/>`)
	}
	for i := range 30 {
		cx, cy := 500+1000*float64(i%6), 500+1000*float64(i/6)
		fmt.Fprintf(&b, `<g data-piece="P%02d" data-quantity="2"><path class="cut" d="`, i)
		ring(cx, cy, 400, 400)
		b.WriteString(`<path class="sew" d="`)
		ring(cx, cy, 390, 250)
		for k := range 8 {
			a := 2 * math.Pi * float64(k) / 8
			r := 400 * (1 + 0.1*math.Sin(5*a))
			fmt.Fprintf(&b, `<line class="notch" x1="%.4f" y1="%.4f" x2="%.4f" y2="%.4f"/>`,
				cx+r*math.Cos(a), cy+r*math.Sin(a), cx+(r-5)*math.Cos(a), cy+(r-5)*math.Sin(a))
		}
		fmt.Fprintf(&b, `<line class="grain" x1="%g" y1="%g" x2="%g" y2="%g"/></g>`, cx, cy-100, cx, cy+100)
	}
	b.WriteString(`</svg>`)
	return []byte(b.String())
}

func BenchmarkRead(b *testing.B) {
	data := bigDraft()
	b.Run("read", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for b.Loop() {
			p, err := Read(data, "big.svg", Options{})
			if err != nil || len(p.Pieces) != 30 {
				b.Fatal(err, len(p.Pieces))
			}
		}
	})
	b.Run("bare-parse", func(b *testing.B) { // what the XML alone costs
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for b.Loop() {
			d := xml.NewDecoder(bytes.NewReader(data))
			for {
				if _, err := d.Token(); errors.Is(err, io.EOF) {
					break
				} else if err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}

// Path data is read without taking memory for its numbers: what is allocated grows with the
// subpaths, not with their vertices.
func TestPathDataAllocates(t *testing.T) {
	d := "M0 0" + strings.Repeat("L1.5,2.25-3 4e1", 2000) + "z"
	var p pen
	draw := func() {
		p.begin(geom.Identity, func(q geom.Path) {})
		if err := drawPath(d, &p, func() bool { return true }); err != nil {
			t.Fatal(err)
		}
	}
	draw()
	if n := testing.AllocsPerRun(10, draw); n > 10 {
		t.Errorf("%v allocations for one path of 4000 points", n)
	}
}
