package assemble

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func line(role pattern.Role, xy ...float64) Item {
	var p geom.Path
	for i := 0; i+1 < len(xy); i += 2 {
		p.Points = append(p.Points, orb.Point{xy[i], xy[i+1]})
	}
	return Item{Role: role, Path: p}
}

func closed(role pattern.Role, xy ...float64) Item {
	it := line(role, xy...)
	it.Path.Closed = true
	return it
}

func square(role pattern.Role, x, y, side float64) Item {
	return closed(role, x, y, x+side, y, x+side, y+side, x, y+side)
}

func text(x, y float64, words string) Item {
	it := line(pattern.RoleText, x, y)
	it.Text = words
	return it
}

// rulesOf lists the rules raised, with their number.
func rulesOf(fs []pattern.Finding) map[string]int {
	m := map[string]int{}
	for _, f := range fs {
		m[f.Rule]++
	}
	return m
}

// Two squares that touch at a corner, drawn as single lines: four ends meet there.
func TestTouchingOutlines(t *testing.T) {
	var items []Item
	side := func(x0, y0, x1, y1 float64) { items = append(items, line(pattern.RoleCut, x0, y0, x1, y1)) }
	for _, o := range []float64{0, 100} {
		side(o, o, o+100, o)
		side(o+100, o, o+100, o+100)
		side(o+100, o+100, o, o+100)
		side(o, o+100, o, o)
	}
	pieces, fs := Pieces(Drawing{Items: items})
	if len(pieces) != 2 || len(fs) != 0 {
		t.Fatalf("got %d pieces, %v", len(pieces), fs)
	}
	for _, p := range pieces {
		if !p.Cut.Closed || p.Cut.Area() != 10000 {
			t.Errorf("%s: %+v", p.Name, p.Cut)
		}
	}
}

func TestNesting(t *testing.T) {
	pieces, fs := Pieces(Drawing{Items: []Item{
		square(pattern.RoleCut, 0, 0, 400),
		square(pattern.RoleSew, 10, 10, 380),
		square(pattern.RoleCut, 50, 50, 60),      // a hole drawn on the cut layer
		square(pattern.RoleCutout, 200, 200, 40), // a hole said to be one
		line(pattern.RoleCutout, 300, 50, 350, 50),
		line(pattern.RoleMark, 50, 300, 100, 300), line(pattern.RoleMark, 100, 300, 100, 350),
		line(pattern.RoleGrain, 200, 50, 200, 190), line(pattern.RoleGrain, 200, 190, 195, 180),
		line(pattern.RoleFold, 0, 0, 0, 400),
		text(150, 150, "PIECE NAME: FRONT"), text(150, 140, "Quantity: 2 pairs"), text(150, 130, "size : 12"), text(150, 120, "mind the nap"),
		square(pattern.RoleIgnore, -50, -50, 600),
		line(pattern.RoleNone, 700, 700, 800, 800), line(pattern.RoleNone, 700, 700, 800, 820),
	}})
	if len(pieces) != 1 {
		t.Fatalf("got %d pieces", len(pieces))
	}
	p := pieces[0]
	if p.Name != "FRONT" || !p.Named || p.Quantity != 4 || !p.Pair || p.Size != "12" {
		t.Errorf("particulars: %q %d %v %q", p.Name, p.Quantity, p.Pair, p.Size)
	}
	if len(p.Sew) != 1 || len(p.Cutouts) != 3 || len(p.Marks) != 1 || p.Grain == nil || p.Fold == nil || len(p.Labels) != 1 {
		t.Errorf("sew %d, cutouts %d, marks %d, grain %v, fold %v, labels %d", len(p.Sew), len(p.Cutouts), len(p.Marks), p.Grain, p.Fold, len(p.Labels))
	}
	got := rulesOf(fs)
	if got[pattern.RuleCutoutOrSewLine] != 1 || got[pattern.RuleLeftOut] != 2 || len(got) != 2 {
		t.Errorf("findings %v: %+v", got, fs)
	}
}

