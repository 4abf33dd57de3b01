package check

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

func cutLineAs(text string) func(*pattern.Piece) {
	return func(p *pattern.Piece) { p.Cut = closed(text) }
}

// arcs adds points of a circle about c from angle a to b in degrees, in steps of step degrees.
func arcs(c orb.Point, r, a, b, step float64) []orb.Point {
	n := int(math.Ceil(math.Abs(b-a) / step))
	var out []orb.Point
	for k := range n + 1 {
		s, co := math.Sincos((a + (b-a)*float64(k)/float64(n)) * math.Pi / 180)
		out = append(out, orb.Point{c[0] + r*co, c[1] + r*s})
	}
	return out
}

// hem40 is a hem of 40 beside side seams of 15 and a neck of 6, sloped sides: nearest distances run
// from 15 to 40 along the hem near its corners, by design.
func hem40() pattern.Piece {
	sew := closed("0,0 300,0 260,400 40,400")
	edges := []offset.Edge{{First: 0, From: 40, To: 40}, {First: 1, From: 15, To: 15}, {First: 2, From: 6, To: 6}, {First: 3, From: 15, To: 15}}
	rings, err := offset.Build(*sew, edges, 3)
	if err != nil {
		panic(err)
	}
	return panel(func(p *pattern.Piece) { p.Sew, p.Cut = []geom.Path{*sew}, &rings[0].Path })
}

// armhole has a closing corner, where the cut line's own corner lies further off than the width,
// and a hollow arc drawn in coarse chords: radius 50 sewn and 40 cut, 10 degree steps, so that a
// designed 10 mm reads 9.96 at its smallest.
func armhole() pattern.Piece {
	sew := geom.Path{Closed: true, Points: points("0,0 300,0 300,200")}
	sew.Points = append(sew.Points, arcs(orb.Point{300, 300}, 100, 270, 180, 10)[1:]...)
	sew.Points = append(sew.Points, points("200,320 100,320 100,250 0,250")...)
	edges := []offset.Edge{}
	for _, i := range []int{0, 1, 2, 12, 13, 14, 15} {
		edges = append(edges, offset.Edge{First: i, From: 10, To: 10})
	}
	rings, err := offset.Build(sew, edges, 3)
	if err != nil {
		panic(err)
	}
	return panel(func(p *pattern.Piece) { p.Sew, p.Cut = []geom.Path{sew}, &rings[0].Path })
}

