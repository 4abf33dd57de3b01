package knife_test

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
)

func contains(s, part string) bool { return strings.Contains(s, part) }

var unit = closed(orb.Point{100, 100}, orb.Point{200, 100}, orb.Point{200, 180}, orb.Point{100, 180})

// TestPassesGoDeeperEachTime: each pass is a full loop at its own depth, none under the last.
func TestPassesGoDeeperEachTime(t *testing.T) {
	p := table()
	p.Blade.CutZ, p.Blade.Passes = -3, 3
	pr := prove(t, append(one(open(orb.Point{120, 120}, orb.Point{150, 140})), one(unit)...), p)
	pr.check(t, p, 1)
	res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: 1})
	for _, z := range []float64{-1, -2, -3} {
		var level []blade.Cut
		for _, c := range res.Cuts {
			if math.Abs(c.Z-z) < 1e-6 {
				level = append(level, c)
			}
		}
		for i, s := range pr.report.Wanted {
			if m := missed(level, s.Path, 0); m > 0.05 {
				t.Errorf("depth %v leaves stroke %d by %.3f", z, i, m)
			}
		}
		if !blade.Severed(level, unit, z) {
			t.Errorf("depth %v is no full loop", z)
		}
	}
	if low := blade.Lowest(res.Cuts); low < -3-1e-9 {
		t.Errorf("cut at %v", low)
	}
}

// TestOvercutIsAsLongAsAsked: the tip ends that far past the start, along the outline, round its
// first corner if need be.
func TestOvercutIsAsLongAsAsked(t *testing.T) {
	for _, over := range []float64{0, 0.3, 1, 90, 130} {
		p := table()
		p.Blade.Overcut = over
		pr := prove(t, one(unit), p)
		pr.check(t, p, 2.5)
		res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: 2.5})
		last := res.Cuts[len(res.Cuts)-1].Path.Points
		want, _ := unit.At(over)
		if got := last[len(last)-1]; geom.Dist(got, want) > 0.002 {
			t.Errorf("overcut %v ends at %v, want %v", over, got, want)
		}
	}
}

// TestOneAlignmentServesAll: the heading is kept across lifts, so that one stroke in waste is made,
// fifteen offsets long or more, clear of the pieces and inside the bed.
func TestOneAlignmentServesAll(t *testing.T) {
	p := table()
	far := unit.Apply(geom.Translate(400, 300)).Reversed()
	pr := prove(t, append(one(unit), one(far)...), p)
	way := pr.report.Align.Points
	if l := geom.Dist(way[1], way[2]); l < 15*p.Blade.Offset {
		t.Errorf("the straight pull is %.2f mm, under 15 offsets", l)
	}
	count := 0
	for _, m := range pr.motions {
		if m.Kind == devices.AlignStart {
			count++
		}
	}
	if count != len(way)-1 {
		t.Errorf("%d alignment motions, want one stroke of %d", count, len(way)-1)
	}
	for _, h := range headings {
		pr.check(t, p, h)
	}
}

// TestAlignmentFindsWaste: not at the named place if a piece lies there; refused if all is covered.
func TestAlignmentFindsWaste(t *testing.T) {
	p := table()
	p.Length, p.Width = 220, 200
	covering := closed(orb.Point{1, 1}, orb.Point{180, 1}, orb.Point{180, 199}, orb.Point{1, 199})
	pr := prove(t, one(covering), p)
	pr.check(t, p, 1)
	for _, q := range pr.report.Align.Points {
		if covering.Contains(q) || covering.Nearest(q).Dist < 1 || q[0] < 0 || q[1] < 0 || q[0] > 220 || q[1] > 200 {
			t.Errorf("aligned at %v", q)
		}
	}
	p.Length = 182
	_, _, err := knife.Compensate(one(covering), p)
	if err == nil || !contains(err.Error(), "no waste") {
		t.Errorf("error %v, want a refusal for want of waste", err)
	}
}

