package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

func withNotch(n pattern.Notch) *pattern.Pattern {
	return draftOf(panel(func(p *pattern.Piece) { p.Notches = []pattern.Notch{n} }))
}

func nick(x, y, depth float64) pattern.Notch {
	return pattern.Notch{At: orb.Point{x, y}, Kind: pattern.NotchNick, Depth: depth}
}

func angled(n pattern.Notch, deg float64) pattern.Notch {
	n.AngleDeg, n.AngleSaid = deg, true
	return n
}

func init() {
	pen := nick(150, -10, 9)
	pen.Kind = pattern.NotchPen
	examples[pattern.RuleNotchDeep] = []example{
		{name: "half", draft: withNotch(nick(150, -10, 5))},
		{name: "pen marks cut nothing", draft: withNotch(pen)},
		{name: "past half", severity: pattern.Warning, draft: withNotch(nick(150, -10, 6)), words: []string{"more than 50% of the 10 mm allowance"}},
		{name: "1.5 left", severity: pattern.Error, draft: withNotch(nick(150, -10, 8.5)), words: []string{"only 1.5 mm is left"}},
		{name: "a V with 1.5 left", severity: pattern.Warning, draft: withNotch(pattern.Notch{At: orb.Point{150, -10}, Kind: pattern.NotchV, Depth: 8.5, Width: 4})},
		{name: "a V with 0.5 left", severity: pattern.Error, draft: withNotch(pattern.Notch{At: orb.Point{150, -10}, Kind: pattern.NotchV, Depth: 9.5, Width: 4})},
		{name: "past the sew line", severity: pattern.Error, draft: withNotch(nick(150, -10, 12)), words: []string{"2 mm past"}},
		{name: "the workroom lets more pass", lim: Limits{NotchShare: 0.8, NotchLeft: 1}, draft: withNotch(nick(150, -10, 8))},
	}
	alone := func(depth float64) *pattern.Pattern {
		return draftOf(panel(func(p *pattern.Piece) { p.Sew, p.Notches = nil, []pattern.Notch{nick(150, -10, depth)} }))
	}
	ten := 10.0
	examples[pattern.RuleNotchDeep] = append(examples[pattern.RuleNotchDeep],
		example{name: "no sew line", draft: alone(7)},
		example{name: "25 mm, no sew line", severity: pattern.Warning, draft: alone(25), words: []string{"25 mm deep, and no sew line"}},
		example{name: "25 mm, the ticket's allowance", severity: pattern.Error, lim: Limits{Allowance: &ten}, draft: alone(25), words: []string{"15 mm past the sew line"}},
		example{name: "5 mm, the ticket's allowance", lim: Limits{Allowance: &ten}, draft: alone(5)})
	onSew := nick(150, 0, 4)
	onSew.OnSew = true
	offSew := nick(150, 3, 4)
	offSew.OnSew = true
	examples[pattern.RuleNotchOffLine] = []example{
		{name: "on the line", draft: withNotch(nick(150, -10, 4))},
		{name: "on the sew line, to be carried", draft: withNotch(onSew)},
		{name: "3 mm inside", severity: pattern.Warning, draft: withNotch(nick(150, -7, 4)), words: []string{"3 mm off the cut line"}},
		{name: "3 mm off the sew line", severity: pattern.Warning, draft: withNotch(offSew), words: []string{"3 mm off the sew line"}},
		{name: "on a sew line with 150 stated", severity: pattern.Warning, draft: withStated(onSew, 150), words: []string{"150 mm from the cut line", "is not made"}},
		{name: "on a sew line with 60 stated", draft: withStated(onSew, 60)},
	}
	examples[pattern.RuleNotchOutward] = []example{
		{name: "inward", draft: withNotch(angled(nick(150, -10, 4), 90))},
		{name: "leaning", draft: withNotch(angled(nick(150, -10, 4), 60))},
		{name: "no direction", draft: withNotch(nick(150, -10, 4))},
		{name: "outward", severity: pattern.Warning, draft: withNotch(angled(nick(150, -10, 4), 270))},
		{name: "along", severity: pattern.Warning, draft: withNotch(angled(nick(150, -10, 4), 0))},
	}
	folded := func(n pattern.Notch) *pattern.Pattern {
		return draftOf(panel(func(p *pattern.Piece) {
			p.Cut, p.Sew = closed("0,-10 310,-10 310,210 0,210"), nil
			p.Fold = &pattern.Segment{A: orb.Point{0, -10}, B: orb.Point{0, 210}}
			p.Notches = []pattern.Notch{n}
		}))
	}
	examples[pattern.RuleNotchOnFold] = []example{
		{name: "on another edge", draft: folded(nick(150, -10, 4))},
		{name: "at the fold's end", draft: folded(nick(0, -10, 4))},
		{name: "along the fold", severity: pattern.Error, draft: folded(nick(0, 100, 4))},
	}
	examples[pattern.RuleNotchNoDepth] = []example{
		{name: "said", draft: withNotch(nick(150, -10, 4))},
		{name: "unsaid", severity: pattern.Note, draft: withNotch(nick(150, -10, 0))},
	}
	double := draftOf(panel(func(p *pattern.Piece) { p.Notches = []pattern.Notch{nick(150, -10, 4), nick(158, -10, 4)} }))
	two := func(apart, width float64) *pattern.Pattern {
		return draftOf(panel(func(p *pattern.Piece) {
			p.Notches = []pattern.Notch{nick(150, -10, 4), {At: orb.Point{150 + apart, -10}, Kind: pattern.NotchV, Depth: 4, Width: width}}
		}))
	}
	examples[pattern.RuleNotchesCrowded] = []example{
		{name: "a double of nicks", draft: two(6, 0)},
		{name: "far apart", draft: two(100, 4)},
		{name: "3 mm", severity: pattern.Warning, draft: two(3, 0), words: []string{"leaves 3 mm"}},
		{name: "wide mouths", severity: pattern.Warning, draft: two(7, 4), words: []string{"leaves 5 mm"}},
		{name: "drawn twice", severity: pattern.Warning, draft: two(0, 0)},
	}
	examples[pattern.RuleNotchNearCorner] = []example{
		{name: "far", draft: withNotch(nick(150, -10, 4))},
		{name: "a double", draft: double},
		{name: "marks the allowance", draft: withNotch(nick(0, -10, 4))},
		{name: "6 mm", severity: pattern.Warning, draft: withNotch(nick(-4, -10, 4)), words: []string{"6 mm from the corner (-10, -10)"}},
		{name: "14 mm", severity: pattern.Warning, draft: withNotch(nick(310, 196, 4)), words: []string{"14 mm", "15 mm"}},
	}
}