func init() {
	shrinks := "-10,-10 310,-10 310,0 306.2,100 310,200 310,210 -10,210"
	examples[pattern.RuleAllowanceNarrow] = []example{
		{name: "even", draft: draftOf(panel())},
		{name: "edges differ by design", draft: draftOf(hem40())},
		{name: "closing corners and coarse chords", draft: draftOf(armhole())},
		{name: "dips to 6.2", severity: pattern.Error, draft: draftOf(panel(cutLineAs(shrinks))), near: place(300, 100),
			words: []string{"shrinks from 10 to 6.2 mm between (300, 0) and (300, 200)", "on the right side edge"}},
		{name: "runs from 10 to 6 all along", severity: pattern.Error, words: []string{"from 9.8 to 6.2 mm between (300, 0) and (300, 200)"},
			draft: draftOf(panel(cutLineAs("-10,-10 310,-10 306,210 -10,210")))},
		{name: "6.2 elsewhere does not excuse it", severity: pattern.Error, words: []string{"10 to 6.2"},
			draft: draftOf(panel(cutLineAs("-6,-10 310,-10 310,0 306.2,100 310,200 310,210 -6,210")))},
		{name: "a corner cut off", severity: pattern.Error, near: place(300, 200), words: []string{"at the corner (300, 200)"},
			draft: draftOf(panel(cutLineAs("-10,-10 310,-10 310,197 299,203 297,210 -10,210")))},
		{name: "stated to change", draft: draftOf(panel(cutLineAs("-10,-10 310,-10 306,210 -10,210"), func(p *pattern.Piece) {
			p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1, Allowance: &pattern.Width{From: 10, To: 6}},
				{Name: "waist", First: 2}, {Name: "centre", First: 3}}
		}))},
		{name: "stated and not kept", severity: pattern.Error, words: []string{`"side" edge`, "the draft states 15 mm"},
			draft: draftOf(panel(func(p *pattern.Piece) {
				p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1, Allowance: &pattern.Width{From: 15, To: 15}},
					{Name: "waist", First: 2}, {Name: "centre", First: 3}}
			}))},
		{name: "less than the workroom wants", severity: pattern.Warning, count: 4, lim: Limits{AllowanceMin: 12},
			draft: draftOf(panel()), words: []string{"the workroom wants at least 12 mm"}},
		{name: "stated all round, 5 mm where 6 are wanted", severity: pattern.Warning, count: 1, lim: Limits{AllowanceMin: 6}, words: []string{"an allowance of 5 mm", "at least 6 mm"},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cut, p.Allowance = nil, mm(5) }))},
		{name: "stated narrow of one edge, none of another", severity: pattern.Warning, count: 1, near: place(300, 100), lim: Limits{AllowanceMin: 6}, words: []string{`the "side" edge`},
			draft: draftOf(panel(func(p *pattern.Piece) {
				ten, narrow, none := &pattern.Width{From: 10, To: 10}, &pattern.Width{From: 3, To: 3}, &pattern.Width{}
				p.Cut, p.Edges = nil, []pattern.Edge{{First: 0, Allowance: ten}, {Name: "side", First: 1, Allowance: narrow}, {First: 2, Allowance: none}, {First: 3, Allowance: ten}}
			}))},
		{name: "stated and as wide as wanted", lim: Limits{AllowanceMin: 6}, draft: draftOf(panel(func(p *pattern.Piece) { p.Cut, p.Allowance = nil, mm(6) }))},
		{name: "steps where a zip begins", severity: pattern.Warning, words: []string{"steps from 20 to 10 mm"},
			draft: draftOf(panel(cutLineAs("-10,-10 320,-10 320,130 310,130 310,210 -10,210")))},
		{name: "lacks 0.8", severity: pattern.Warning,
			draft: draftOf(panel(cutLineAs("-10,-10 310,-10 310,40 309.2,100 310,160 310,210 -10,210")))},
		{name: "steps and comes back", severity: pattern.Error, words: []string{"from 10 to 6 mm between (300,"},
			draft: draftOf(panel(cutLineAs("-10,-10 310,-10 310,80 306,80 306,130 310,130 310,210 -10,210")))},
		{name: "in inches", severity: pattern.Error, lim: Limits{Unit: "in"}, words: []string{"shrinks from 25/64 to 1/4 in"},
			draft: draftOf(panel(cutLineAs(shrinks)))},
	}
	examples[pattern.RuleAllowanceWide] = []example{
		{name: "edges differ by design", draft: draftOf(hem40())},
		{name: "closing corners", draft: draftOf(armhole())},
		{name: "bulges to 14", severity: pattern.Warning, near: place(100, 0), words: []string{"grows from 10 to 13.9 mm"},
			draft: draftOf(panel(cutLineAs("-10,-10 60,-10 100,-14 140,-10 310,-10 310,210 -10,210")))},
		{name: "more than the workroom wants", severity: pattern.Warning, count: 1, lim: Limits{AllowanceMax: 30}, draft: draftOf(hem40())},
		{name: "stated all round, 15 cm for 15 mm", severity: pattern.Warning, count: 1, lim: Limits{AllowanceMax: 60}, words: []string{"150 mm on 4 edges", "at most 60 mm"},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cut, p.Allowance = nil, mm(150) }))},
		{name: "stated of one edge", severity: pattern.Warning, count: 1, near: place(300, 100), lim: Limits{AllowanceMax: 60}, words: []string{`the "side" edge`},
			draft: draftOf(panel(func(p *pattern.Piece) {
				ten, wide := &pattern.Width{From: 10, To: 10}, &pattern.Width{From: 10, To: 150}
				p.Cut, p.Edges = nil, []pattern.Edge{{First: 0, Allowance: ten}, {Name: "side", First: 1, Allowance: wide}, {First: 2, Allowance: ten}, {First: 3, Allowance: ten}}
			}))},
		{name: "stated and wanted", lim: Limits{AllowanceMax: 60}, draft: draftOf(panel(func(p *pattern.Piece) { p.Cut, p.Allowance = nil, mm(60) }))},
	}
	examples[pattern.RuleAllowanceMissing] = []example{
		{name: "both lines", draft: draftOf(panel())},
		{name: "sew line with a stated width", draft: draftOf(panel(func(p *pattern.Piece) { p.Cut, p.Allowance = nil, mm(10) }))},
		{name: "the ticket states it", lim: Limits{Cuts: true, Allowance: mm(10)}, draft: draftOf(panel(func(p *pattern.Piece) { p.Cut = nil }))},
		{name: "the workroom's is good for a pen", lim: Limits{WorkroomAllowance: mm(10)}, draft: draftOf(panel(func(p *pattern.Piece) { p.Cut = nil }))},
		{name: "and not for a knife", severity: pattern.Error, lim: Limits{Cuts: true, WorkroomAllowance: mm(10)},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cut = nil }))},
		{name: "the lines agree", severity: pattern.Error, draft: draftOf(panel(cutLineAs("0,0 300,0 300,200 0,200")))},
		{name: "one bound edge", severity: pattern.Warning, near: place(150, 200), draft: draftOf(panel(cutLineAs("-10,-10 310,-10 310,200 -10,200")))},
		{name: "a bound edge that is stated", draft: draftOf(panel(cutLineAs("-10,-10 310,-10 310,200 -10,200"), func(p *pattern.Piece) {
			p.Edges = []pattern.Edge{{First: 0}, {First: 1}, {First: 2, Allowance: &pattern.Width{}}, {First: 3}}
		}))},
	}
	lone := func(p *pattern.Piece) { p.Sew, p.CutSaid = nil, false }
	examples[pattern.RuleAllowanceUnsaid] = []example{
		{name: "said", draft: draftOf(panel())},
		{name: "marked as cut", draft: draftOf(panel(func(p *pattern.Piece) { p.Sew = nil }))},
		{name: "lone outline", severity: pattern.Warning, draft: draftOf(panel(lone))},
		{name: "the ticket says included", lim: Limits{AllowanceIncluded: true}, draft: draftOf(panel(lone))},
		{name: "the ticket says 10", lim: Limits{Allowance: mm(10)}, draft: draftOf(panel(lone))},
	}
	examples[pattern.RuleNoSewLine] = []example{
		{name: "both lines", draft: draftOf(panel())},
		{name: "cut line alone", severity: pattern.Note, draft: draftOf(panel(func(p *pattern.Piece) { p.Sew = nil }))},
		{name: "and the draft says so", draft: draftOf(panel(func(p *pattern.Piece) { p.Sew, p.Included = nil, true }))},
	}
	examples[pattern.RuleSewLineOutside] = []example{
		{name: "inside", draft: draftOf(panel())},
		{name: "one side moved out", severity: pattern.Error, words: []string{"5 mm outside"},
			draft: draftOf(panel(cutLineAs("-10,-10 295,-10 295,210 -10,210")))},
		{name: "between two vertices", severity: pattern.Error, near: place(150, 0), words: []string{"1.9 mm outside"},
			draft: draftOf(panel(cutLineAs("-10,-10 100,-10 150,2 200,-10 310,-10 310,210 -10,210")))},
	}
}

