package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func box(x0, y0, x1, y1 float64) geom.Path {
	return geom.Path{Points: []orb.Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, Closed: true}
}

func open(pts ...orb.Point) geom.Path { return geom.Path{Points: pts} }

// bodice is a piece w wide and h high with all kinds of lines on it.
func bodice(name string, w, h float64) pattern.Ready {
	round := geom.FlattenArc(nil, orb.Point{w / 2, h / 2}, orb.Point{w / 8, 0}, orb.Point{0, w / 8}, 0, 2*math.Pi, geom.FlattenTol)
	return pattern.Ready{Name: name, Outline: box(0, 0, w, h), Lines: []pattern.Line{
		{Role: pattern.RoleSew, Path: box(10, 10, w-10, h-10)},
		{Role: pattern.RoleNotch, Path: open(orb.Point{w / 3, 0}, orb.Point{w / 3, 6}), Cut: true},
		{Role: pattern.RoleNotch, Path: open(orb.Point{w, h / 2}, orb.Point{w - 6, h / 2}), Cut: true},
		{Role: pattern.RoleCutout, Path: geom.Path{Points: round, Closed: true, Corners: make([]bool, len(round))}, Cut: true},
		{Role: pattern.RoleDrill, Path: open(orb.Point{w / 2, h / 2}), Diameter: 3, Cut: true},
		{Role: pattern.RoleGrain, Path: open(orb.Point{w / 2, 20}, orb.Point{w / 2, h - 20})},
		{Role: pattern.RoleText, Path: open(orb.Point{20, 20}, orb.Point{20, 26})},
		{Role: pattern.RoleText, Path: open(orb.Point{20, 26}, orb.Point{24, 26})},
	}}
}

// laid puts pieces of growing size side by side, the largest first.
func laid(n int) ([]pattern.Ready, pattern.Lay) {
	var ready []pattern.Ready
	l := pattern.Lay{Material: pattern.Material{Width: 900, Margin: 5}}
	x := 10.0
	for i := range n {
		w := 90 + 40*float64(n-i)
		ready = append(ready, bodice(fmt.Sprintf("piece %d", i), w, w*1.2))
		l.Placements = append(l.Placements, pattern.Placement{Ready: i, Map: geom.Translate(x, 20)})
		x += w + 15
	}
	l.LengthUsed = x
	return ready, l
}

func knifeTable() devices.Profile {
	return devices.Profile{Kind: devices.DragKnife, Language: devices.GCode, Width: 1000, Length: 1600,
		Gantry: devices.GantryProfile{FeedCut: 3000, FeedTravel: 6000, FeedPlunge: 600, Acceleration: 500},
		Blade:  devices.BladeProfile{CutZ: -0.6, SafeZ: 5}}
}

func roll() devices.Profile {
	return devices.Profile{Kind: devices.PenPlotter, Language: devices.HPGL2, Width: 914,
		Pen: devices.PenProfile{Default: 1, ByRole: map[string]int{"text": 2}, Speed: 300}}
}

func TestPenPlotterDrawsEverything(t *testing.T) {
	ready, l := laid(4)
	out, rep := Strokes(ready, l, roll(), Options{})
	var want float64
	for _, r := range ready {
		want += r.Outline.Length()
		for _, line := range r.Lines {
			if line.Role == pattern.RoleDrill {
				want += 2*2*crossArm + math.Pi*line.Diameter
				continue
			}
			if line.Role == pattern.RoleSew {
				want += line.Path.Length() * 9 / 13 // dashes of 9 mm, gaps of 4
				continue
			}
			want += line.Path.Length()
		}
	}
	var got float64
	pens := []int{}
	for _, s := range out {
		if s.Tool != devices.Pen {
			t.Fatalf("a plotter has no %s", s.Tool)
		}
		if s.Role != "check" {
			got += s.Path.Length()
		}
		if pen := roll().Pen.For(s.Role); len(pens) == 0 || pens[len(pens)-1] != pen {
			pens = append(pens, pen)
		}
	}
	if math.Abs(got-want) > 0.01*want {
		t.Errorf("%.1f mm drawn, %.1f mm on the pieces", got, want)
	}
	if !slices.Equal(pens, []int{1, 2}) {
		t.Errorf("pens in turn: %v, each is taken once", pens)
	}
	if rep.Joined != 4 {
		t.Errorf("%d joints, the two lines of each letter meet", rep.Joined)
	}
	if rep.Square == nil || len(rep.LeftOut) != 0 {
		t.Errorf("square %v, left out %v", rep.Square, rep.LeftOut)
	}
	if rep.Travel > rep.TravelNearest || rep.TravelNearest > rep.TravelGiven {
		t.Errorf("travel %.0f, nearest first %.0f, as given %.0f", rep.Travel, rep.TravelNearest, rep.TravelGiven)
	}
	if rep.Seconds < got/300 || rep.Strokes != len(out) {
		t.Errorf("%.1f s for %.0f mm at 300 mm/s, %d strokes of %d", rep.Seconds, got, rep.Strokes, len(out))
	}
}