// Trade, "numbers for a checker": allowance 6 mm: nick over 3 warned, over 4 refused; 10 mm: over 5,
// over 8; 15 mm: over 7.5, over 13; 3 mm: over 1.5, over 1, so that it is refused before it is warned
// (common practice; limits computed from the two rules).
func TestNotchLimitsOfTheTrade(t *testing.T) {
	for _, c := range []struct{ allowance, warn, refuse float64 }{{6, 3, 4}, {10, 5, 8}, {15, 7.5, 13}, {3, 1.5, 1}} {
		for _, depth := range []float64{c.warn - 0.2, c.warn + 0.2, c.refuse - 0.2, c.refuse + 0.2} {
			want := pattern.Off
			if depth > c.warn {
				want = pattern.Warning
			}
			if depth > c.refuse {
				want = pattern.Error
			}
			a := c.allowance
			p := panel(func(p *pattern.Piece) {
				p.Cut = closed(fmt.Sprintf("%v,%v %v,%v %v,%v %v,%v", -a, -a, 300+a, -a, 300+a, 200+a, -a, 200+a))
				p.Notches = []pattern.Notch{nick(150, -a, depth)}
			})
			var found []pattern.Finding
			for _, f := range Run(draftOf(p), Limits{}, nil) {
				if f.Rule == pattern.RuleNotchDeep {
					found = append(found, f)
				}
			}
			if got := pattern.Worst(found); got != want {
				t.Errorf("allowance %v, nick %v: %s, want %s", a, depth, got, want)
			}
		}
	}
}

// withStated is a panel without a cut line, its allowance stated for each edge, and one notch.
func withStated(n pattern.Notch, width float64) *pattern.Pattern {
	return draftOf(panel(func(p *pattern.Piece) {
		p.Cut, p.Notches = nil, []pattern.Notch{n}
		for i := range 4 {
			p.Edges = append(p.Edges, pattern.Edge{First: i, Allowance: &pattern.Width{From: width, To: width}})
		}
	}))
}

// A gap in the outline hides no notch that is cut too deep elsewhere: both are told at once, and of a notch at the gap
// nothing. The nick of 12 mm in an allowance of 10 reaches past the sew line.
func TestNotchBehindAGap(t *testing.T) {
	d := draftOf(panel(func(p *pattern.Piece) {
		p.Cut = open("-10,-10 310,-10 310,210 -10,210 -10,-7")
		p.Notches = []pattern.Notch{{At: orb.Point{150, 210}, Kind: pattern.NotchNick, Depth: 12}, {At: orb.Point{-10, -8.5}, Kind: pattern.NotchNick, Depth: 12}}
	}))
	var got []string
	for _, f := range Run(d, Limits{}, nil) {
		if f.Severity == pattern.Error {
			got = append(got, f.Rule)
		}
	}
	if !slices.Equal(got, []string{pattern.RuleOutlineOpen, pattern.RuleNotchDeep}) {
		t.Errorf("told are %v", got)
	}
}

// A draft that is drawn in inches is told in inches, and one that a person wrote in its own unit, whatever the workroom's.
func TestDraftIsToldInItsUnit(t *testing.T) {
	d := withNotch(nick(150, 210, 12.7))
	for _, c := range [][4]string{
		{"dxf", "in", "mm", "is 1/2 in deep"}, {"svg", "mm", "", "is 12.7 mm deep"}, {"svg", "mm", "in", "is 1/2 in deep"}, {"svg", "", "mm", "is 12.7 mm deep"},
		{"measured", "cm", "in", "is 1.27 cm deep"}, {"measured", "cm", "mm", "is 1.27 cm deep"}, {"measured", "mm", "in", "is 12.7 mm deep"}, {"measured", "in", "mm", "is 1/2 in deep"},
	} {
		d.Format, d.Unit = c[0], c[1]
		found := Run(d, Limits{Unit: c[2]}, nil)
		if !slices.ContainsFunc(found, func(f pattern.Finding) bool { return strings.Contains(f.Message, c[3]) }) {
			t.Errorf("%s in %q, a workroom in %q: nobody says %q: %v", c[0], c[1], c[2], c[3], found)
		}
	}
}
