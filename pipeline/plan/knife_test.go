package plan

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// The order of cutting is common practice: inner lines before outer ones, small pieces before large.
func TestKnifeOrder(t *testing.T) {
	ready, l := laid(5)
	for _, withPen := range []bool{false, true} {
		p := knifeTable()
		p.Pen.Present = withPen
		out, rep := Strokes(ready, l, p, Options{})
		freed := map[int]bool{}
		cutting := false
		largest := 0.0
		for i, s := range out {
			if s.Tool == devices.Pen {
				if cutting {
					t.Fatal("the pen draws after the knife has begun")
				}
				continue
			}
			cutting = true
			if freed[s.Piece] {
				t.Fatalf("stroke %d (%s) cuts piece %d, which was cut free before", i, s.Role, s.Piece)
			}
			if s.Role == "cut" {
				freed[s.Piece] = true
				if a := s.Path.Area(); a*4 < largest {
					t.Errorf("piece %d of %.0f mm2 comes after one of %.0f mm2", s.Piece, a, largest)
				} else {
					largest = math.Max(largest, a)
				}
			}
		}
		if len(freed) != 5 {
			t.Errorf("%d outlines cut", len(freed))
		}
		if withPen == (rep.LeftOut["sew"] == 5) || withPen == (rep.Square == nil) {
			t.Errorf("pen %v: left out %v, square %v", withPen, rep.LeftOut, rep.Square)
		}
	}
}

// A small piece lies in the cut-out of a large one and must come before it; a drill lies in a cut-out.
func TestNestedPieces(t *testing.T) {
	big := pattern.Ready{Name: "big", Outline: box(0, 0, 400, 400), Lines: []pattern.Line{
		{Role: pattern.RoleCutout, Path: box(50, 50, 350, 350), Cut: true},
		{Role: pattern.RoleCutout, Path: box(10, 10, 30, 30), Cut: true},
		{Role: pattern.RoleDrill, Path: open(orb.Point{20, 20}), Cut: true},
	}}
	middle := pattern.Ready{Name: "middle", Outline: box(60, 60, 340, 340)}
	small := pattern.Ready{Name: "small", Outline: box(100, 100, 290, 290)}
	l := pattern.Lay{Material: pattern.Material{Width: 900}, Placements: []pattern.Placement{
		{Ready: 0, Map: geom.Identity}, {Ready: 1, Map: geom.Identity}, {Ready: 2, Map: geom.Identity},
	}}
	out, _ := Strokes([]pattern.Ready{big, middle, small}, l, knifeTable(), Options{})
	var names []string
	drill, around := -1, -1
	for i, s := range out {
		if s.Role == "cut" {
			names = append(names, s.Name)
		}
		if s.Role == "drill" {
			drill = i
		}
		if s.Role == "cutout" && s.Path.Area() < 1000 {
			around = i
		}
	}
	if !slices.Equal(names, []string{"small", "middle", "big"}) {
		t.Errorf("outlines in the order %v", names)
	}
	if drill > around {
		t.Error("the drill's place was cut out before the drill")
	}
}

func TestKnifeStarts(t *testing.T) {
	// A box with a rounded end; a notch stands beside the corner nearest to the start.
	round := geom.FlattenArc([]orb.Point{{100, 0}}, orb.Point{100, 50}, orb.Point{0, -50}, orb.Point{50, 0}, 0, math.Pi, geom.FlattenTol)
	path := geom.Path{Points: append([]orb.Point{{0, 0}}, round...), Closed: true}
	path.Points = append(path.Points, orb.Point{0, 100})
	path.Corners = make([]bool, len(path.Points))
	path.Corners[0], path.Corners[len(path.Points)-1] = true, true
	r := pattern.Ready{Name: "pocket", Outline: path, Lines: []pattern.Line{
		{Role: pattern.RoleNotch, Path: open(orb.Point{4, 0}, orb.Point{4, 5}), Cut: true},
	}}
	l := pattern.Lay{Placements: []pattern.Placement{{Ready: 0, Map: geom.Identity}}}
	out, _ := Strokes([]pattern.Ready{r}, l, knifeTable(), Options{})
	if got := out[len(out)-1].Path.Points[0]; got != (orb.Point{0, 100}) {
		t.Errorf("the outline starts at %v: not at the corner away from the notch", got)
	}
}

func TestJoinedRing(t *testing.T) {
	line := func(pts ...orb.Point) devices.Stroke {
		return devices.Stroke{Tool: devices.Pen, Role: "cut", Path: open(pts...)}
	}
	out, n := join([]devices.Stroke{
		line(orb.Point{0, 0}, orb.Point{9, 0}), line(orb.Point{9, 9}, orb.Point{9, 0}),
		line(orb.Point{9, 9}, orb.Point{0, 9}, orb.Point{0, 0}),
	}, roll(), 0.01)
	if len(out) != 1 || n != 3 || !out[0].Path.Closed || len(out[0].Path.Points) != 4 {
		t.Errorf("%d joints, %v", n, out)
	}
	apart, n := join([]devices.Stroke{line(orb.Point{0, 0}, orb.Point{9, 0}), line(orb.Point{9, 0.02}, orb.Point{9, 9})}, roll(), 0.01)
	if len(apart) != 2 || n != 0 {
		t.Errorf("a gap of 0.02 mm was joined: %v", apart)
	}
}
