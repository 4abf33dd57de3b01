package assemble

import (
	"math"
	"testing"

	"tracewheel/pipeline/pattern"
)

// Drawings that would cost the square of their size are refused with a finding, or read in bounded
// work; a hang shows as the test's own time limit.
func TestHostileDrawings(t *testing.T) {
	var star, nests, loose, marks, drills, steps, overlap, twins []Item
	for i := range 10000 {
		a := float64(i)
		star = append(star, line(pattern.RoleCut, 0, 0, 500*math.Cos(a), 500*math.Sin(a)))
	}
	for i := range 5000 {
		d := float64(i) / 10
		nests = append(nests, square(pattern.RoleCut, d, d, 2000-2*d))
	}
	for i := range 2500 { // every box holds the next, no square does
		d := float64(i) / 10
		overlap = append(overlap, closed(pattern.RoleCut, d, d, 2000-d, d, 2000-d, d+1, d+1, d+1, d+1, 2000-d, d, 2000-d))
	}
	for i := range 10000 {
		loose = append(loose, line(pattern.RoleCut, float64(i), 0, float64(i), 50))
		steps = append(steps, line(pattern.RoleCut, float64(i)*0.7, 0, float64(i)*0.7+0.4, 0.1))
		x, y := float64(i%250)*7, float64(i/250)*7
		marks = append(marks, line(pattern.RoleMark, x, y, x+3, y+3))
		drills = append(drills, line(pattern.RoleDrill, x, y))
		twins = append(twins, line(pattern.RoleCut, 0, 0, 50, 10+float64(i)/1e6, 100, 100))
	}
	hull := closed(pattern.RoleCut)
	for i := range 5000 {
		a := 2 * math.Pi * float64(i) / 5000
		hull.Path.Points = append(hull.Path.Points, [2]float64{900 + 2000*math.Cos(a), 700 + 2000*math.Sin(a)})
	}
	for name, c := range map[string]struct {
		items []Item
		rule  string
	}{
		"all ends at one place": {star, pattern.RuleUnreadable},
		"nested squares":        {nests, pattern.RuleUnreadable},
		"overlapping angles":    {overlap, pattern.RuleUnreadable},
		"loose lines":           {loose, pattern.RuleUnreadable},
		"small gaps":            {steps, pattern.RuleGapBridged},
		"many marks":            {append(marks, hull), ""},
		"many drills":           {append(drills, hull), ""},
		"nearly the same line":  {twins, pattern.RuleOutlineDoubled},
	} {
		pieces, fs := Pieces(Drawing{Items: c.items})
		if c.rule != "" && rulesOf(fs)[c.rule] == 0 {
			t.Errorf("%s: %d pieces, findings %v", name, len(pieces), rulesOf(fs))
		}
		if len(fs) > 3*maxLoops {
			t.Errorf("%s: %d findings", name, len(fs))
		}
	}
}

func BenchmarkHostile(b *testing.B) {
	var items []Item
	for i := range 10000 {
		a := float64(i)
		items = append(items, line(pattern.RoleCut, 0, 0, 500*math.Cos(a), 500*math.Sin(a)))
	}
	for b.Loop() {
		Pieces(Drawing{Items: items})
	}
}
