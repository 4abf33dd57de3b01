package pattern

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
)

// Mirrored is the piece in a mirror. Its lines begin where they did, and so run the other way round.
func (p Piece) Mirrored(m geom.Affine) Piece {
	path := func(l geom.Path) geom.Path { return l.Apply(m) }
	if p.Cut != nil {
		cut := path(*p.Cut)
		p.Cut = &cut
	}
	p.Sew, p.Cutouts = each(p.Sew, path), each(p.Cutouts, path)
	p.Edges = each(p.Edges, func(e Edge) Edge { e.Worn = path(e.Worn); return e })
	p.Notches = each(p.Notches, func(n Notch) Notch {
		sin, cos := math.Sincos(n.AngleDeg * math.Pi / 180)
		v := m.Vector(orb.Point{cos, sin})
		n.At, n.AngleDeg = m.Apply(n.At), math.Atan2(v[1], v[0])*180/math.Pi
		return n
	})
	p.Darts = each(p.Darts, func(d Dart) Dart { d.A, d.Apex, d.B = m.Apply(d.A), m.Apply(d.Apex), m.Apply(d.B); return d })
	p.Drills = each(p.Drills, func(d Drill) Drill { d.At = m.Apply(d.At); return d })
	p.Marks = each(p.Marks, func(k Mark) Mark { k.Path = path(k.Path); return k })
	label := func(l Label) Label { l.At = m.Apply(l.At); return l }
	p.Labels, p.Points = each(p.Labels, label), each(p.Points, label)
	p.Grain, p.Fold, p.Second = p.Grain.in(m), p.Fold.in(m), p.Second.in(m)
	return p
}

func each[T any](all []T, do func(T) T) []T {
	var out []T
	for _, x := range all {
		out = append(out, do(x))
	}
	return out
}

func (s *Segment) in(m geom.Affine) *Segment {
	if s == nil {
		return nil
	}
	return &Segment{A: m.Apply(s.A), B: m.Apply(s.B)}
}

// half is a piece that is drawn to a fold: its line from fold to fold, and which of its edges lies on the fold.
type half struct {
	*Piece
	line geom.Path
	fold int
}

// halfOf gives a half; false where the fold is no single edge.
func halfOf(p *Piece) (half, bool) {
	line, h := p.EdgeLine(), half{Piece: p, fold: -1}
	if line == nil || !p.EdgesFit() {
		return h, false
	}
	for i, e := range p.Edges {
		if e.Fold && h.fold >= 0 {
			return h, false
		}
		if e.Fold {
			h.fold = i
		}
	}
	if h.fold < 0 {
		return h, false
	}
	for k := range h.along(h.fold) + 1 {
		i := (h.start() + k) % len(line.Points)
		h.line.Points, h.line.Corners = append(h.line.Points, line.Points[i]), append(h.line.Corners, line.Corner(i))
	}
	return h, true
}

// start is the vertex at which the fold ends and the line of the half begins.
func (h half) start() int { return h.Edges[(h.fold+1)%len(h.Edges)].First }

// along is at which vertex of the half's line an edge begins.
func (h half) along(edge int) int {
	n := len(h.EdgeLine().Points)
	return (h.Edges[edge].First - h.start() + n) % n
}

// worn is how long an edge is as it is sewn.
func (h half) worn(edge int) float64 {
	if w := h.Edges[edge].Worn; len(w.Points) > 0 {
		return w.Length()
	}
	end := len(h.line.Points) - 1
	if next := (edge + 1) % len(h.Edges); next != h.fold {
		end = h.along(next)
	}
	return (geom.Path{Points: h.line.Points[h.along(edge) : end+1]}).Length()
}

