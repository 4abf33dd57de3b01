package sheets

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// within clips a line to a box; the parts keep the order of the line. A closed line that lies wholly inside stays
// closed. The parts of a closed line that leaves the box are open, and the part over the line's start is in one piece.
func within(p geom.Path, box orb.Bound) []geom.Path {
	if b := p.Bound(); !b.Intersects(box) {
		return nil
	} else if box.Contains(b.Min) && box.Contains(b.Max) {
		return []geom.Path{p}
	}
	var out []geom.Path
	var run []orb.Point
	n := p.Segments()
	for i := range n {
		a, b := p.Segment(i)
		t0, t1, ok := inside(a, b, box)
		if !ok {
			out, run = keep(out, run), nil
			continue
		}
		if t0 > 0 || len(run) == 0 {
			out, run = keep(out, run), []orb.Point{geom.Lerp(a, b, t0)}
		}
		run = append(run, geom.Lerp(a, b, t1))
		if t1 < 1 {
			out, run = keep(out, run), nil
		}
	}
	out = keep(out, run)
	if k := len(out) - 1; p.Closed && k > 0 {
		first, last := out[0].Points, out[k].Points
		if first[0] == p.Points[0] && last[len(last)-1] == p.Points[0] {
			out[0] = geom.Path{Points: append(last, first[1:]...)}
			out = out[:k]
		}
	}
	return out
}

// keep adds a stretch that has a length.
func keep(out []geom.Path, run []orb.Point) []geom.Path {
	if len(run) < 2 {
		return out
	}
	p := geom.Path{Points: run}
	if p.Length() < geom.Tiny {
		return out
	}
	return append(out, p)
}

// inside is the part of a stretch from a to b, from 0 to 1, that lies in a box.
func inside(a, b orb.Point, box orb.Bound) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	for k := range 2 {
		d := b[k] - a[k]
		if d == 0 {
			if a[k] < box.Min[k] || a[k] > box.Max[k] {
				return 0, 0, false
			}
			continue
		}
		lo, hi := (box.Min[k]-a[k])/d, (box.Max[k]-a[k])/d
		t0, t1 = math.Max(t0, math.Min(lo, hi)), math.Min(t1, math.Max(lo, hi))
	}
	return t0, t1, t0 <= t1
}

// outside is the part of some open lines outside a box.
func outside(lines []geom.Path, box orb.Bound) []geom.Path {
	var out []geom.Path
	for _, p := range lines {
		if !p.Bound().Intersects(box) {
			out = append(out, p)
			continue
		}
		var run []orb.Point
		for i := range p.Segments() {
			a, b := p.Segment(i)
			t0, t1, ok := inside(a, b, box)
			if !ok {
				if len(run) == 0 {
					run = append(run, a)
				}
				run = append(run, b)
				continue
			}
			if t0 > 0 {
				if len(run) == 0 {
					run = append(run, a)
				}
				run = append(run, geom.Lerp(a, b, t0))
			}
			out, run = keep(out, run), nil
			if t1 < 1 {
				run = []orb.Point{geom.Lerp(a, b, t1), b}
			}
		}
		out = keep(out, run)
	}
	return out
}
