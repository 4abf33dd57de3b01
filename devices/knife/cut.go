package knife

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// job is one stroke in the form in which it is cut: a line to run along, or places to stab.
type job struct {
	index  int
	stroke devices.Stroke
	line   outline
	stabs  []orb.Point
	pen    bool // drawn by the pen beside the blade
}

// first is the heading at which the job's cut begins; zero for stabs, which have none.
func (j job) first() orb.Point {
	if len(j.stabs) > 0 {
		return orb.Point{}
	}
	return j.line.from[0]
}

// stabStep is the distance between plunges in a row, in blade offsets.
const stabStep = 0.5

// prepare tidies a stroke and decides between running and stabbing.
func (w *writer) prepare(i int, s devices.Stroke) job {
	j := job{index: i, stroke: s}
	p := s.Path
	if p.Corners == nil {
		p = allCorners(p)
	}
	if beside(s, w.p) {
		return w.drawn(j, p)
	}
	if w.p.Kind.Cuts() {
		if s.Role == "drill" || p.Length() < geom.Tiny {
			return w.stab(j, []orb.Point{p.Bound().Center()})
		}
		for _, f := range TooFine(p, w.p) {
			w.rep.TooFine = append(w.rep.TooFine, FineStroke{i, f})
		}
		if w.style == dragging && tooSmall(p, w.d) {
			return w.stab(j, rowAlong(p, stabStep*w.d))
		}
	}
	p = tidy(p)
	if w.p.Kind.Cuts() {
		if q, ok := oneWay(p); ok {
			w.note("%s: a slit drawn out and back is cut one way", s)
			p = q
		}
	}
	j.line = newOutline(p, w.blend)
	if len(j.line.elems) == 0 {
		return w.stab(j, p.Points[:1])
	}
	return j
}

func allCorners(p geom.Path) geom.Path {
	p.Corners = make([]bool, len(p.Points))
	for i := range p.Corners {
		p.Corners[i] = true
	}
	return p
}

func (w *writer) note(format string, s devices.Stroke) {
	at := s.Path.Bound().Center()
	w.rep.Notes = append(w.rep.Notes, fmt.Sprintf(format, fmt.Sprintf("piece %q at (%.1f, %.1f)", s.Name, at[0], at[1])))
}

// rowAlong are places along a path, ends and corners included, none further apart than step mm.
func rowAlong(p geom.Path, step float64) []orb.Point {
	out := []orb.Point{p.Points[0]}
	for i := range p.Segments() {
		a, b := p.Segment(i)
		if geom.Dist(out[len(out)-1], b) < step/2 {
			continue
		}
		n := int(math.Ceil(geom.Dist(a, b) / step))
		for k := 1; k <= n; k++ {
			out = append(out, geom.Lerp(a, b, float64(k)/float64(n)))
		}
	}
	return out
}

// stab turns a job into plunges, and the wanted strokes with it.
func (w *writer) stab(j job, at []orb.Point) job {
	j.stabs = at
	for k, pt := range at {
		s := j.stroke
		s.Path = geom.Path{Points: []orb.Point{pt}}
		if k == 0 {
			w.rep.Wanted[j.index] = s
		} else {
			w.rep.Wanted = append(w.rep.Wanted, s)
		}
	}
	return j
}

func (w *writer) cut(j job) {
	w.stroke, w.piece, w.name = j.index, j.stroke.Piece, j.stroke.Name
	if j.pen {
		w.draw(j)
		return
	}
	if len(j.stabs) > 0 {
		w.stabAll(j.stabs)
		return
	}
	if j.line.closed {
		w.loop(j.line)
		return
	}
	n := w.passes()
	for k := 1; k <= n; k++ {
		z := w.depth(k)
		w.enter(j.line.elems[0].a, j.line.from[0], z)
		w.along(j.line, z)
		w.leave()
	}
}

func (w *writer) passes() int {
	if !w.p.Kind.Cuts() {
		return 1
	}
	return max(1, w.p.Blade.Passes)
}

// depth is how deep pass k of 1 and more cuts.
func (w *writer) depth(k int) float64 {
	return w.p.Blade.CutZ * float64(k) / float64(w.passes())
}

// stabAll plunges with the blade as it stands; nothing turns it.
func (w *writer) stabAll(at []orb.Point) {
	for _, pt := range at {
		w.travel(w.over(pt, w.heading))
		w.plunge(w.depth(w.passes()))
		w.leave()
		w.rep.Plunges++
	}
}

// along runs all elements, with a corner between each two.
func (w *writer) along(o outline, z float64) {
	for i, e := range o.elems {
		if i > 0 {
			w.corner(e.a, o.from[i], z)
		}
		w.run(e, o.to[i])
	}
}

// loop cuts a closed line round and round, deeper each time, and past its start the last time. The
// compensated loop closes by itself: the tip comes back to the very start. What the profile adds
// runs on along the outline, after the turn into it.
func (w *writer) loop(o outline) {
	s := o.elems[0].a
	n := w.passes()
	w.enter(s, o.from[0], w.depth(1))
	for k := 1; k <= n; k++ {
		z := w.depth(k)
		w.along(o, z)
		if k < n {
			w.corner(s, o.from[0], z)
			w.plunge(w.depth(k + 1))
		}
	}
	if w.p.Kind.Cuts() {
		w.overcut(o, w.depth(n))
	}
	w.leave()
}

// overcut goes past the start of a closed line.
func (w *writer) overcut(o outline, z float64) {
	left := w.p.Blade.Overcut
	for i := 0; left > geom.Tiny && i < len(o.elems); i++ {
		e, to := o.elems[i], o.to[i]
		if e.length() > left {
			e = e.head(left)
			to = e.tangent(e.b)
		}
		w.corner(e.a, o.from[i], z)
		w.run(e, to)
		left -= e.length()
	}
}
