package lay

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// unit is what is laid as one: a piece, two that are cut from two layers, or the half of one on the fold.
type unit struct {
	ready []int // indexes of the ready pieces: the one that is laid, and the one below it
	half  bool
	// base maps the piece's coordinates to those of outline, where its grain is along x.
	base    geom.Affine
	outline []orb.Point
	holes   [][]orb.Point
	turns   []float64 // degrees
	group   int
}

// whole is a piece laid in one layer.
func (s *seeker) whole(i int) unit {
	if s.wholes == nil {
		s.wholes = make([]*unit, len(s.ready))
	}
	if s.wholes[i] == nil {
		u := newWhole(s.ready, i, s.m, s.around[s.ready[i].Garment])
		s.wholes[i] = &u
	}
	return *s.wholes[i]
}

func newWhole(ready []pattern.Ready, i int, m pattern.Material, around bool) unit {
	r := &ready[i]
	angle, turns := turnsOf(r, m)
	if around {
		angle += math.Pi
	}
	u := unit{ready: []int{i}, base: geom.Rotate(angle), turns: turns}
	if m.Nap == pattern.NapGarment && m.Cloth && len(m.Turns) == 0 {
		u.group = max(r.Garment, 1)
	}
	if m.FaceDown && m.Cloth { // mirrored about its grain, whose direction stays
		u.base = geom.Affine{A: 1, D: -1}.After(u.base)
	}
	u.outline = reach(r).Apply(u.base).Points
	u.holes = openings(r, u.base)
	return u
}

// reach is the area that a piece takes of the material: its outline, or everything drawn where a mark or a letter is
// outside it. The points of a line are examined only where a corner of its box is outside.
func reach(r *pattern.Ready) geom.Path {
	box, ix := r.Outline.Bound(), (*geom.Index)(nil)
	outside := func(p orb.Point) bool {
		if !box.Contains(p) {
			return true
		}
		if r.Outline.Contains(p) {
			return false
		}
		if ix == nil {
			ix = geom.NewIndex(r.Outline)
		}
		_, near := ix.Nearest(p)
		return near.Dist > 0.05
	}
	var all []orb.Point
	for _, l := range r.Lines {
		if l.Role == pattern.RoleSew || len(l.Path.Points) == 0 {
			continue // a sew line is within its cut line, or the draft was refused
		}
		b := l.Path.Bound()
		corners := []orb.Point{b.Min, {b.Max[0], b.Min[1]}, b.Max, {b.Min[0], b.Max[1]}}
		if slices.ContainsFunc(corners, outside) && slices.ContainsFunc(l.Path.Points, outside) {
			all = append(all, l.Path.Points...)
		}
	}
	if len(all) == 0 {
		return r.Outline
	}
	return geom.Path{Points: hull(append(all, r.Outline.Points...)), Closed: true}
}

// hull is the convex hull, counter-clockwise (Andrew's monotone chain).
func hull(pts []orb.Point) []orb.Point {
	pts = slices.Clone(pts)
	slices.SortFunc(pts, func(a, b orb.Point) int {
		if a[0] != b[0] {
			return sign(a[0] - b[0])
		}
		return sign(a[1] - b[1])
	})
	pts = slices.Compact(pts)
	chain := func(out []orb.Point, p orb.Point, least int) []orb.Point {
		for len(out) >= least && geom.Cross(geom.Sub(out[len(out)-1], out[len(out)-2]), geom.Sub(p, out[len(out)-1])) <= 0 {
			out = out[:len(out)-1]
		}
		return append(out, p)
	}
	var out []orb.Point
	for _, p := range pts {
		out = chain(out, p, 2)
	}
	lower := len(out) + 1
	for i := len(pts) - 2; i >= 0; i-- {
		out = chain(out, pts[i], lower)
	}
	return out[:len(out)-1]
}

func sign(v float64) int {
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}

// turnsOf is the angle in radians that turns a piece's grain along the length, and the allowed turns in degrees from
// there.
func turnsOf(r *pattern.Ready, m pattern.Material) (angle float64, turns []float64) {
	quarters := []float64{0, 90, 180, 270}
	switch {
	case len(m.Turns) > 0:
		return 0, m.Turns
	case !m.Cloth:
		return 0, quarters
	}
	grain, known := orb.Point{0, 1}, false
	if g := r.Grain; g != nil && geom.Dist(g.A, g.B) > geom.Tiny {
		grain, known = geom.Sub(g.B, g.A), true
	}
	angle = -math.Atan2(grain[1], grain[0])
	bias := math.Abs(math.Abs(grain[0])-math.Abs(grain[1])) < 0.0175*geom.Norm(grain)*math.Sqrt2/2
	switch {
	case m.Nap == pattern.NapAll:
		turns = []float64{0}
	case m.Nap == pattern.NapGarment:
		turns = []float64{0, 180}
	case !known || m.QuarterTurns || bias: // a strip on the bias may slant along the cloth or across it
		turns = quarters
	default:
		turns = []float64{0, 180}
	}
	if m.Tilt > 0 && known {
		straight := turns
		turns = nil
		for _, t := range straight {
			turns = append(turns, t, t+m.Tilt, t-m.Tilt)
		}
	}
	return angle, turns
}

