package figures

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Where the wave of gathers or ease and the arrows of a pleat lie, mm: common practice.
const (
	waveInside = 4.0  // so far inside the edge
	waveShort  = 3.0  // it ends so far before the ends of the edge
	waveLeast  = 15.0 // a shorter one is not drawn
	arrowEnds  = 20.0 // so far from the ends of the fold
)

// waves draws along each edge that is gathered or eased into another a line where the two differ.
func waves(p *pattern.Pattern) {
	for _, s := range p.Seams {
		side, label := s.A, "ease line"
		switch {
		case s.Gathered:
			label = "gathering line"
		case s.Ease == 0 || s.Unnotched || s.Lapped: // what a strip is longer is for its ends
			continue
		case s.Ease > 0:
			side = s.B
		}
		for _, ref := range side {
			for i := range p.Pieces {
				if pc := &p.Pieces[i]; pc.Name == ref.Piece {
					waveOn(pc, ref.Edge, label)
				}
			}
		}
	}
}

// waveOn draws a wave along the first edge of a name.
func waveOn(pc *pattern.Piece, edge, label string) {
	line := pc.EdgeLine()
	if line == nil || !pc.EdgesFit() {
		return
	}
	k := -1
	for i, e := range pc.Edges {
		if e.Name == edge && k < 0 {
			k = i
		}
	}
	if k < 0 {
		return
	}
	starts := line.Starts()
	from, to := starts[pc.Edges[k].First], starts[pc.Edges[(k+1)%len(pc.Edges)].First]
	if to <= from {
		to += line.Length()
	}
	var at []float64
	for _, n := range pc.Notches {
		if n.Along == nil || n.Along.Edge != k || n.Along.Worn < 0 { // or of a pleat
			continue
		}
		s := line.Nearest(n.At).S
		if s < from {
			s += line.Length()
		}
		at = append(at, s)
	}
	from, to = between(at, from, to)
	if to-from < waveLeast {
		return
	}
	inside := waveInside
	if line.SignedArea() < 0 {
		inside = -inside
	}
	along := line.Sub(from, to)
	var points []orb.Point
	for i, s := range along.Starts() {
		_, way := along.At(s)
		points = append(points, geom.Add(along.Points[i], geom.Mul(geom.Left(way), inside)))
	}
	pc.Marks = append(pc.Marks, pattern.Mark{Role: pattern.RoleMark, Label: label, Path: geom.Path{Points: points}})
}

// between is the stretch of an edge in which the other edge of its seam is of another length: notches stand as far from the end to
// which they are nearer on both, so it lies between the innermost of either half, or from there to the end. Notches beside one
// another mark one place, and of one place alone the whole edge is meant.
func between(notches []float64, from, to float64) (first, last float64) {
	mid := (from + to) / 2
	first, last = from+waveShort, to-waveShort
	if len(notches) == 0 || slices.Max(notches)-slices.Min(notches) < waveLeast {
		return first, last
	}
	for _, s := range notches {
		switch {
		case math.Abs(s-mid) < waveShort: // both halves differ
		case s < mid:
			first = max(first, s)
		default:
			last = min(last, s)
		}
	}
	return first, last
}

// arrows draws at both ends of each fold of a pleat an arrow to the line that it is laid to: the one that is
// told behind it, else the nearest that belongs to no other, as in an inverted box, else the fold of the
// piece.
func arrows(pc *pattern.Piece) {
	var shared []geom.Path
	outer := func(i int) bool { return i >= 0 && i < len(pc.Marks) && pc.Marks[i].Label == "outer fold" }
	placed := func(i int) bool { return i < len(pc.Marks) && pc.Marks[i].Label == "placement" }
	for i, m := range pc.Marks {
		if placed(i) && !outer(i-1) {
			shared = append(shared, m.Path)
		}
	}
	if len(shared) == 0 && pc.Fold != nil {
		shared = []geom.Path{{Points: []orb.Point{pc.Fold.A, pc.Fold.B}}}
	}
	for i := range pc.Marks {
		if !outer(i) {
			continue
		}
		fold, to := pc.Marks[i].Path, geom.Path{}
		mid, _ := fold.At(fold.Length() / 2)
		if placed(i + 1) {
			to = pc.Marks[i+1].Path
		} else {
			least := math.Inf(1)
			for _, l := range shared {
				if d := l.Nearest(mid).Dist; d < least {
					to, least = l, d
				}
			}
		}
		if len(to.Points) < 2 {
			continue
		}
		long := fold.Length()
		inset := math.Min(arrowEnds, long/4)
		for _, s := range []float64{inset, long - inset} {
			at, _ := fold.At(s)
			if end := to.Nearest(at); end.Dist > geom.CloseTol {
				pc.Marks = append(pc.Marks, pattern.Mark{Role: pattern.RoleMark, Label: "pleat arrow", Path: geom.Path{Points: []orb.Point{at, end.Point}}})
			}
		}
	}
}