// Held findings are no fault: they wait for a person.
func TestAllowanceUnstatedHolds(t *testing.T) {
	found := Run(draftOf(panel(func(p *pattern.Piece) { p.Sew, p.CutSaid = nil, false })), Limits{}, nil)
	if len(found) != 1 || !found[0].Hold || pattern.Worst(found) == pattern.Error {
		t.Errorf("found %s", said(found))
	}
}

// The mark of a good check is silence on every even allowance: shapes of all kinds with their cut
// lines built by the offset, in all corner kinds.
func TestBuiltAllowancesAreQuiet(t *testing.T) {
	sews := []*geom.Path{
		closed("0,0 300,0 280,400 20,400"), closed("0,0 300,0 340,400 -40,400"),
		closed("0,0 120,0 150,60 180,0 300,0 300,200 0,200"), closed("0,0 300,0 150,260"),
		{Closed: true, Points: arcs(orb.Point{0, 0}, 150, 0, 355, 5)},
	}
	for n, sew := range sews {
		for kind := offset.Mitred; kind <= offset.Stepped; kind++ {
			p := panel(func(p *pattern.Piece) { p.Sew = []geom.Path{*sew} })
			var edges []offset.Edge
			for i, e := range p.EdgesOf(&p.Sew[0]) {
				width := []float64{40, 15, 10, 6, 20, 12, 8}[i%7]
				edges = append(edges, offset.Edge{First: e.First, From: width, To: width, Corner: kind})
			}
			rings, err := offset.Build(*sew, edges, 3)
			if err != nil {
				t.Fatal(err)
			}
			p.Cut = &rings[0].Path
			for _, f := range Run(draftOf(p), Limits{}, nil) {
				if f.Rule == pattern.RuleAllowanceNarrow && kind == offset.MitredHem && f.Severity == pattern.Warning {
					continue // its corner lies 6 mm off by design, and may be looked at
				}
				if f.Rule != pattern.RuleGrainOutside {
					t.Errorf("shape %d, corners %d: %s %s", n, kind, f.Rule, f.Message)
				}
			}
		}
	}
}

