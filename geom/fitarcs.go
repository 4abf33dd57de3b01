package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Element is a straight line or a circle's arc from where the element before it ended.
type Element struct {
	Arc    bool
	To     orb.Point
	Centre orb.Point // of an arc
	CCW    bool      // the arc runs counter-clockwise
}

// FitArcs gives lines and arcs from p.Points[0] through the path, back to it when closed. All
// vertices lie within tol mm of them, none runs past a corner, arcs sweep less than a half circle.
// An arc leaves no chord by more than tol + FlattenTol, what the chords of a smooth curve may be
// off themselves. Never more elements than stretches.
func FitArcs(p Path, tol float64) []Element {
	var out []Element
	segs := p.Segments()
	for at := 0; at < segs; {
		end := at + 1
		for end < segs && !p.Corner(end%len(p.Points)) {
			end++
		}
		out = fitRun(out, run{p, at, end}, tol)
		at = end
	}
	return out
}

// run is the vertices lo to hi of a path, counted past its end where it closes.
type run struct {
	p      Path
	lo, hi int
}

func (r run) point(i int) orb.Point { return r.p.Points[i%len(r.p.Points)] }

// fitRun covers a smooth run, each time with the longest element that fits: doubling finds a
// length that does not, halving the last that does.
func fitRun(out []Element, r run, tol float64) []Element {
	for at := r.lo; at < r.hi; {
		best := Element{To: r.point(at + 1)}
		good, bad := at+1, r.hi+1
		for step := 1; good < r.hi; step *= 2 {
			next := min(good+step, r.hi)
			e, ok := fitOne(run{r.p, at, next}, tol)
			if !ok {
				bad = next
				break
			}
			good, best = next, e
		}
		for bad-good > 1 && bad <= r.hi {
			mid := (good + bad) / 2
			if e, ok := fitOne(run{r.p, at, mid}, tol); ok {
				good, best = mid, e
			} else {
				bad = mid
			}
		}
		out = append(out, best)
		at = good
	}
	return out
}

// fitOne is one element from the first to the last vertex of a run. All arcs through these two
// points form a family by their bulge; each vertex between allows an interval of it, and the
// middle of what all allow is taken.
func fitOne(r run, tol float64) (Element, bool) {
	a, b := r.point(r.lo), r.point(r.hi)
	l := Dist(a, b)
	if l < Tiny {
		return Element{}, false
	}
	u := Unit(Sub(b, a))
	lo, hi := math.Inf(-1), math.Inf(1)
	x := 0.0
	for i := r.lo + 1; i < r.hi; i++ {
		d := Sub(r.point(i), a)
		px, py := Dot(d, u), Cross(u, d)
		if px < x || px > l {
			return Element{}, false // it runs back: more than a half circle, or no arc at all
		}
		x = px
		lo = math.Max(lo, bulgeThrough(px, py+tol, l))
		hi = math.Min(hi, bulgeThrough(px, py-tol, l))
		if lo > hi {
			return Element{}, false
		}
	}
	if lo <= 0 && hi >= 0 {
		return Element{To: b}, true
	}
	e, ok := arcWith((lo+hi)/2, a, b)
	return e, ok && arcFits(e, r, tol)
}

// bulgeThrough is the bulge of the arc from (0, 0) to (l, 0) through (x, y), counter-clockwise
// positive, so that points below the chord have a positive one.
func bulgeThrough(x, y, l float64) float64 {
	angle := math.Atan2(l*y, x*(l-x)-y*y) // how much less than a half turn the chord is seen under
	return -math.Tan(angle / 2)
}

func arcWith(bulge float64, a, b orb.Point) (Element, bool) {
	c, r, _, sweep := BulgeArc(a, b, bulge)
	if r == 0 || math.Abs(sweep) >= math.Pi {
		return Element{}, false
	}
	return Element{Arc: true, To: b, Centre: c, CCW: bulge > 0}, true
}

// arcFits checks each vertex of the run and each chord against the arc.
func arcFits(e Element, r run, tol float64) bool {
	prev := r.point(r.lo)
	radius := Dist(prev, e.Centre)
	for i := r.lo + 1; i <= r.hi; i++ {
		pt := r.point(i)
		half := Dist(prev, pt) / 2
		if math.Abs(Dist(pt, e.Centre)-radius) > tol || half > radius {
			return false
		}
		if half*half/(radius+math.Sqrt(radius*radius-half*half)) > tol+FlattenTol {
			return false
		}
		prev = pt
	}
	return true
}
