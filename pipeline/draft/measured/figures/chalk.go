package figures

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/tree"
)

// How a curve is chalked, mm: common practice.
const (
	farthestSwing = 1500.0 // a tape is swung no farther
	besidePiece   = 600.0  // so far beside the piece, but not past a fold, there is cloth from which it is swung
	freehand      = 1.0    // so far from the curve may run a line that is drawn by eye through the places told
	mostOffsets   = 8      // so many places of a curve are told, or those every step, before a person loses count
)

// Swing is an arc told by its centre: the tape is held there and swung.
type Swing struct {
	Radius string  `json:"radius"`
	Point  string  `json:"point,omitempty"` // the drafter's letters of the centre
	Across string  `json:"across"`
	Down   string  `json:"down"`
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	R      float64 `json:"r"`
}

// Offset is a place of a curve told from the straight line between the place where it begins and the next: so far
// along it, and so far outside or, negative, inside it.
type Offset struct {
	Along string  `json:"along"`
	Out   string  `json:"out"`
	L     float64 `json:"l"`
	O     float64 `json:"o"`
}

// stretch is a part of the outline between two places that are told.
type stretch struct {
	curve curve.Curve
	row   markRow
}

// stretches divides an edge at its corners, its lettered points and wherever an arc begins or ends; a curve that turns
// too far for a straight line beside it is divided again.
func stretches(pc *pieces.Piece, ed curve.Edge, named []lettered) []stretch {
	const close = 50 * tiny // lengths along a curve are known so far
	c := ed.Curve
	var cuts []float64
	l := 0.0
	for i := range c {
		if l += c[i].Length(); i+1 < len(c) && !runsOn(c[i], c[i+1]) {
			cuts = append(cuts, l)
		}
	}
	whole := c.Length()
	names := map[int]lettered{}
	at := append([]float64{0}, cuts...)
	for _, q := range named {
		s := curve.NearestOn(c, q.at)
		if s < 0 || geom.Dist(q.at, pointAt(c, s)) > close {
			continue
		}
		if s > whole-close {
			continue // the next edge begins there
		}
		k := 0
		for k < len(at) && at[k] < s-close {
			k++
		}
		if k == len(at) || at[k] > s+close {
			if !q.named(pc, ed.Name) {
				continue
			}
			at = append(at[:k], append([]float64{s}, at[k:]...)...)
			moved := map[int]lettered{}
			for i, n := range names {
				if i >= k {
					i++
				}
				moved[i] = n
			}
			names = moved
		}
		if n := names[k]; n.name != "" {
			q.name, q.at = n.name+" = "+q.name, n.at
		}
		names[k] = q
	}
	at = append(at, whole)
	var out []stretch
	for k := 0; k+1 < len(at); k++ {
		for i, part := range graphs(c.Between(c.PlaceAt(at[k]), c.PlaceAt(at[k+1]))) {
			r := markRow{at: part.Start(), edge: ed.Name, first: k == 0 && i == 0}
			if n, ok := names[k]; ok && i == 0 {
				r.point, r.at = n.name, n.at
			}
			out = append(out, stretch{part, r})
		}
	}
	return out
}

// named tells of a point that lies on an edge whether it is there for it: named in the sentence of the edge. Others are
// helpers, which happen to lie on it.
func (q lettered) named(pc *pieces.Piece, edge string) bool {
	all := pc.Drawing.Scope.Definitions
	switch d, ok := all[edge]; {
	case ok && d.Kind == tree.EdgeKind:
		return d.Names(all[q.name])
	case pc.Panel != nil:
		return pc.Panel.Names(all[q.name])
	}
	return true
}

func pointAt(c curve.Curve, l float64) orb.Point {
	q, _ := c.At(l)
	return q
}