// Mitre of equal 10 mm at 90, 60, 45 and 30 degrees: the tip lies 14.142, 20, 26.131 and 38.637 mm
// off (trade check value 28, computed). The allowance is measured from sew to cut, where it stays
// 10; measured the other way round it would read the tip.
func TestMitredTipsAreNotWide(t *testing.T) {
	for deg, tip := range map[float64]float64{90: 14.142, 60: 20, 45: 26.131, 30: 38.637} {
		s, c := math.Sincos(deg * math.Pi / 180)
		sew := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {300, 0}, {300 * c, 300 * s}}}
		rings, err := offset.Build(sew, []offset.Edge{{From: 10, To: 10}}, 10)
		if err != nil {
			t.Fatal(err)
		}
		_, near := geom.NewIndex(sew).Nearest(orb.Point{-tip * math.Cos(deg*math.Pi/360), -tip * math.Sin(deg*math.Pi/360)})
		if math.Abs(near.Dist-tip) > 1e-9 {
			t.Fatalf("tip of %v degrees", deg)
		}
		f := Measure(&pattern.Piece{Cut: &rings[0].Path, Sew: []geom.Path{sew}})
		if f.AllowanceMin == nil || math.Abs(*f.AllowanceMin-10) > 1e-6 || math.Abs(*f.AllowanceMax-10) > 1e-6 {
			t.Errorf("%v degrees: %+v", deg, f)
		}
	}
}

// Rectangle 289 by 400 with 10 mm all round: 309 by 420 mm (trade check value 30, computed).
func TestMeasure(t *testing.T) {
	p := pattern.Piece{Cut: closed("-10,-10 299,-10 299,410 -10,410"), Sew: []geom.Path{*closed("0,0 289,0 289,400 0,400")},
		Notches: make([]pattern.Notch, 3)}
	f := Measure(&p)
	if f.Width != 309 || f.Height != 420 || f.Area != 309*420 || f.Perimeter != 2*(309+420) || f.Notches != 3 {
		t.Errorf("%+v", f)
	}
	if f.AllowanceMin == nil || *f.AllowanceMin != 10 || *f.AllowanceMax != 10 {
		t.Errorf("allowance %+v", f)
	}
	p.Sew = nil
	if f = Measure(&p); f.AllowanceMin != nil || f.AllowanceMax != nil {
		t.Errorf("allowance without a sew line: %+v", f)
	}
	p.Cut, p.Sew = nil, []geom.Path{*open("0,0 100,0 100,50")}
	if f = Measure(&p); f.Perimeter != 150 || f.Width != 100 || f.Area != 0 {
		t.Errorf("open sew line: %+v", f)
	}
	if f = Measure(&pattern.Piece{}); f != (Figures{}) {
		t.Errorf("empty piece: %+v", f)
	}
}

// A mistaken unit makes pieces of kilometres; they are measured too, in bounded time and memory.
func TestHugePiecesAreMeasured(t *testing.T) {
	p := panel(func(p *pattern.Piece) {
		p.Cut = closed("-10,-10 9e7,-10 9e7,9e7 -10,9e7")
		p.Sew = []geom.Path{*closed("0,0 8e7,0 8e7,8e7 0,8e7")}
	})
	if w := newSubject(&p, 0, Limits{}, words{}).profile(); w == nil || len(w.edges) != 4 || len(w.edges[0].samples) > mostSamples {
		t.Error("not measured, or in steps too short")
	}
}
