package check

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// bodice is a front and a back, both drawn to the right of their centre, sewn at the side. The
// side runs from the hem at (w, 0) to the underarm at (w+lean, high).
func bodice(lean, high float64, notches ...[2]float64) *pattern.Pattern {
	half := func(name string, lean, high float64, at []float64) pattern.Piece {
		sew := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {250, 0}, {250 + lean, high}, {150, high}, {150, high + 200}, {0, high + 200}}}
		p := panel(func(p *pattern.Piece) {
			p.Name, p.Cut, p.Sew, p.Allowance = name, nil, []geom.Path{sew}, mm(10)
			p.Grain = &pattern.Segment{A: orb.Point{50, 20}, B: orb.Point{50, high}}
			p.Edges = []pattern.Edge{{Name: "hem", Kind: "hem", First: 0}, {Name: "side", Kind: "side", First: 1},
				{Name: "armhole", Kind: "armhole", First: 2}, {Name: "shoulder", First: 4}, {Name: "centre", First: 5}}
		})
		for _, s := range at {
			if s > 0 {
				q, _ := sew.At(250 + s)
				p.Notches = append(p.Notches, pattern.Notch{At: q, Kind: pattern.NotchNick, Depth: 4, OnSew: true})
			}
		}
		return p
	}
	var front, back []float64
	for _, n := range notches {
		front, back = append(front, n[0]), append(back, n[1])
	}
	d := draftOf(half("FRONT", 0, 300, front), half("BACK", lean, high, back))
	d.Seams = []pattern.Seam{{A: []pattern.EdgeRef{{Piece: "FRONT", Edge: "side"}}, B: []pattern.EdgeRef{{Piece: "BACK", Edge: "side"}}}}
	return d
}

func eased(d *pattern.Pattern, ease, tolerance float64) *pattern.Pattern {
	d.Seams[0].Ease, d.Seams[0].Tolerance = ease, tolerance
	return d
}