// onFold is the half of a piece whose fold is along its grain, with the fold on a folded edge; false where that is not
// possible.
func onFold(ready []pattern.Ready, i int, m pattern.Material, around bool) (unit, bool) {
	r := &ready[i]
	if r.OnFold == nil {
		return unit{}, false
	}
	angle, _ := turnsOf(r, m)
	if around {
		angle += math.Pi
	}
	base := geom.Rotate(angle)
	a, b := base.Apply(r.OnFold.A), base.Apply(r.OnFold.B)
	if math.Abs(a[1]-b[1]) > 1e-6*geom.Dist(a, b) {
		return unit{}, false
	}
	line := r.Outline.Apply(base)
	from, to := nearest(line, a), nearest(line, b)
	if from == to {
		return unit{}, false
	}
	half := arc(line.Points, from, to)
	if middle(half)[1] < a[1] {
		half = arc(line.Points, to, from)
	}
	for k := range half {
		half[k][1] = math.Max(half[k][1], a[1]) // within rounding of the fold
	}
	u := unit{ready: []int{i}, half: true, base: base, outline: above(half, a[1]+m.Gap/2), turns: []float64{0}}
	u.holes = openings(r, base) // an opening across or below the fold is left out, as it is not inside
	return u, true
}

// above is the part above a level of a line that begins and ends on the fold, and is as wide there as the part below.
func above(half []orb.Point, level float64) []orb.Point {
	n := len(half)
	first := slices.IndexFunc(half, func(p orb.Point) bool { return p[1] > level })
	last := n - 1
	for last > first && half[last][1] <= level {
		last--
	}
	if first < 1 || last >= n-1 || last <= first {
		return half
	}
	foot := func(low []orb.Point, in, out orb.Point, left bool) orb.Point {
		x := in[0] + (out[0]-in[0])*(level-in[1])/(out[1]-in[1])
		for _, p := range low {
			if left {
				x = math.Min(x, p[0])
			} else {
				x = math.Max(x, p[0])
			}
		}
		return orb.Point{x, level}
	}
	left := half[0][0] < half[n-1][0]
	out := []orb.Point{foot(half[:first], half[first], half[first-1], left)}
	out = append(out, half[first:last+1]...)
	return append(out, foot(half[last+1:], half[last], half[last+1], !left))
}

func nearest(line geom.Path, p orb.Point) int {
	best := 0
	for i, q := range line.Points {
		if geom.Dist(p, q) < geom.Dist(p, line.Points[best]) {
			best = i
		}
	}
	return best
}

// arc are the points of a ring from one to another.
func arc(ring []orb.Point, from, to int) []orb.Point {
	var out []orb.Point
	for i := from; ; i = (i + 1) % len(ring) {
		out = append(out, ring[i])
		if i == to {
			return out
		}
	}
}

func middle(pts []orb.Point) orb.Point {
	var sum orb.Point
	for _, p := range pts {
		sum = geom.Add(sum, p)
	}
	return geom.Mul(sum, 1/float64(len(pts)))
}

// place adds the unit's pieces to a lay: the one that is laid, and on two layers the one below, mirrored about the
// folded edge. A piece on the fold is added whole, across the folded edge.
func (u *unit) place(at geom.Affine, st *strip, ready []pattern.Ready, l *pattern.Lay) {
	add := func(i int, m geom.Affine) {
		p := pattern.Placement{Ready: i, Map: m}
		p.At, p.RotationDeg, p.Mirrored = inWords(m)
		l.Placements = append(l.Placements, p)
	}
	upper := at.After(u.base)
	add(u.ready[0], upper)
	if len(u.ready) < 2 {
		return
	}
	below := geom.Affine{A: 1, D: -1, F: 2 * st.fold}.After(upper)
	if p := ready[u.ready[0]].Place; p != (geom.Affine{}) {
		below = below.After(p)
	}
	if back, ok := ready[u.ready[1]].Place.Inverse(); ok {
		below = below.After(back)
	}
	add(u.ready[1], below)
}
