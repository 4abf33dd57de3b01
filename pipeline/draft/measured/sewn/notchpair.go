package sewn

import (
	"math"
	"slices"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/pattern"
)

// partnerNotches sets the notches that are told of one side of a seam on the other side too, where nothing
// is told of that one: each as far from the end it is nearer to, so that ease lies between them. Which
// ends meet is told by the edges that cross there; where they do not tell, nothing is set.
func (e *Sewing) partnerNotches(a, b []edgeTimes) {
	if e.halfNotches(a, b) || e.halfNotches(b, a) || e.halvesNotches(a, b) || e.halvesNotches(b, a) {
		return
	}
	once := func(side []edgeTimes) bool {
		return !slices.ContainsFunc(side, func(r edgeTimes) bool { return r.Times != 1 || r.Piece == nil })
	}
	if !once(a) || !once(b) || slices.ContainsFunc(a, func(r edgeTimes) bool {
		return slices.ContainsFunc(b, func(o edgeTimes) bool { return r.Piece == o.Piece && r.Edge == o.Edge })
	}) {
		return
	}
	if len(a) > 1 || len(b) > 1 {
		e.later = append(e.later, func() { e.rowNotches(a, b) })
		return
	}
	from, to := a[0], b[0]
	stated := from.statedNotches()
	if other := to.statedNotches(); len(stated) == 0 {
		from, to, stated = to, from, other
	} else if len(other) > 0 {
		return
	}
	long, there := from.sewn(), to.sewn()
	sameWay, sure := from.sameWay(to)
	if !sure {
		if sameWay, sure = from.plainWay(to, stated, long); !sure {
			return
		}
	}
	for _, n := range stated {
		l := carried(n.Worn, long, there)
		if !sameWay {
			l = there - l
		}
		if l < 0 || l > there {
			continue // so much shorter that it has no such place
		}
		to.add(n, l)
	}
}

// statedNotches are those that the draft tells of an edge, but in what of it is sewn to nothing; Worn is counted from where
// that ends.
func (r edgeTimes) statedNotches() []pieces.Notch {
	var out []pieces.Notch
	hair := r.Piece.Scope.Context.Hair()
	for _, n := range r.Piece.Notches {
		if n.Edge == r.Edge && n.Sentence != nil {
			if n.Worn -= r.Free[0]; n.Worn < -hair || n.Worn > r.sewn()+hair {
				continue
			}
			out = append(out, n)
		}
	}
	return out
}

// sameWay tells whether the start of one edge meets the start of the other; sure is false where the
// edges across do not tell.
func (r edgeTimes) sameWay(o edgeTimes) (same, sure bool) {
	score := alike(r.corners(), o.corners())
	return score > 0, score != 0
}

// plainWay is sameWay of edges whose ends have no names of a garment, of which one is a strip's or a rectangle's. Notches that lie
// alike from both ends fit either way. Else the two are laid face to face, so that one runs back; of a pair both ways occur.
func (r edgeTimes) plainWay(o edgeTimes, stated []pieces.Notch, long float64) (same, sure bool) {
	near := atJoint / r.Piece.Scope.Context.UnitMM
	if !slices.ContainsFunc(stated, func(n pieces.Notch) bool {
		return !slices.ContainsFunc(stated, func(m pieces.Notch) bool { return math.Abs(n.Worn+m.Worn-long) <= near })
	}) {
		return true, true
	}
	return false, (r.Piece.Drawing == nil || o.Piece.Drawing == nil) && !r.Piece.Pair && !o.Piece.Pair
}

// alike is how many of two ends meet the end of the same number with the same kind of edge across, less how many
// meet the other end so.
func alike(a, b [2]cornerOf) (score int) {
	for k, c := range a {
		for m, d := range b {
			switch {
			case c.Cross.Kind() != d.Cross.Kind():
			case k == m:
				score++
			default:
				score--
			}
		}
	}
	return score
}

// row is edges that are sewn in a row, as they are walked: each from its start, or from its end where back is true.
type row struct {
	edges  []edgeTimes
	back   []bool
	starts []float64 // where each begins, and where the last one ends, in the draft's unit
}

func (w row) length() float64 { return w.starts[len(w.edges)] }

// ends are the corners at which the row begins and ends.
func (w row) ends() [2]cornerOf {
	first, last := w.edges[0].corners(), w.edges[len(w.edges)-1].corners()
	from, to := first[0], last[1]
	if w.back[0] {
		from = first[1]
	}
	if w.back[len(w.back)-1] {
		to = last[0]
	}
	return [2]cornerOf{from, to}
}