// A line on the cut layer that keeps 4 to 40 mm inside another all round looks like a sew line.
func TestSewLineOnCutLayer(t *testing.T) {
	for _, c := range []struct {
		inset float64
		want  pattern.Severity
	}{{2, pattern.Warning}, {4.5, pattern.Error}, {10, pattern.Error}, {39, pattern.Error}, {60, pattern.Warning}} {
		_, fs := Pieces(Drawing{Items: []Item{
			square(pattern.RoleCut, 0, 0, 300), square(pattern.RoleCut, c.inset, c.inset, 300-2*c.inset)}})
		if len(fs) != 1 || fs[0].Rule != pattern.RuleCutoutOrSewLine || fs[0].Severity != c.want {
			t.Errorf("inset %v: %+v", c.inset, fs)
		}
	}
}

func TestNotchForms(t *testing.T) {
	known := pattern.Notch{At: orb.Point{50, 200}, Kind: pattern.NotchCastle, Depth: 4, Width: 3, AngleDeg: 270, AngleSaid: true}
	circle := Item{Role: pattern.RoleNotch, Diameter: 2, Centre: orb.Point{200, 150}}
	circle.Path = geom.Path{Closed: true, Points: geom.FlattenArc(nil, circle.Centre, orb.Point{1, 0}, orb.Point{0, 1}, 0, 2*math.Pi, 0.005)}
	items := []Item{
		square(pattern.RoleCut, 0, 0, 200), square(pattern.RoleSew, 10, 10, 180),
		line(pattern.RoleNotch, 30, 0, 30, 5),                   // from the edge inward
		line(pattern.RoleNotch, 60, 5, 60, 0),                   // drawn the other way
		line(pattern.RoleNotch, 90, -3, 90, 4),                  // across the edge
		line(pattern.RoleNotch, 118, 0, 120, 5),                 // the two sides of a V
		line(pattern.RoleNotch, 120, 5, 122, 0),                 //
		line(pattern.RoleNotch, 148, 0, 148, 4, 152, 4, 152, 0), // castle
		closed(pattern.RoleNotch, 0, 98, 5, 100, 0, 102),        // a triangle on the left edge
		line(pattern.RoleNotch, 200, 60),                        // a point
		circle,                                                  // a small circle on the edge
		line(pattern.RoleNotch, 100, 190, 100, 186),             // on the sew line
		line(pattern.RoleNotch, 500, 500, 505, 500),             // nowhere
		{Role: pattern.RoleNotch, Notch: &known, Path: geom.Path{Points: []orb.Point{{50, 200}}}},
	}
	pieces, fs := Pieces(Drawing{Items: items})
	if len(pieces) != 1 {
		t.Fatalf("got %d pieces: %+v", len(pieces), fs)
	}
	nick := func(x, y, depth, deg float64) pattern.Notch {
		return pattern.Notch{At: orb.Point{x, y}, Kind: pattern.NotchNick, Depth: depth, AngleDeg: deg, AngleSaid: true}
	}
	onSew := nick(100, 190, 4, 270)
	onSew.OnSew = true
	want := []pattern.Notch{
		nick(30, 0, 5, 90), nick(60, 0, 5, 90), nick(90, 0, 4, 90),
		{At: orb.Point{120, 0}, Kind: pattern.NotchV, Depth: 5, Width: 4, AngleDeg: 90, AngleSaid: true},
		{At: orb.Point{150, 0}, Kind: pattern.NotchCastle, Depth: 4, Width: 4, AngleDeg: 90, AngleSaid: true},
		{At: orb.Point{200, 60}, Kind: pattern.NotchNick},
		{At: orb.Point{0, 100}, Kind: pattern.NotchV, Depth: 5, Width: 4, AngleDeg: 0, AngleSaid: true},
		{At: orb.Point{200, 150}, Kind: pattern.NotchNick},
		onSew, known,
	}
	if diff := cmp.Diff(want, pieces[0].Notches); diff != "" {
		t.Error(diff)
	}
	if got := rulesOf(fs); got[pattern.RuleLeftOut] != 1 || len(fs) != 1 {
		t.Errorf("findings %+v", fs)
	}
}

func TestNoRoles(t *testing.T) {
	pieces, fs := Pieces(Drawing{NoRoles: true, Items: []Item{
		square(pattern.RoleNone, 0, 0, 100), square(pattern.RoleNone, 20, 20, 50), line(pattern.RoleNone, 10, 10, 10, 90),
		line(pattern.RoleNone, 200, 0, 300, 0), line(pattern.RoleNone, 300, 0, 300, 100, 200, 100, 200, 0.2),
	}})
	if len(pieces) != 2 {
		t.Fatalf("got %d pieces", len(pieces))
	}
	for _, p := range pieces {
		if p.CutSaid || p.Cut == nil || !p.Cut.Closed || len(p.Cutouts) != 0 {
			t.Errorf("%+v", p)
		}
	}
	if got := rulesOf(fs); got[pattern.RuleLeftOut] != 1 || got[pattern.RuleGapBridged] != 1 {
		t.Errorf("findings %v", got)
	}
}