// A device that letters by itself is sent each line of words once, where it stands, and strokes only
// where the piece lies mirrored.
func TestWordsInsteadOfStrokes(t *testing.T) {
	word := &pattern.Word{Text: "POCKET", At: orb.Point{20, 20}, Along: orb.Point{0, 1}, Height: 6}
	r := bodice("pocket", 100, 120)
	for i := range r.Lines {
		if r.Lines[i].Role == pattern.RoleText {
			r.Lines[i].Word = word
		}
	}
	l := pattern.Lay{Material: pattern.Material{Width: 400}, Placements: []pattern.Placement{
		{Map: geom.Translate(10, 0)}, {Map: geom.Translate(300, 0).After(geom.Scale(-1, 1))},
	}}
	p := roll()
	p.Plot.Labels = "text"
	out, _ := Strokes([]pattern.Ready{r}, l, p, Options{Square: -1})
	words, strokes := 0, 0
	for _, s := range out {
		switch {
		case s.Label != nil:
			words++
			want := geom.Path{Points: []orb.Point{{30, 20}, {30, 21}}}
			if s.Piece != 0 || *s.Label != (devices.Label{Text: "POCKET", Height: 6}) || !reflect.DeepEqual(s.Path, want) {
				t.Errorf("words %+v along %v on piece %d", *s.Label, s.Path, s.Piece)
			}
		case s.Role == "text":
			strokes++
		}
	}
	if words != 1 || strokes != 1 {
		t.Errorf("%d words and %d strokes of letters, want 1 and 1 (two that join)", words, strokes)
	}
}

// Planning changes no line: the segments before and after are the same, whatever is joined, reversed or started
// elsewhere.
func TestNothingIsLostOrMoved(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 0))
		var strokes []devices.Stroke
		for range rapid.IntRange(1, 60).Draw(rt, "strokes") {
			path := geom.Path{Closed: rnd.IntN(4) == 0}
			for range 2 + rnd.IntN(4) {
				path.Points = append(path.Points, orb.Point{float64(rnd.IntN(12)), float64(rnd.IntN(12))})
			}
			strokes = append(strokes, devices.Stroke{Tool: devices.Pen, Role: "mark", Path: path, Fixed: rnd.IntN(6) == 0})
		}
		p := roll()
		joined, n := join(strokes, p, 0.01)
		if len(joined) < len(strokes)-n {
			rt.Fatalf("%d strokes of %d after %d joints", len(joined), len(strokes), n)
		}
		out, _ := orderDrawn(joined, p, Options{Effort: 1})
		if a, b := stretches(strokes), stretches(out); !slices.Equal(a, b) {
			rt.Fatalf("stretches differ:\n%v\n%v", a, b)
		}
		fixed := 0
		for _, s := range strokes {
			if !s.Fixed {
				continue
			}
			fixed++
			if !slices.ContainsFunc(out, func(o devices.Stroke) bool { return o.Fixed && reflect.DeepEqual(o.Path, s.Path) }) {
				rt.Fatalf("a fixed stroke was changed: %v", s.Path)
			}
		}
	})
}

// stretches lists all segments without direction, sorted.
func stretches(strokes []devices.Stroke) []string {
	var out []string
	for _, s := range strokes {
		for i := range s.Path.Segments() {
			a, b := s.Path.Segment(i)
			if a == b {
				continue
			}
			if a[0] > b[0] || a[0] == b[0] && a[1] > b[1] {
				a, b = b, a
			}
			out = append(out, fmt.Sprint(a, b))
		}
	}
	slices.Sort(out)
	return out
}

// Coordinates that are not finite are refused by the encoder; planning must not fail on them.
func TestOddPlaces(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, 0} {
		r := pattern.Ready{Outline: box(0, 0, v, 50)}
		for i := range 40 {
			r.Lines = append(r.Lines, pattern.Line{Role: pattern.RoleMark, Cut: i%2 == 0, Path: open(orb.Point{float64(i), v}, orb.Point{v, v})})
		}
		l := pattern.Lay{Material: pattern.Material{Width: 900}, Placements: []pattern.Placement{{Map: geom.Identity}, {Ready: 1}, {Ready: 7}, {Ready: -1}}}
		for _, p := range []devices.Profile{roll(), knifeTable()} {
			if out, _ := Strokes([]pattern.Ready{r, {}}, l, p, Options{}); len(out) == 0 {
				t.Errorf("%v on a %s: nothing is left", v, p.Kind)
			}
		}
	}
}

func TestSameInputSamePlan(t *testing.T) {
	ready, l := laid(6)
	for _, p := range []devices.Profile{roll(), knifeTable()} {
		a, ra := Strokes(ready, l, p, Options{})
		b, rb := Strokes(ready, l, p, Options{})
		if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(ra, rb) {
			t.Errorf("%s: the same lay gave another plan", p.Kind)
		}
	}
}

func BenchmarkPlan(b *testing.B) {
	ready, l := laid(20)
	for b.Loop() {
		Strokes(ready, l, roll(), Options{})
	}
}
