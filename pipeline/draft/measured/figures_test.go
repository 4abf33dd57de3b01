package measured

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
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

// Folding the cut outline on its fold lines gives the worn one again: each vertex of the cut piece,
// mirrored back over the folds that lie before it, lies on the worn outline.
func TestFoldsBack(t *testing.T) {
	for _, c := range []struct{ file, body, name string }{{"ferry-smock.yaml", "A", "front"}, {"ferry-smock.yaml", "B", "front"}, {"tool-roll.yaml", "T1", "pocket strip"}, {"tool-roll.yaml", "T2", "pocket strip"}} {
		e := drawn(t, c.file, c.body)
		pc := e.pieceNamed(c.name)
		flat, _ := e.flatten(pc.edges)
		worn, _ := e.flatten(pc.worn)
		side := math.Copysign(1, pc.open.ahead[0])
		for _, q := range flat.Points {
			beyond := false // what lies beyond a fold is turned over by it and by all before it
			for k := len(pc.open.turns) - 1; k >= 0; k-- {
				a, b := e.mm(pc.open.turns[k].flatA), e.mm(pc.open.turns[k].flatB)
				x := a[0] + (b[0]-a[0])*(q[1]-a[1])/(b[1]-a[1])
				if beyond = beyond || (q[0]-x)*side > 1e-9; beyond {
					q = geom.MirrorLine(a, b).Apply(q)
				}
			}
			if d := worn.Nearest(q).Dist; d > 0.01 {
				t.Errorf("%s %s: a vertex folds back %.4f mm off", c.file, c.body, d)
			}
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