// runsOn tells of two parts of an edge that are told as one: of the same circle, or of a curve without a corner.
func runsOn(a, b curve.Segment) bool {
	if curve.AngleBetween(a.Dir(1), b.Dir(0)) > 1 {
		return false
	}
	straight := func(s curve.Segment) bool { return !s.Cubic && !s.IsArc() }
	if a.IsArc() != b.IsArc() || straight(a) != straight(b) {
		return false
	}
	return !a.IsArc() || geom.Dist(a.Centre, b.Centre) < tiny
}

// graphs divides a curve until each part stays within 70 degrees of the straight line between its ends.
func graphs(c curve.Curve) []curve.Curve {
	if len(c) == 0 {
		return nil
	}
	way := geom.Sub(c.End(), c.Start())
	l := c.Length()
	steep := geom.Norm(way) < tiny
	for k := range 17 {
		_, dir := c.At(l * float64(k) / 16)
		steep = steep || curve.AngleBetween(way, dir) > 70
	}
	if !steep || l < 10*tiny {
		return []curve.Curve{c}
	}
	half := c.PlaceAt(l / 2)
	return append(graphs(c.Between(curve.Place{}, half)), graphs(c.Between(half, curve.Place{Index: len(c) - 1, T: 1}))...)
}

// chalkStretch says how a stretch is drawn from its place to the next: by a straight stroke, by a swing of the tape, or
// past places told from the straight line.
func (m *MarkingOut) chalkStretch(pc *pieces.Piece, s stretch, named []lettered, row *MarkOut) {
	one := s.curve[0]
	switch {
	case one.IsArc():
		row.beside = m.offsets(pc, s.curve)
		if row.Swing = m.swing(pc, one, named); row.Swing == nil {
			row.Offsets = row.beside
		}
	case len(s.curve) > 1 || one.Cubic:
		row.Offsets = m.offsets(pc, s.curve)
	}
}

// swing tells an arc by its centre, where a tape reaches and there is cloth; nil where not.
func (m *MarkingOut) swing(pc *pieces.Piece, s curve.Segment, named []lettered) *Swing {
	mm := pc.Scope.Context.UnitMM
	c := geom.Sub(s.Centre, m.origin)
	spare := besidePiece / mm
	var box orb.Bound
	if len(m.line) > 0 {
		box = geom.Path{Points: m.line}.Bound()
	}
	left := box.Min[0] - spare
	if strings.HasPrefix(m.Across, "the fold") {
		left = box.Min[0] - tiny
	}
	if s.Radius()*mm > farthestSwing || c[0] < left || c[0] > box.Max[0]+spare || c[1] < box.Min[1]-spare || c[1] > box.Max[1]+spare {
		return nil
	}
	out := &Swing{Radius: m.say(s.Radius()), Across: m.say(c[0]), Down: m.say(c[1]), X: c[0], Y: c[1], R: s.Radius()}
	piece := geom.Path{Points: m.line, Closed: true}
	for _, q := range named {
		// A point beside the piece is not in the list of its points.
		if geom.Dist(q.at, s.Centre) < tiny && (piece.Contains(c) || piece.Nearest(c).Dist < 10*tiny) {
			out.Point = q.name
			break
		}
	}
	return out
}

// offsets are the places of a curve, as many as its eye needs: see toldAt.
func (m *MarkingOut) offsets(pc *pieces.Piece, c curve.Curve) []Offset {
	mm := pc.Scope.Context.UnitMM
	a, b := c.Start(), c.End()
	way := geom.Unit(geom.Sub(b, a))
	long := geom.Dist(a, b)
	outward := geom.Left(way)
	if m.turn > 0 { // the outline runs with its inside to the left of the frame
		outward = geom.Mul(outward, -1)
	}
	off := func(l float64) float64 {
		at := c.Meets(geom.Add(a, geom.Mul(way, l)), outward)
		best := math.Inf(1)
		for _, p := range at {
			if o := geom.Dot(outward, geom.Sub(c[p.Index].At(p.T), a)); math.Abs(o) < math.Abs(best) {
				best = o
			}
		}
		if math.IsInf(best, 1) {
			return 0
		}
		return best
	}
	var out []Offset
	at := m.toldAt(off, long, mm)
	for _, l := range at[1 : len(at)-1] {
		o := off(l)
		out = append(out, Offset{m.say(l), m.say(o), l, o})
	}
	if !slices.ContainsFunc(out, func(o Offset) bool { return o.Out != "0" }) {
		return nil // it is straight as far as a tape shows
	}
	return out
}

