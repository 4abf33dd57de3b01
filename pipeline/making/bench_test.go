package making

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// thirtyPieceDraft is an SVG draft of 30 pieces and 20,000 vertices: a sew line of 333 and a cut line
// of 333 each, with grain, notches and a name.
func thirtyPieceDraft() []byte {
	const pieces, vertices = 30, 333
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" width="4000mm" height="4000mm" viewBox="0 0 4000 4000">`)
	for k := range pieces {
		x, y := 300+600*float64(k%6), 300+600*float64(k/6)
		fmt.Fprintf(&b, `<g data-piece="PIECE %d" data-quantity="1">`, k+1)
		for _, line := range []struct {
			class string
			grow  float64
		}{{"cut", 10}, {"sew", 0}} {
			fmt.Fprintf(&b, `<polygon class=%q points="`, line.class)
			for i := range vertices {
				s, c := math.Sincos(2 * math.Pi * float64(i) / vertices)
				fmt.Fprintf(&b, "%.4f,%.4f ", x+(200+line.grow)*c, y+(240+line.grow)*s)
			}
			b.WriteString(`"/>`)
		}
		fmt.Fprintf(&b, `<path class="grain" d="M%g %gv200"/><path class="notch" d="M%g %gh-4"/></g>`, x, y-100, x+210, y)
	}
	b.WriteString("</svg>")
	return []byte(b.String())
}

// BenchmarkCutReady takes bytes as far as cut-ready pieces: read, checked, prepared. BenchmarkBareParse
// beside it only walks the same bytes' XML and reads every number.
func BenchmarkCutReady(b *testing.B) {
	data := thirtyPieceDraft()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		p, err := draft.Read(data, "thirty.svg", draft.Options{})
		if err != nil || len(p.Pieces) != 30 {
			b.Fatal(err)
		}
		if fs := check.Run(p, check.Limits{}, nil); pattern.Worst(fs) == pattern.Error {
			b.Fatal(fs)
		}
		res, err := prepare.Run(p, pattern.Ticket{}, prepare.Options{HasPen: true})
		if err != nil || len(res.Ready) != 30 {
			b.Fatal(err)
		}
	}
}

func BenchmarkBareParse(b *testing.B) {
	data := thirtyPieceDraft()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		numbers := 0
		dec := xml.NewDecoder(bytes.NewReader(data))
		for {
			tok, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			el, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			for _, a := range el.Attr {
				if a.Name.Local != "points" {
					continue
				}
				for _, f := range strings.FieldsFunc(a.Value, func(r rune) bool { return r == ' ' || r == ',' }) {
					if _, err := strconv.ParseFloat(f, 64); err != nil {
						b.Fatal(err)
					}
					numbers++
				}
			}
		}
		if numbers != 2*2*30*333 {
			b.Fatal(numbers)
		}
	}
}