// mostInRow is of how many edges a row is walked every way.
const mostInRow = 6

// rowOf finds the way in which edges follow one another: on one piece they share a point, on two the edges across are sewn
// together. Where both ends of two edges can meet, as those of a front and a back armhole, they do at the shoulder (common
// practice); sure is false where no way is found, or two.
func (e *Sewing) rowOf(side []edgeTimes) (best row, sure bool) {
	if len(side) > mostInRow {
		return best, false
	}
	most, ways := 0, 1<<len(side)
	if len(side) == 1 {
		ways = 1
	}
	for way := range ways {
		w, score := row{edges: side, starts: []float64{0}}, 1
		for k, r := range side {
			w.back = append(w.back, way>>k&1 == 1)
			w.starts = append(w.starts, w.starts[k]+r.sewn())
			if k > 0 {
				score *= e.meet(side[k-1], w.back[k-1], r, w.back[k])
			}
		}
		if score == most {
			sure = false
		}
		if score > most {
			best, most, sure = w, score, true
		}
	}
	return best, sure
}

// meet weighs the end of one edge, walked backward or not, and the start of the next: 0 where they do not meet.
func (e *Sewing) meet(a edgeTimes, backA bool, b edgeTimes, backB bool) int {
	ends, starts := a.corners(), b.corners()
	end, start := ends[1], starts[0]
	if backA {
		end = ends[0]
	}
	if backB {
		start = starts[1]
	}
	switch {
	case a.Piece == b.Piece:
		if geom.Dist(end.at, start.at) < e.Hair() {
			return 1
		}
	case e.sewnTogether([2]pattern.EdgeRef{{Piece: a.Piece.Name, Edge: end.Cross.Name}, {Piece: b.Piece.Name, Edge: start.Cross.Name}}):
		if end.Cross.Kind() == "shoulder" || start.Cross.Kind() == "shoulder" {
			return 2
		}
		return 1
	}
	return 0
}

// rowNotches sets the notches of one side of a seam on the other where either is edges in a row: each as far from the end, or
// from the joint that both have, to which it is nearer. Where the edges across do not tell which ends meet, two rows are told
// in one order, and one that goes onto a strip from the strip's start.
func (e *Sewing) rowNotches(a, b []edgeTimes) {
	stated := func(side []edgeTimes) bool {
		return slices.ContainsFunc(side, func(r edgeTimes) bool { return len(r.statedNotches()) > 0 })
	}
	if stated(a) == stated(b) {
		return
	}
	if stated(b) {
		a, b = b, a
	}
	from, sureA := e.rowOf(a)
	to, sureB := e.rowOf(b)
	if !sureA || !sureB {
		return
	}
	switch score := alike(from.ends(), to.ends()); {
	case score < 0:
		to = to.reversed()
	case score > 0 || len(a) > 1 && len(b) > 1:
	case len(b) == 1 && b[0].Piece.Drawing == nil:
		to = to.laidFromStart()
	case len(a) == 1 && a[0].Piece.Drawing == nil:
		from = from.laidFromStart()
	default:
		return
	}
	here, there := []float64{0, from.length()}, []float64{0, to.length()}
	if len(a) == len(b) {
		here, there = from.starts, to.starts
	}
	for k, r := range a {
		for _, n := range r.statedNotches() {
			l := n.Worn
			if from.back[k] {
				l = r.sewn() - l
			}
			l += from.starts[k]
			near := 0
			for i := range here {
				if math.Abs(here[i]-l) < math.Abs(here[near]-l) {
					near = i
				}
			}
			to.set(n, there[near]+l-here[near])
		}
	}
}

func (w row) reversed() row {
	out := row{starts: []float64{0}}
	for k := len(w.edges) - 1; k >= 0; k-- {
		out.edges, out.back = append(out.edges, w.edges[k]), append(out.back, !w.back[k])
		out.starts = append(out.starts, w.length()-w.starts[k])
	}
	return out
}

// atJoint is within how many mm of a joint the seam there is the mark.
const atJoint = 2.0

// set marks a notch at a length along the row, but where two pieces of it are joined.
func (w row) set(n pieces.Notch, l float64) {
	for k, r := range w.edges {
		if k > 0 && r.Piece != w.edges[k-1].Piece && math.Abs(l-w.starts[k])*r.Piece.Scope.Context.UnitMM <= atJoint {
			return
		}
	}
	for k, r := range w.edges {
		if l < w.starts[k] || l > w.starts[k+1] {
			continue
		}
		if w.back[k] {
			r.add(n, w.starts[k+1]-l)
		} else {
			r.add(n, l-w.starts[k])
		}
		return
	}
}