// toldAt are the places along the straight line at which a curve is told, both ends with them: every step, half-way on
// an edge shorter than two. Where the eye needs more, the worst interval is halved, no finer than a quarter of a step
// or, on a short edge, of the edge, until mostOffsets are told.
func (m *MarkingOut) toldAt(off func(float64) float64, long, mm float64) []float64 {
	step := m.unit.step * m.unit.mm / mm
	least := step / 4
	if long < 2*step {
		step, least = long/2, long/4
	}
	shown := func(l float64) float64 { return m.unit.rounded(l*m.scale) / m.scale }
	at := []float64{0}
	for l := step; l < long-step/4; l += step {
		if s := shown(l); s > 0 && s < long {
			at = append(at, s)
		}
	}
	at = append(at, long)
	for len(at)-2 < mostOffsets {
		worst, most := -1, freehand/mm
		for i, e := range byEye(off, at) {
			if e > most && at[i+1]-at[i] > 1.8*least {
				worst, most = i, e
			}
		}
		if worst < 0 {
			break
		}
		l := shown((at[worst] + at[worst+1]) / 2)
		if l <= at[worst] || l >= at[worst+1] {
			break // the tape shows no place between
		}
		at = slices.Insert(at, worst+1, l)
	}
	return at
}

// byEye is how far a curve lies, in each interval between the places told, from the parabolas through each three places
// in a row.
func byEye(off func(float64) float64, at []float64) []float64 {
	y := make([]float64, len(at))
	for i, l := range at[1 : len(at)-1] {
		y[i+1] = off(l)
	}
	worst := make([]float64, len(at)-1)
	for i := 0; i+2 < len(at); i++ {
		x0, x1, x2 := at[i], at[i+1], at[i+2]
		for k := range 6 {
			j := k / 3
			x := at[i+j] + (at[i+j+1]-at[i+j])*float64(k%3+1)/4
			v := y[i]*(x-x1)*(x-x2)/((x0-x1)*(x0-x2)) + y[i+1]*(x-x0)*(x-x2)/((x1-x0)*(x1-x2)) + y[i+2]*(x-x0)*(x-x1)/((x2-x0)*(x2-x1))
			worst[i+j] = math.Max(worst[i+j], math.Abs(v-off(x)))
		}
	}
	return worst
}

// Reached is the place without the way that leads on from it.
func (r MarkOut) Reached() MarkOut {
	r.Swing, r.Offsets = nil, nil
	return r
}

// Way says how the outline goes on from a place: "" for a straight stroke.
func (r MarkOut) Way() string {
	switch {
	case r.Swing != nil:
		from := cmp.Or(r.Swing.Point, across(r.Swing.Across)+", "+down(r.Swing.Down))
		return "swing " + r.Swing.Radius + " from " + from
	case len(r.Offsets) > 0:
		var words []string
		for _, o := range r.Offsets {
			side := " outside"
			if strings.HasPrefix(o.Out, "-") {
				side = " inside"
			}
			words = append(words, fmt.Sprintf("at %s: %s%s", o.Along, strings.TrimPrefix(o.Out, "-"), side))
		}
		return "curve; from the straight line " + strings.Join(words, ", ")
	}
	return ""
}

// across says a measure across; negative, it lies on the other side of the line from which is measured.
func across(v string) string {
	if beyond, ok := strings.CutPrefix(v, "-"); ok {
		return beyond + " beyond the plumb line"
	}
	return v + " across"
}

// down says a measure down, or up where it is negative.
func down(v string) string {
	if up, ok := strings.CutPrefix(v, "-"); ok {
		return up + " up"
	}
	return v + " down"
}