// Accept a difference of 2 mm in all (common practice); eased seams as the draft says.
func init() {
	lost := bodice(0, 300)
	lost.Seams[0].B[0].Edge = "sidee"
	examples[pattern.RuleSeamLengths] = []example{
		{name: "equal", draft: bodice(0, 300)},
		{name: "2 mm", draft: bodice(0, 301.9)},
		{name: "3 mm", severity: pattern.Error, draft: bodice(0, 303), words: []string{"300 mm", "303 mm", "BACK side is 3 mm longer"}},
		{name: "6 mm of ease", draft: eased(bodice(0, 306), 6, 1)},
		{name: "ease lacking", severity: pattern.Error, draft: eased(bodice(0, 300), 6, 1), words: []string{"FRONT side is 6 mm longer"}},
		{name: "8 mm longer than its partner", severity: pattern.Error, draft: bodice(0, 308), words: []string{"8 mm"}},
		{name: "no such edge", severity: pattern.Error, draft: lost, words: []string{`"sidee"`}},
	}
	// The edges of BACK that cross the side bear other names. Sewn to other edges than those of FRONT, they
	// are other seams that end there, as at a sleeve's underarm; sewn to one and the same, they run on.
	junction := func(seams ...pattern.Seam) *pattern.Pattern {
		d := bodice(40, 300)
		d.Pieces[1].Edges[0] = pattern.Edge{Name: "inner seam", First: 0}
		d.Pieces[1].Edges[2] = pattern.Edge{Name: "outer seam", First: 2}
		d.Seams = append(d.Seams, seams...)
		return d
	}
	ref := func(piece string, edges ...string) (out []pattern.EdgeRef) {
		for _, e := range edges {
			out = append(out, pattern.EdgeRef{Piece: piece, Edge: e})
		}
		return out
	}
	apart := []pattern.Seam{{A: ref("FRONT", "hem"), B: ref("FRONT", "hem")}, {A: ref("FRONT", "armhole"), B: ref("FRONT", "armhole")},
		{A: ref("BACK", "inner seam"), B: ref("BACK", "inner seam")}, {A: ref("BACK", "outer seam"), B: ref("BACK", "outer seam")}}
	oneBand := pattern.Seam{A: append(ref("FRONT", "hem"), ref("BACK", "inner seam")...), B: ref("FRONT", "shoulder"), Tolerance: 1e4}
	// Where the edges that cross the side's ends are sewn to one another, their seams go on and nothing crosses.
	followed := bodice(40, 300)
	for _, edge := range []string{"hem", "armhole"} {
		followed.Seams = append(followed.Seams, pattern.Seam{A: ref("FRONT", edge), B: ref("BACK", edge), Tolerance: 1e4, Corners: true})
	}
	// A side that leans by 10 in 300 makes 90 - 1.9 at the hem: let pass. 40 in 300 makes 7.6: named.
	examples[pattern.RuleCornerNotTrue] = []example{
		{name: "square", draft: bodice(0, 300)},
		{name: "2 degrees", draft: bodice(10, 300)},
		{name: "8 degrees", severity: pattern.Warning, count: 2, draft: bodice(40, 300), words: []string{"dent", "instead of 180"}},
		{name: "free edges of other names", severity: pattern.Warning, count: 2, draft: junction()},
		{name: "other seams end there", draft: junction(apart...)},
		{name: "one seam follows another", draft: followed},
		{name: "both in one band", severity: pattern.Warning, count: 2, draft: junction(oneBand)},
	}
	examples[pattern.RuleNotchNoPartner] = []example{
		{name: "none", draft: bodice(0, 300)},
		{name: "meet", draft: bodice(0, 300, [2]float64{100, 100}, [2]float64{180, 181})},
		{name: "one is missing", severity: pattern.Warning, draft: bodice(0, 300, [2]float64{100, 100}, [2]float64{180, 0}), words: []string{"FRONT side", "meets none on BACK side"}},
		{name: "10 mm apart", severity: pattern.Warning, count: 2, draft: bodice(0, 300, [2]float64{100, 110})},
	}
	// halves are the bodice's hem on the fold, taken twice, and a band of 500 drawn whole; notches from the fold and along the band.
	halves := func(hem, band []float64) *pattern.Pattern {
		d := bodice(0, 300)
		f := &d.Pieces[0]
		f.Edges[4].Fold, f.Fold = true, &pattern.Segment{A: orb.Point{0, 500}, B: orb.Point{0, 0}}
		for _, s := range hem {
			f.Notches = append(f.Notches, pattern.Notch{At: orb.Point{s, 0}, Kind: pattern.NotchNick, Depth: 4, OnSew: true})
		}
		b := panel(func(p *pattern.Piece) {
			p.Name, p.Cut, p.Allowance = "BAND", nil, mm(10)
			p.Sew = []geom.Path{{Closed: true, Points: points("0,0 500,0 500,60 0,60")}}
			p.Grain = &pattern.Segment{A: orb.Point{50, 20}, B: orb.Point{450, 20}}
			p.Edges = []pattern.Edge{{Name: "lower", First: 0}, {Name: "end", First: 1}, {Name: "upper", First: 2}, {Name: "far end", First: 3}}
		})
		for _, s := range band {
			b.Notches = append(b.Notches, pattern.Notch{At: orb.Point{s, 0}, Kind: pattern.NotchNick, Depth: 4, OnSew: true})
		}
		d.Pieces = append(d.Pieces, b)
		d.Seams = []pattern.Seam{{A: []pattern.EdgeRef{{Piece: "FRONT", Edge: "hem", Times: 2}}, B: ref("BAND", "lower")}}
		return d
	}
	// From the fold, at 250 of the band, 100 lies at 150 and at 350: arithmetic by hand.
	examples[pattern.RuleNotchNoPartner] = append(examples[pattern.RuleNotchNoPartner],
		example{name: "a half mirrored by the fold", draft: halves([]float64{100}, []float64{150, 350})},
		example{name: "the middle meets the fold", draft: halves(nil, []float64{250})},
		example{name: "the half bears none", severity: pattern.Warning, draft: halves(nil, []float64{150}), words: []string{"BAND lower", "meets none on twice FRONT hem"}},
		example{name: "the half bears it elsewhere", severity: pattern.Warning, count: 3, draft: halves([]float64{100}, []float64{140, 360})},
		example{name: "the whole bears one of the two", severity: pattern.Warning, draft: halves([]float64{100}, []float64{150}), words: []string{"FRONT hem", "both sides of the fold", "BAND lower"}},
	)
}
