package prepare

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func notched(n ...pattern.Notch) pattern.Piece {
	return sewn(func(p *pattern.Piece) {
		p.Cut, p.CutSaid = closed("-10,-10 299,-10 299,410 -10,410"), true
		p.Notches = n
	})
}

// Each kind at the middle of the hem, which runs along y = -10 with the piece above it: nick, V, T,
// castle, check, U (trade: a nick is one slit, a castle has a square end, T or castle 2 to 5 mm
// wide).
func TestNotchKinds(t *testing.T) {
	at := orb.Point{150, -10}
	for kind, want := range map[pattern.NotchKind][][]orb.Point{
		pattern.NotchNick:   {{{150, -10}, {150, -6}}},
		pattern.NotchV:      {{{147, -10}, {150, -6}, {153, -10}}},
		pattern.NotchT:      {{{150, -10}, {150, -6}}, {{147, -6}, {153, -6}}},
		pattern.NotchCastle: {{{147, -10}, {147, -6}, {153, -6}, {153, -10}}},
		pattern.NotchCheck:  {{{150, -10}, {150, -6}, {156, -10}}},
	} {
		r := mustRun(t, draftOf(notched(pattern.Notch{At: at, Kind: kind, Depth: 4, Width: 6})), pattern.Ticket{}, Options{Cuts: true}).Ready[0]
		lines := with(r, pattern.RoleNotch)
		if len(lines) != len(want) {
			t.Errorf("%s: %d strokes, want %d", kind, len(lines), len(want))
			continue
		}
		for i, l := range lines {
			if !l.Cut || len(l.Path.Points) != len(want[i]) {
				t.Errorf("%s: stroke %d is %v", kind, i, l.Path.Points)
				continue
			}
			for k, q := range l.Path.Points {
				if !near(q, want[i][k], 1e-9) {
					t.Errorf("%s: stroke %d is %v, want %v", kind, i, l.Path.Points, want[i])
				}
			}
		}
		if len(r.Outline.Points) != 4 {
			t.Errorf("%s: the notch was cut into the outline", kind)
		}
	}
}

func TestUNotch(t *testing.T) {
	r := mustRun(t, draftOf(notched(pattern.Notch{At: orb.Point{150, -10}, Kind: pattern.NotchU, Depth: 5, Width: 4})), pattern.Ticket{}, Options{}).Ready[0]
	u := with(r, pattern.RoleNotch)[0].Path
	if !near(u.Points[0], orb.Point{148, -10}, 1e-9) || !near(u.Points[len(u.Points)-1], orb.Point{152, -10}, 1e-9) {
		t.Errorf("mouth %v", u.Points)
	}
	for _, q := range u.Points[1 : len(u.Points)-1] {
		if d := geom.Dist(q, orb.Point{150, -7}); math.Abs(d-2) > 1e-9 {
			t.Errorf("%v lies %v from the middle of its round end", q, d)
		}
	}
	if top := u.Bound().Max[1]; math.Abs(top+5) > geom.FlattenTol {
		t.Errorf("depth to %v", top)
	}
}

// Seam radius 200 mm, allowance 10 outward, notch at 100 mm of arc: 105 mm on the cut edge (trade
// check value 48, computed).
func TestNotchIsCarriedSquareToTheSeam(t *testing.T) {
	sew := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {200, 0}}, Corners: []bool{true, true}}
	sew.Points = geom.FlattenArc(sew.Points, orb.Point{0, 0}, orb.Point{200, 0}, orb.Point{0, 200}, 0, math.Pi/2, geom.FlattenTol)
	for len(sew.Corners) < len(sew.Points) {
		sew.Corners = append(sew.Corners, false)
	}
	sew.Corners[len(sew.Corners)-1] = true
	p := sewn(func(p *pattern.Piece) {
		p.Sew = []geom.Path{sew}
		s, c := math.Sincos(0.5) // 100 mm of arc
		p.Notches = []pattern.Notch{{At: orb.Point{200 * c, 200 * s}, Kind: pattern.NotchNick, Depth: 4, OnSew: true}}
	})
	n := with(mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0], pattern.RoleNotch)[0].Path.Points
	if d := geom.Norm(n[0]); math.Abs(d-210) > 0.02 {
		t.Errorf("the notch begins %v from the centre, want 210", d)
	}
	if arc := 210 * math.Atan2(n[0][1], n[0][0]); math.Abs(arc-105) > 0.05 {
		t.Errorf("%v mm along the cut edge, want 105", arc)
	}
	if in := geom.Unit(geom.Sub(n[0], n[1])); math.Abs(math.Atan2(in[1], in[0])-0.5) > 0.002 {
		t.Errorf("not square to the seam: %v", in)
	}
}

func TestNotchDirectionAndDepth(t *testing.T) {
	tip := func(n pattern.Notch, opt Options) (orb.Point, bool) {
		l := with(mustRun(t, draftOf(notched(n)), pattern.Ticket{}, opt).Ready[0], pattern.RoleNotch)[0]
		return l.Path.Points[1], l.Cut
	}
	at := orb.Point{150, -10}
	said := func(deg float64) pattern.Notch {
		return pattern.Notch{At: at, Kind: pattern.NotchNick, Depth: 4, AngleDeg: deg, AngleSaid: true}
	}
	for deg, want := range map[float64]orb.Point{90: {150, -6}, 270: {150, -6}, 0: {150, -6}, 30: {150 + 4*math.Cos(math.Pi/6), -8}} {
		if got, _ := tip(said(deg), Options{}); !near(got, want, 1e-9) {
			t.Errorf("direction %v: to %v, want %v", deg, got, want)
		}
	}
	if got, cut := tip(pattern.Notch{At: at, Kind: pattern.NotchNick}, Options{}); !near(got, orb.Point{150, -6}, 1e-9) || !cut {
		t.Errorf("no depth: to %v", got)
	}
	if got, _ := tip(pattern.Notch{At: at, Kind: pattern.NotchNick}, Options{NotchDepth: 8}); !near(got, orb.Point{150, -5}, 1e-9) {
		t.Errorf("no depth, 8 in the workroom: to %v, want half the allowance", got)
	}
	if got, cut := tip(pattern.Notch{At: at, Kind: pattern.NotchPen, Depth: 6}, Options{}); !near(got, orb.Point{150, -4}, 1e-9) || cut {
		t.Errorf("pen mark to %v, cut %v", got, cut)
	}
	if got, _ := tip(pattern.Notch{At: orb.Point{150, -8}, Kind: pattern.NotchNick, Depth: 4}, Options{}); !near(got, orb.Point{150, -6}, 1e-9) {
		t.Errorf("off the line: to %v", got)
	}
	// An allowance under 4 mm, and a bound edge, get a pen mark (common practice).
	bound := sewn(func(p *pattern.Piece) {
		p.Allowance = mm(3)
		p.Notches = []pattern.Notch{{At: orb.Point{150, 0}, Kind: pattern.NotchNick, OnSew: true}}
	})
	if l := with(mustRun(t, draftOf(bound), pattern.Ticket{}, Options{}).Ready[0], pattern.RoleNotch)[0]; l.Cut {
		t.Error("a 3 mm allowance was notched")
	}
}
