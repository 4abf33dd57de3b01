package measured

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// tapeRead reads "5 1/2" or "5.5" as a person does who knows only the list.
func tapeRead(t *testing.T, s string) float64 {
	var sum float64
	for _, f := range strings.Fields(s) {
		var a, b float64
		if n, _ := fmt.Sscanf(f, "%g/%g", &a, &b); n == 2 {
			sum += a / b
			continue
		}
		if _, err := fmt.Sscanf(f, "%g", &a); err != nil {
			t.Fatalf("%q cannot be read", s)
		}
		sum += a
	}
	return sum
}

// Marking out from the list alone gives every listed place on the outline again, within the unit's
// last digit.
func TestMarkingOut(t *testing.T) {
	digit := map[string]float64{"in": 1.0 / 16, "cm": 0.05, "mm": 0.5}
	for _, file := range []string{"ferry-smock.yaml", "lamplighter-jacket.yaml", "tool-roll.yaml"} {
		f, err := FiguresOf(samples.Read(file), file, Options{})
		if err != nil {
			t.Fatal(err)
		}
		e := drawn(t, file, "")
		for i, pc := range f.Pieces {
			line, _ := e.flatten(e.pieces[i].edges)
			b := line.Bound()
			for _, m := range pc.Marks {
				q := [2]float64{b.Min[0] + tapeRead(t, m.Across)*e.unitMM, b.Max[1] - tapeRead(t, m.Down)*e.unitMM}
				if d := line.Nearest(q).Dist; d > digit[f.Unit]*e.unitMM*math.Sqrt2/2+0.3 {
					t.Errorf("%s %s: %s lies %.2f mm off", file, pc.Name, m.Edge, d)
				}
			}
		}
		var text, js, html bytes.Buffer
		if f.Text(&text) != nil || f.JSON(&js) != nil || f.HTML(&html) != nil || text.Len()*js.Len()*html.Len() == 0 {
			t.Error("not written")
		}
	}
}

// Ten pieces for one more body are meant to cost under 10 ms.
func BenchmarkOneMoreBody(b *testing.B) {
	data := samples.Read("lamplighter-jacket.yaml")
	for b.Loop() {
		if _, err := Read(data, "lamplighter-jacket.yaml", Options{Body: "D"}); err != nil {
			b.Fatal(err)
		}
	}
}
