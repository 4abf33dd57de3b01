package measured

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const markedDraft = `style: S
unit: cm
draft front:
  O: start
  P: from O out 30
  Q: from P down 40
  R: from O down 40
  M: from O out 15
  C: from O out 5, down 5
  D: from C down 2
  top: line O to P
  side: line P to Q
  hem: line Q to R
  centre: line R to O
  pleat k: knife facing out, 3 deep, on plumb through M, top to hem
  outline: top, side, hem, centre
draft yoke:
  O: start
  P: from O out 20
  Q: from P down 10
  R: from O down 10
  low: line Q to R
  side: line P to Q
  back: line R to O
  high: line O to P
  outline: high, side, low, back
draft band:
  O: start
  P: from O out 20.5
  Q: from P down 5
  R: from O down 5
  high: line O to P
  side: line P to Q
  low: line Q to R
  back: line R to O
  outline: high, side, low, back
pieces:
  front: front; cut 1
  yoke: yoke; cut 1
  band: band; cut 1
allow: {all: 1}
marks:
  front:
    - buttonhole C to D
    - button at D
    - bust point at M
    - lengthen or shorten R to Q
    - line R to Q, called hip
sewn:
  - front top = yoke low, gathered
  - yoke high = band high, 0.5 longer
`

// The lines that a sewing pattern bears for the maker: gathers, ease, the arrows of a pleat, buttonhole,
// button, bust point, lengthen or shorten. Places by hand.
func TestMarksOfTheTrade(t *testing.T) {
	p, err := Read([]byte(markedDraft), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	of := func(piece, label string) []pattern.Mark {
		var out []pattern.Mark
		for _, pc := range p.Pieces {
			for _, m := range pc.Marks {
				if pc.Name == piece && m.Label == label {
					out = append(out, m)
				}
			}
		}
		return out
	}
	for label, want := range map[string]int{"buttonhole": 1, "button": 1, "bust point": 1, "lengthen or shorten here": 1, "hip": 1, "gathering line": 1, "pleat arrow": 2, "ease line": 0} {
		if got := len(of("front", label)); got != want {
			t.Errorf("%d of %q, want %d", got, label, want)
		}
	}
	near := func(what string, got, want orb.Point) {
		if geom.Dist(got, want) > 1e-6 {
			t.Errorf("%s at %v, want %v", what, got, want)
		}
	}
	// The yoke is not gathered but held in: the front is. The wave lies 4 mm below the top and ends 3 mm
	// before its ends; the top is 360 mm wide, 300 and twice the pleat.
	g := of("front", "gathering line")[0].Path
	b := g.Bound()
	near("gathers begin", b.Min, orb.Point{3, -4})
	near("gathers end", b.Max, orb.Point{357, -4})
	if got := of("yoke", "gathering line"); len(got) != 0 {
		t.Error("the side that is not gathered has a wave")
	}
	// The band is eased, being longer.
	e := of("band", "ease line")
	if len(e) != 1 || math.Abs(e[0].Path.Length()-199) > 1e-6 {
		t.Errorf("ease %v", e)
	}
	// Each arrow runs from the outer fold to where it is laid, twice the depth away, 20 mm inside an end.
	for _, a := range of("front", "pleat arrow") {
		from, to := a.Path.Points[0], a.Path.Points[1]
		if math.Abs(geom.Dist(from, to)-60) > 1e-6 || math.Abs(from[1]+20) > 1e-6 && math.Abs(from[1]+380) > 1e-6 {
			t.Errorf("an arrow from %v to %v", from, to)
		}
	}
}

// "none" is an allowance of nothing, as the letters on a piece say it; and a fold told in an edge's sentence
// is told where it belongs.
func TestWordsADressmakerTries(t *testing.T) {
	p, err := Read([]byte(strings.Replace(markedDraft, "allow: {all: 1}", "allow: {all: 1, hem: none}", 1)), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range p.Pieces[0].Edges {
		if want := map[bool]float64{true: 0, false: 10}[e.Name == "hem"]; *e.Allowance != (pattern.Width{From: want, To: want}) {
			t.Errorf("%s has %v, want %v", e.Name, *e.Allowance, want)
		}
	}
	_, err = Read([]byte(strings.Replace(markedDraft, "centre: line R to O", "centre: line R to O on the fold", 1)), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), "on the fold stands behind the edge's name in the outline") {
		t.Error(err)
	}
}