// TestFeedsAreWhatAGantryHolds: v^2/d stays under the acceleration, so the swivel feed is at most
// 60 sqrt(A d): 671, 949 and 1342 mm/min at 500 mm/s2 for d 0.25, 0.5 and 1.
func TestFeedsAreWhatAGantryHolds(t *testing.T) {
	for _, c := range []struct{ d, a, want float64 }{{0.25, 500, 671}, {0.5, 250, 671}, {0.5, 500, 949}, {1, 500, 1342}, {1, 1000, 1897}} {
		p := table()
		p.Blade.Offset, p.Gantry.Acceleration, p.Gantry.FeedSwivel = c.d, c.a, 5000
		pr := prove(t, one(unit), p)
		seen := false
		for _, m := range pr.trace.Moves {
			if m.Arc {
				seen = true
				if math.Abs(m.Feed-c.want) > 1 {
					t.Errorf("d %v, A %v: a swivel at F %v, want %v", c.d, c.a, m.Feed, c.want)
				}
			}
		}
		if !seen {
			t.Error("no swivel at all")
		}
	}
}

func TestSlitsHolesAndDrills(t *testing.T) {
	p := table()
	drill := devices.Stroke{Tool: devices.Knife, Role: "drill", Path: open(orb.Point{150, 150}), Name: "front"}
	ring := devices.Stroke{Tool: devices.Knife, Role: "drill", Path: circle(orb.Point{160, 150}, 1.5), Name: "front"}
	hole := devices.Stroke{Tool: devices.Knife, Role: "cutout", Path: circle(orb.Point{120, 150}, 0.6), Name: "front"}
	slit := devices.Stroke{Tool: devices.Knife, Role: "cutout", Path: closed(orb.Point{130, 120}, orb.Point{150, 120.5}), Name: "front"}
	back := devices.Stroke{Tool: devices.Knife, Role: "notch", Path: open(orb.Point{100, 140}, orb.Point{104, 140}, orb.Point{100, 140}), Name: "front"}
	pr := prove(t, append([]devices.Stroke{drill, ring, hole, slit, back}, one(unit)...), p)
	wanted := pr.report.Wanted
	res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: 1})
	for _, s := range wanted {
		if len(s.Path.Points) == 1 {
			hit := false
			for _, c := range res.Cuts {
				hit = hit || len(c.Path.Points) == 1 && geom.Dist(c.Path.Points[0], s.Path.Points[0]) < 0.01
			}
			if !hit {
				t.Errorf("no stab at %v", s.Path.Points[0])
			}
		}
	}
	pr.check2(t, p, wanted)
	if pr.report.Plunges < 2+8 {
		t.Errorf("%d plunges: a drill, a ring's middle and a row round a hole of 3.8 mm", pr.report.Plunges)
	}
	if pr.report.MaxSwivel > 170*math.Pi/180 {
		t.Errorf("a slit turns the blade round in its own cut by %v", pr.report.MaxSwivel)
	}
	if len(pr.report.Notes) != 2 {
		t.Errorf("notes %q", pr.report.Notes)
	}
	if f := pr.report.TooFine; len(f) != 1 || !f[0].Stabbed || pr.report.Wanted[f[0].Stroke].Role != "cutout" {
		t.Errorf("the hole that is stabbed is not named: %+v", f)
	}
}

// check2 compares only what is not a closed slit with the cuts.
func (pr proof) check2(t *testing.T, p devices.Profile, wanted []devices.Stroke) {
	t.Helper()
	res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: 1})
	for _, d := range blade.Compare(res.Cuts, wanted, pr.tolerances(p)) {
		t.Error(d)
	}
}