// TestOpenOutlineAlone: where no line is closed, an open one without a role is a piece that does not close, however wide its
// gap, and says which line it is; beside a closed one it is so too where it goes most of the way round. A scribble, and what goes less
// far round, bounds nothing.
func TestOpenOutlineAlone(t *testing.T) {
	open := line(pattern.RoleNone, 0, 0, 160, 0, 160, 160, 0, 160)
	open.Where = `line 2, <path id="pocket">`
	scribble := line(pattern.RoleNone, 300, 0, 310, 5)
	pieces, fs := Pieces(Drawing{NoRoles: true, Items: []Item{open, scribble}})
	if len(pieces) != 1 || pieces[0].Cut == nil || pieces[0].Cut.Closed || pieces[0].CutSaid || pieces[0].Where != open.Where {
		t.Errorf("%+v", pieces)
	}
	if got := rulesOf(fs); got[pattern.RuleLeftOut] != 1 || len(fs) != 1 {
		t.Errorf("findings %+v", fs)
	}
	pieces, fs = Pieces(Drawing{NoRoles: true, Items: []Item{square(pattern.RoleNone, 300, 300, 100), open}})
	if len(pieces) != 2 || pieces[0].Cut.Closed == pieces[1].Cut.Closed || len(fs) != 0 {
		t.Errorf("beside a closed one: %+v, findings %+v", pieces, fs)
	}
	for what, l := range map[string]Item{
		"a shallow bow":      line(pattern.RoleNone, 0, 0, 80, 30, 160, 30, 240, 0),
		"a corner":           line(pattern.RoleNone, 0, 0, 160, 0, 160, 160),
		"a narrow staple":    line(pattern.RoleNone, 0, 0, 200, 0, 200, 30, 0, 30),
		"one of a few marks": line(pattern.RoleNone, 0, 0, 30, 0, 30, 30, 0, 30),
	} {
		pieces, fs = Pieces(Drawing{NoRoles: true, Items: []Item{square(pattern.RoleNone, 300, 300, 100), l}})
		if len(pieces) != 1 || rulesOf(fs)[pattern.RuleLeftOut] != 1 {
			t.Errorf("%s beside a closed one: %d pieces, findings %+v", what, len(pieces), fs)
		}
	}
}

func TestSewOnly(t *testing.T) {
	pieces, _ := Pieces(Drawing{Items: []Item{square(pattern.RoleSew, 0, 0, 100), line(pattern.RoleMark, 10, 10, 50, 50)}})
	if len(pieces) != 1 || pieces[0].Cut != nil || len(pieces[0].Sew) != 1 || len(pieces[0].Marks) != 1 {
		t.Errorf("%+v", pieces)
	}
}

// Pieces of interchange files lie on top of each other: the group decides, not the place.
func TestGroupsLieOnEachOther(t *testing.T) {
	in := func(it Item, g string) Item { it.Group = g; return it }
	pieces, fs := Pieces(Drawing{
		Groups: []Group{{Key: "b", Name: "BACK", Quantity: 2}, {Key: "a", Name: "FRONT", Size: "8"}},
		Items: []Item{
			in(square(pattern.RoleCut, 0, 0, 100), "a"), in(square(pattern.RoleCut, 0, 0, 200), "b"),
			in(square(pattern.RoleSew, 10, 10, 80), "a"), in(square(pattern.RoleSew, 10, 10, 180), "b"),
			in(line(pattern.RoleDrill, 50, 50), "b"), in(line(pattern.RoleNotch, 0, 50, 5, 50), "b"),
		},
	})
	if len(fs) != 0 || len(pieces) != 2 || pieces[0].Name != "BACK" || pieces[1].Name != "FRONT" {
		t.Fatalf("%+v %+v", pieces, fs)
	}
	if len(pieces[0].Drills) != 1 || len(pieces[0].Notches) != 1 || len(pieces[1].Drills) != 0 || len(pieces[1].Notches) != 0 {
		t.Error("things of one group went to the other")
	}
	if pieces[0].Sew[0].Area() != 180*180 || pieces[1].Sew[0].Area() != 80*80 {
		t.Error("sew lines were exchanged")
	}
}

