package look

import (
	"image/color"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// luminance and contrast are "relative luminance" and "contrast ratio" of WCAG 2.2.
func luminance(c color.RGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

func contrast(a, b color.RGBA) float64 {
	hi, lo := luminance(a), luminance(b)
	if hi < lo {
		hi, lo = lo, hi
	}
	return (hi + 0.05) / (lo + 0.05)
}

// TestContrast: text has at least 4.5 to 1, lines and marks 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11), on every background,
// light and dark; the white number on a finding's disc too.
func TestContrast(t *testing.T) {
	if c := contrast(rgb(0), rgb(0xffffff)); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white is %v to 1, not 21", c)
	}
	for _, k := range inks {
		least := 4.5
		switch k {
		case Ground, Bed, Paper, Hair:
			continue
		case Pale:
			least = 3
		}
		for _, g := range []Ink{Ground, Bed, Paper} {
			if c := contrast(k.Light, g.Light); c < least {
				t.Errorf("%s on light %s is %.2f to 1", k.Name, g.Name, c)
			}
			if c := contrast(k.Dark, g.Dark); c < least {
				t.Errorf("%s on dark %s is %.2f to 1", k.Name, g.Name, c)
			}
		}
	}
	for _, f := range forms {
		if f.Ink == Hair || slices.Contains([]Ink{Ground, Bed, Paper}, f.Ink) {
			t.Errorf("%s is drawn in %s, which nobody sees", f.Kind, f.Ink.Name)
		}
	}
}

// TestEachKindItsOwn: two dashed kinds that one pen draws look different, except for a dart, which is stitched like a
// sew line.
func TestEachKindItsOwn(t *testing.T) {
	for i, f := range forms {
		for _, o := range forms[:i] {
			if f.Dash == nil || !slices.Equal(f.Dash, o.Dash) || f.Kind == Wanted || f.Kind == Dart && o.Kind == Sew {
				continue
			}
			t.Errorf("%s and %s are dashed alike", f.Kind, o.Kind)
		}
		if f.Words == "" || Of(f.Kind).Words != f.Words {
			t.Errorf("%s has no words of its own", f.Kind)
		}
	}
	for _, r := range []pattern.Role{pattern.RoleCut, pattern.RoleSew, pattern.RoleNotch, pattern.RoleGrain, pattern.RoleFold, pattern.RoleMark, pattern.RoleCutout,
		pattern.RoleDrill, pattern.RoleStripe, pattern.RolePlaid, pattern.RoleText, pattern.RoleCheck, pattern.RoleQuality} {
		if k := KindOf(r, ""); string(k) != string(r) {
			t.Errorf("role %s is drawn as %s", r, k)
		}
	}
}

func box(w, h float64) geom.Path {
	return geom.Path{Points: []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}, Closed: true}
}

// TestDashes: dashes lie on their line, begin and end it, continue round its corners, and are as long as in the table.
func TestDashes(t *testing.T) {
	round := geom.Path{Closed: true, Corners: make([]bool, 720)}
	for i := range 720 {
		s, c := math.Sincos(float64(i) * math.Pi / 360)
		round.Points = append(round.Points, orb.Point{100 * c, 100 * s})
	}
	for name, p := range map[string]geom.Path{
		"straight": {Points: []orb.Point{{0, 0}, {1000, 0}}},
		"angle":    {Points: []orb.Point{{0, 0}, {500, 0}, {500, 300}}},
		"box":      box(400, 300),
		"round":    round,
	} {
		for _, f := range forms {
			if f.Dash == nil {
				continue
			}
			strokes := f.Strokes(p)
			var drawn float64
			for _, s := range strokes {
				drawn += s.Length()
				for _, q := range s.Points {
					if d := p.Nearest(q).Dist; d > 1e-6 {
						t.Fatalf("%s %s: a dash leaves the line by %v", name, f.Kind, d)
					}
				}
			}
			var on float64
			for i, d := range f.Dash {
				if i%2 == 0 {
					on += d
				}
			}
			if share, want := drawn/p.Length(), on/f.period(); math.Abs(share-want) > 0.02 {
				t.Errorf("%s %s: %.3f of the line is drawn, want %.3f", name, f.Kind, share, want)
			}
			for i, c := range p.Points {
				if name != "round" && !slices.ContainsFunc(strokes, func(s geom.Path) bool { return s.Nearest(c).Dist < 1e-6 }) {
					t.Errorf("%s %s: corner or end %d lies in a gap", name, f.Kind, i)
				}
			}
		}
	}
	if s := Of(Sew).Strokes(geom.Path{Points: []orb.Point{{0, 0}, {10, 0}}}); len(s) != 1 {
		t.Errorf("a line of 10 mm is drawn as %d dashes", len(s))
	}
	if s := Of(Cut).Strokes(box(10, 10)); len(s) != 1 || !s[0].Closed {
		t.Errorf("a cut line is not whole: %v", s)
	}
	if s := Of(Fold).Strokes(box(2, 2)); len(s) != 1 || !s[0].Closed {
		t.Errorf("a small box is not whole: %v", s)
	}
}