// TestNicksAreCutFromTheEdge: whichever way the stroke runs, unless its direction is fixed.
func TestNicksAreCutFromTheEdge(t *testing.T) {
	edge, in := orb.Point{100, 140}, orb.Point{105, 140}
	for _, c := range []struct {
		path  geom.Path
		fixed bool
		first orb.Point
	}{{open(edge, in), false, edge}, {open(in, edge), false, edge}, {open(in, edge), true, in}} {
		nick := devices.Stroke{Tool: devices.Knife, Role: "notch", Path: c.path, Fixed: c.fixed, Name: "yoke"}
		pr := prove(t, append([]devices.Stroke{nick}, one(unit)...), table())
		pr.check(t, table(), 1)
		res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: 0.5, Heading: 1})
		for _, cut := range res.Cuts { // the first through cut after the alignment stroke
			if cut.Z == -0.6 && geom.Dist(cut.Path.Points[0], edge) < 10 {
				if geom.Dist(cut.Path.Points[0], c.first) > 0.05 {
					t.Errorf("%v, fixed %v: cut from %v", c.path.Points, c.fixed, cut.Path.Points[0])
				}
				break
			}
		}
	}
}

func TestTooFine(t *testing.T) {
	p := table()
	step := closed(orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{50, 20}, orb.Point{50.3, 20}, orb.Point{50.3, 50}, orb.Point{0, 50})
	round := open(append([]orb.Point{{0, 0}}, geom.FlattenArc([]orb.Point{{20, 0}}, orb.Point{20, 0.3}, orb.Point{0, -0.3}, orb.Point{0.3, 0}, 0, math.Pi, geom.FlattenTol)...)...)
	round.Corners = make([]bool, len(round.Points))
	for _, c := range []struct {
		name, want string
		path       geom.Path
	}{
		{"a square", "", unit}, {"a star", "", star(orb.Point{}, 40)}, {"a wide curve", "", circle(orb.Point{}, 3)},
		{"a small hole", "across", circle(orb.Point{}, 0.8)},
		{"a step of 0.3 mm", "stretch of 0.3 mm", step},
		{"a bend of radius 0.3", "radius 0.3 mm", round},
	} {
		got := knife.TooFine(c.path, p)
		if (len(got) == 1) != (c.want != "") || len(got) == 1 && !contains(got[0].Why, c.want) {
			t.Errorf("%s: %v, want %q", c.name, got, c.want)
		}
	}
	p.Kind = devices.TangentialKnife
	if got := knife.TooFine(step, p); len(got) > 0 {
		t.Errorf("a tangential knife has no offset: %v", got)
	}
}

// TestArcsHalveTheBytes: curves in arcs take at most half of what they take in chords.
func TestArcsHalveTheBytes(t *testing.T) {
	curve := geom.Path{Closed: true}
	ends := []orb.Point{{100, 100}, {400, 120}, {380, 420}, {120, 400}}
	for k, a := range ends {
		b := ends[(k+1)%4]
		side := geom.Left(geom.Sub(b, a))
		pts := geom.FlattenCubic([]orb.Point{a}, a, geom.Add(geom.Lerp(a, b, 0.3), geom.Mul(side, 0.2)), geom.Add(geom.Lerp(a, b, 0.7), geom.Mul(side, -0.15)), b, geom.FlattenTol)
		for i, q := range pts[:len(pts)-1] {
			curve.Points, curve.Corners = append(curve.Points, q), append(curve.Corners, i == 0)
		}
	}
	p := table()
	arcs := prove(t, one(curve), p)
	arcs.check(t, p, 3)
	p.Gantry.Arcs = false
	chords := prove(t, one(curve), p)
	chords.check(t, p, 3)
	for _, m := range chords.trace.Moves {
		if m.Arc {
			t.Fatal("an arc where none is taken")
		}
	}
	a, c := arcs.program.Len(), chords.program.Len()
	t.Logf("%d bytes in arcs, %d in chords: %.0f %%", a, c, 100*float64(a)/float64(c))
	if 2*a > c {
		t.Errorf("arcs take %d bytes, chords %d", a, c)
	}
}

func TestCautionsDefer(t *testing.T) {
	all := strings.Join(knife.Cautions(), "\n")
	if !contains(knife.Cautions()[0], "manual") || !contains(all, "no substitute") {
		t.Errorf("the cautions do not defer to the machine's manual:\n%s", all)
	}
}
