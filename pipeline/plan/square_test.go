package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func TestSquareLiesFree(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 0))
		var ready []pattern.Ready
		l := pattern.Lay{Material: pattern.Material{Width: 300, Length: 400, Margin: 5}}
		for i := range rapid.IntRange(0, 12).Draw(rt, "pieces") {
			ready = append(ready, pattern.Ready{Outline: box(0, 0, 20+rnd.Float64()*60, 20+rnd.Float64()*60)})
			m := geom.Translate(rnd.Float64()*300, rnd.Float64()*200).After(geom.Rotate(rnd.Float64()))
			l.Placements = append(l.Placements, pattern.Placement{Ready: i, Map: m})
		}
		out, rep := Strokes(ready, l, roll(), Options{})
		if rep.Square == nil {
			if len(rep.Notes) == 0 {
				rt.Fatal("no square and no word about it")
			}
			return
		}
		sq := box(rep.Square.Min[0], rep.Square.Min[1], rep.Square.Max[0], rep.Square.Max[1])
		if rep.Square.Min[0] < 5 || rep.Square.Min[1] < 5 || rep.Square.Max[0] > 395 || rep.Square.Max[1] > 295 {
			rt.Fatalf("the square %v leaves the material", rep.Square)
		}
		for _, s := range out {
			if s.Piece < 0 {
				continue
			}
			if len(geom.Crossings(sq, s.Path)) > 0 || sq.Contains(s.Path.Points[0]) || s.Path.Contains(sq.Points[0]) {
				rt.Fatalf("the square %v lies on a piece", rep.Square)
			}
		}
	})
}

func TestSquareSaysItsSize(t *testing.T) {
	out, rep := Strokes(nil, pattern.Lay{Material: pattern.Material{Width: 45, Length: 200}}, roll(), Options{})
	if rep.Square == nil || math.Abs(rep.Square.Max[0]-rep.Square.Min[0]-30) > 1e-9 || len(rep.Notes) != 1 {
		t.Fatalf("on 45 mm the square has 30 mm: %v %v", rep.Square, rep.Notes)
	}
	if len(out) < 5 {
		t.Errorf("a square and its letters are more than %d strokes", len(out))
	}
	if _, rep := Strokes(nil, pattern.Lay{}, roll(), Options{Square: -1}); rep.Square != nil {
		t.Error("a square nobody wanted")
	}
}
