package blade

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

func square(lo, hi float64) geom.Path {
	return geom.Path{Closed: true, Points: []orb.Point{{lo, lo}, {hi, lo}, {hi, hi}, {lo, hi}}}
}

func cutOf(z float64, pts ...orb.Point) Cut { return Cut{Path: geom.Path{Points: pts}, Z: z} }

func TestSeveredNeedsAClosedCurve(t *testing.T) {
	out := square(0, 50)
	round := func(last orb.Point) []Cut {
		return []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{50, 50}, orb.Point{0, 50}, last)}
	}
	for _, c := range []struct {
		name string
		cuts []Cut
		want bool
	}{
		{"back to the start", round(orb.Point{0, 0}), true},
		{"crossing the start", round(orb.Point{0, -1}), true},
		{"a rounding short of it", round(orb.Point{0, 0.002}), true},
		{"half a millimetre short", round(orb.Point{0, 0.5}), false},
		{"side by side, 0.05 apart, a bridge between", []Cut{cutOf(-1, orb.Point{10, 0}, orb.Point{50, 0}, orb.Point{50, 50},
			orb.Point{0, 50}, orb.Point{0, 0.05}, orb.Point{12, 0.05})}, false},
		{"too shallow on one side", []Cut{
			cutOf(-1, orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{50, 50}, orb.Point{0, 50}), cutOf(-0.5, orb.Point{0, 50}, orb.Point{0, 0})}, false},
		{"in two strokes that cross", []Cut{
			cutOf(-1, orb.Point{-0.1, 0}, orb.Point{50, 0}, orb.Point{50, 50.1}), cutOf(-1, orb.Point{50.1, 50}, orb.Point{0, 50}, orb.Point{0, -0.1})}, true},
		{"only another piece's outline, far round it", []Cut{
			cutOf(-1, orb.Point{-9, -9}, orb.Point{60, -9}, orb.Point{60, 60}, orb.Point{-9, 60}, orb.Point{-9, -9})}, false},
		{"a loop on the line that winds round nothing", []Cut{
			cutOf(-1, orb.Point{0, 0}, orb.Point{30, 0}, orb.Point{30, 0.1}, orb.Point{0, 0.1}, orb.Point{0, 0})}, false},
		{"nothing", nil, false},
	} {
		if got := Severed(c.cuts, out, -1); got != c.want {
			t.Errorf("%s: severed %v, want %v", c.name, got, c.want)
		}
	}
}

func TestCompareFindsWhatDeparts(t *testing.T) {
	wanted := []devices.Stroke{{Path: square(0, 50)}, {Path: geom.Path{Points: []orb.Point{{10, 10}}}}}
	whole := []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{50, 50}, orb.Point{0, 50}, orb.Point{0, 0}), cutOf(-1, orb.Point{10, 10})}
	if d := Compare(whole, wanted, Tolerances{}); len(d) > 0 {
		t.Errorf("a true cut departs: %v", d)
	}
	bulged := []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{25, -0.06}, orb.Point{50, 0}, orb.Point{50, 50}, orb.Point{0, 50}, orb.Point{0, 0}), whole[1]}
	d := Compare(bulged, wanted, Tolerances{})
	if len(d) != 2 || d[0].Uncut == d[1].Uncut || math.Abs(d[0].By-0.06) > 1e-3 || d[0].Stroke != 0 {
		t.Errorf("a bulge of 0.06: %v, want one stray and one uncut stretch", d)
	}
	if d := Compare(whole[:1], wanted, Tolerances{}); len(d) != 1 || d[0].Stroke != 1 || !d[0].Uncut {
		t.Errorf("a stab left out: %v", d)
	}
	rounded := []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{49.9, 0}, orb.Point{50, 0.1}, orb.Point{50, 50}, orb.Point{0, 50}, orb.Point{0, 0}), whole[1]}
	if d := Compare(rounded, wanted, Tolerances{}); len(d) != 0 {
		t.Errorf("a corner missed by 0.07: %v, and 0.1 is allowed there", d)
	}
	if d := Compare(nil, wanted, Tolerances{}); len(d) != 2 || !math.IsInf(d[0].By, 1) {
		t.Errorf("nothing cut: %v", d)
	}
	stray := append([]Cut{cutOf(-1, orb.Point{70, 70}, orb.Point{80, 70})}, whole...)
	way := []geom.Path{{Points: []orb.Point{{69, 70.2}, {81, 70.2}}}}
	if d := Compare(stray, wanted, Tolerances{}); len(d) != 1 || d[0].Uncut {
		t.Errorf("a stray cut: %v", d)
	}
	if d := Compare(stray, wanted, Tolerances{Waste: way, WasteReach: 0.5}); len(d) != 0 {
		t.Errorf("a cut in waste: %v", d)
	}
}

func TestCompareFindsABridge(t *testing.T) {
	wanted := []devices.Stroke{{Path: square(0, 50)}}
	short := []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{50, 50}, orb.Point{0, 50}, orb.Point{0, 0.04})}
	if d := Compare(short, wanted, Tolerances{}); len(d) != 1 || !d[0].Bridge {
		t.Errorf("a loop that stops 0.04 mm short: %v, want a bridge", d)
	}
}

func TestCompareWantsTheCutThrough(t *testing.T) {
	wanted := []devices.Stroke{{Path: geom.Path{Points: []orb.Point{{0, 0}, {50, 0}}}}}
	scratched := []Cut{cutOf(-1, orb.Point{0, 0}, orb.Point{20, 0}), cutOf(-0.2, orb.Point{20, 0}, orb.Point{50, 0})}
	if d := Compare(scratched, wanted, Tolerances{}); len(d) != 1 || !d[0].Uncut {
		t.Errorf("half cut through, half scratched: %v", d)
	}
}