// Opened joins two unlike halves of a piece at their folds: one as it is drawn, and the other's mirror image, whose edges begin
// with the two words. off is by how many mm the halves' folds do not meet; ok is false where either is no half.
func Opened(a, b Piece, asDrawn, mirrored string) (whole Piece, off float64, ok bool) {
	fold := a.FoldLine()
	if fold == nil || a.Second != nil || b.Second != nil {
		return a, 0, false
	}
	b = b.Mirrored(geom.MirrorLine(fold.A, fold.B))
	one, is := halfOf(&a)
	other, also := halfOf(&b)
	if !is || !also {
		return a, 0, false
	}
	p, q := one.line, other.line
	m, n := len(p.Points)-1, len(q.Points)-1
	off = math.Max(geom.Dist(p.Points[0], q.Points[0]), geom.Dist(p.Points[m], q.Points[n]))
	line := geom.Path{Closed: true, Points: append([]orb.Point(nil), p.Points...), Corners: append([]bool(nil), p.Corners...)}
	for i := n - 1; i > 0; i-- {
		line.Points, line.Corners = append(line.Points, q.Points[i]), append(line.Corners, q.Corners[i])
	}
	line.Corners[0], line.Corners[m] = bent(line, 0), bent(line, m)

	whole = a
	whole.Edges, whole.Notches = nil, nil
	whole.Fold, whole.Pair = nil, a.Quantity%2 == 0 && !a.Alike
	k := len(a.Edges)
	for i := 1; i < k; i++ {
		e := a.Edges[(one.fold+i)%k]
		e.First, e.Name = one.along((one.fold+i)%k), asDrawn+" "+e.Name
		if i == 1 {
			e.Corner, e.SewnFirst = offset.Mitred, false // that with the fold
		}
		whole.Edges = append(whole.Edges, e)
	}
	l := len(b.Edges)
	for i := 1; i < l; i++ {
		at := (other.fold - i + l) % l
		e, next := b.Edges[at], (at+1)%l
		e.Name = mirrored + " " + e.Name
		end := n
		e.Corner, e.SewnFirst = offset.Mitred, false
		if next != other.fold {
			end = other.along(next)
			e.Corner, e.SewnFirst = b.Edges[next].Corner, !b.Edges[next].SewnFirst
		}
		e.First = m + n - end
		e.Worn = e.Worn.Reversed()
		if w := e.Allowance; w != nil {
			e.Allowance = &Width{From: w.To, To: w.From}
		}
		whole.Edges = append(whole.Edges, e)
	}
	if a.Cut != nil && a.EdgeLine() == a.Cut {
		whole.Cut = &line
	} else {
		whole.Sew = []geom.Path{line}
	}
	way := geom.Unit(geom.Sub(fold.B, fold.A))
	onFold := func(at orb.Point) bool { // or past its ends: what begins on the cut line begins beyond the sew line
		return math.Abs(geom.Cross(way, geom.Sub(at, fold.A))) < foldTol
	}
	offFold := func(l geom.Path) bool {
		return slices.ContainsFunc(l.Points, func(at orb.Point) bool { return !onFold(at) })
	}
	for _, x := range a.Notches {
		if w := x.Along; w != nil && w.Edge == one.fold {
			x.Along = nil
		} else if w != nil {
			x.Along = &Along{Edge: (w.Edge - one.fold - 1 + k) % k, Worn: w.Worn, Words: w.Words}
		}
		whole.Notches = append(whole.Notches, x)
	}
	for _, x := range b.Notches {
		if onFold(x.At) {
			continue
		}
		if w := x.Along; w != nil {
			along := Along{Edge: k - 1 + (other.fold-1-w.Edge+l)%l, Worn: w.Worn, Words: w.Words}
			if w.Worn >= 0 {
				along.Worn = math.Max(0, other.worn(w.Edge)-w.Worn) // the curve is longer than its chords
			}
			x.Along = &along
		}
		whole.Notches = append(whole.Notches, x)
	}
	whole.Darts = append(append([]Dart(nil), a.Darts...), b.Darts...)
	whole.Cutouts = append([]geom.Path(nil), a.Cutouts...)
	for _, c := range b.Cutouts {
		if offFold(c) {
			whole.Cutouts = append(whole.Cutouts, c)
		}
	}
	whole.Drills, whole.Marks = append([]Drill(nil), a.Drills...), append([]Mark(nil), a.Marks...)
	for _, d := range b.Drills {
		if !onFold(d.At) {
			whole.Drills = append(whole.Drills, d)
		}
	}
	for _, k := range b.Marks {
		if offFold(k.Path) {
			whole.Marks = append(whole.Marks, k)
		}
	}
	whole.Labels, whole.Points = append([]Label(nil), a.Labels...), append([]Label(nil), a.Points...)
	for _, l := range b.Points {
		if !onFold(l.At) {
			whole.Points = append(whole.Points, l)
		}
	}
	for _, l := range b.Labels {
		if !onFold(l.At) {
			whole.Labels = append(whole.Labels, l)
		}
	}
	return whole, off, true
}

// bent tells whether a closed line breaks at a vertex, by more than chords of a curve do.
func bent(l geom.Path, i int) bool {
	n := len(l.Points)
	in, out := geom.Sub(l.Points[i], l.Points[(i+n-1)%n]), geom.Sub(l.Points[(i+1)%n], l.Points[i])
	return math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out))) > 8*math.Pi/180
}
