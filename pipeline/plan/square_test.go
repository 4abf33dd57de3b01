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

// On sheets the square lies on one sheet, outside the strips that two share, and no sheet is added for it.
func TestSquareOnSheets(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pages := pattern.Pages{Step: rapid.Float64Range(120, 300).Draw(rt, "step")}
		pages.Room = pages.Step + rapid.Float64Range(0, 25).Draw(rt, "overlap")
		// Two pieces nearly as wide as the sheets leave a gap in which the square may lie, over a join or not.
		long := rapid.Float64Range(200, 900).Draw(rt, "long")
		way := rapid.Float64Range(10, long-100).Draw(rt, "way")
		l := pattern.Lay{Material: pattern.Material{Width: 300, Margin: 5, Pages: pages}, LengthUsed: long,
			Placements: []pattern.Placement{{Map: geom.Translate(5, 5)}, {Ready: 1, Map: geom.Translate(5, 5)}}}
		_, rep := Strokes([]pattern.Ready{{Outline: box(0, 0, way, 285)}, {Outline: box(way+80, 0, long-5, 285)}}, l, roll(), Options{})
		if rep.Square == nil {
			if len(rep.Notes) == 0 {
				rt.Fatal("no square and no word about it")
			}
			return
		}
		last := 0.0
		for last*pages.Step+pages.Room < long {
			last++
		}
		for k := 0.0; k <= last; k++ {
			from := k*pages.Step + (pages.Room - pages.Step)
			if k == 0 {
				from = 0
			}
			to := (k + 1) * pages.Step
			if k == last {
				to = k*pages.Step + pages.Room
			}
			if rep.Square.Min[0] >= from-1e-6 && rep.Square.Max[0] <= to+1e-6 {
				return
			}
		}
		rt.Fatalf("the square %v is on no one of %.0f sheets of %v", rep.Square, last+1, pages)
	})
}