// A title may be a layer's: a loose group with two outlines is no piece.
func TestLooseGroup(t *testing.T) {
	in := func(it Item) Item { it.Group = "t"; return it }
	two := []Item{in(square(pattern.RoleCut, 0, 0, 100)), in(square(pattern.RoleCut, 200, 0, 100))}
	pieces, _ := Pieces(Drawing{Groups: []Group{{Key: "t", Name: "Layer 1", Loose: true}}, Items: two})
	if len(pieces) != 2 || pieces[0].Named || pieces[0].Name != "piece 1" {
		t.Errorf("%+v", pieces)
	}
	pieces, _ = Pieces(Drawing{Groups: []Group{{Key: "t", Name: "Cuff", Loose: true}}, Items: two[:1]})
	if len(pieces) != 1 || pieces[0].Name != "Cuff" {
		t.Errorf("%+v", pieces)
	}
}

func TestDoubledOutline(t *testing.T) {
	var items []Item
	for range 2 {
		items = append(items, line(pattern.RoleCut, 0, 0, 100, 0), line(pattern.RoleCut, 100, 0, 100, 100),
			line(pattern.RoleCut, 0, 0, 0, 100), line(pattern.RoleCut, 0, 100, 100, 100))
	}
	pieces, fs := Pieces(Drawing{Items: items})
	if len(pieces) != 1 || !pieces[0].Cut.Closed || rulesOf(fs)[pattern.RuleOutlineDoubled] == 0 {
		t.Errorf("%d pieces, %+v", len(pieces), fs)
	}
}

func TestCheckSquare(t *testing.T) {
	for side, faults := range map[float64]int{100: 0, 100.15: 0, 93.75: 1, 100.3: 1} {
		_, fs := Pieces(Drawing{Items: []Item{square(pattern.RoleCut, 0, 0, 300), square(pattern.RoleCheck, 10, 10, side)}})
		if n := rulesOf(fs)[pattern.RuleUnitsDisagree]; n != faults {
			t.Errorf("side %v: %d findings", side, n)
		}
	}
}

// The same drawing, its lines shuffled, turned round and split, gives the same outline.
func TestOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var plain, mixed []Item
		for k := range rapid.IntRange(1, 4).Draw(rt, "pieces") {
			pts := star(rt, float64(k)*300, k)
			for i := range pts {
				a, b := pts[i], pts[(i+1)%len(pts)]
				plain = append(plain, line(pattern.RoleCut, a[0], a[1], b[0], b[1]))
				parts := [][2]orb.Point{{a, b}}
				if rapid.Bool().Draw(rt, "split") {
					m := geom.Lerp(a, b, rapid.Float64Range(0.2, 0.8).Draw(rt, "at"))
					parts = [][2]orb.Point{{a, m}, {m, b}}
				}
				for _, s := range parts {
					if rapid.Bool().Draw(rt, "turn") {
						s[0], s[1] = s[1], s[0]
					}
					mixed = append(mixed, line(pattern.RoleCut, s[0][0], s[0][1], s[1][0], s[1][1]))
				}
			}
		}
		mixed = rapid.Permutation(mixed).Draw(rt, "order")
		want, f1 := Pieces(Drawing{Items: plain})
		got, f2 := Pieces(Drawing{Items: mixed})
		if len(f1) != 0 || len(f2) != 0 {
			rt.Fatalf("findings %v, %v", f1, f2)
		}
		if len(want) != len(got) {
			rt.Fatalf("%d pieces, want %d", len(got), len(want))
		}
		for i := range want {
			if diff := cmp.Diff(want[i].Cut, got[i].Cut); diff != "" {
				rt.Fatal(diff)
			}
		}
	})
}

// star is a random outline round a place, its points on a fine lattice.
func star(rt *rapid.T, x float64, k int) []orb.Point {
	n := rapid.IntRange(3, 12).Draw(rt, fmt.Sprintf("corners %d", k))
	pts := make([]orb.Point, n)
	for i := range pts {
		r := rapid.Float64Range(30, 100).Draw(rt, "radius")
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		pts[i] = orb.Point{math.Round((x+r*c)*1000) / 1000, math.Round(r*s*1000) / 1000}
	}
	return pts
}
