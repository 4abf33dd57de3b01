package prepare

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/pattern"
)

// whole is a piece opened out, with its lines on both halves.
type whole struct {
	flat
	fold *pattern.Segment // the piece's line of symmetry
	// folds are the parts of the fold on the piece, on both sides of an opening.
	folds []geom.Path
	// openings are cut lines inside the outline, as of a circle of cloth folded twice. They are clockwise, so that the
	// piece is on their left too.
	openings []geom.Path

	marks   []pattern.Mark
	cutouts []geom.Path
	notches []pattern.Notch
	drills  []pattern.Drill
	labels  []pattern.Label
}

// unfold opens the piece out at its fold, and a quarter at both folds: the outline without the fold edge and its
// mirror image make the whole; everything is doubled except what is on the fold. A piece without a fold is not
// changed.
func (m *maker) unfold(f flat) (whole, error) {
	pc := &m.piece
	w := whole{flat: f, marks: pc.Marks, cutouts: pc.Cutouts, notches: pc.Notches, drills: pc.Drills, labels: pc.Labels}
	fold := pc.FoldLine()
	if fold == nil {
		return w, nil
	}
	u := newUnfolder(*fold)
	if pc.Second == nil {
		return w.openedAt(u)
	}
	v := newUnfolder(*pc.Second)
	first, second := v.line(lineOf(u.across(f.outline))), u.line(lineOf(v.across(f.outline)))
	w, err := w.openedAt(u)
	if err != nil {
		return w, err
	}
	v = newUnfolder(*v.across(w.outline)) // there the piece is on both sides of an opening
	v.twice = true
	if w, err = w.openedAt(v); err != nil {
		return w, err
	}
	w.fold, w.folds = u.across(w.outline), append(first, second...)
	return w, nil
}

func lineOf(s *pattern.Segment) geom.Path { return sharp(s.A, s.B) }

// openedAt is a piece with its mirror image in a fold.
func (w whole) openedAt(u unfolder) (whole, error) {
	out := whole{flat: w.flat}
	var err error
	if out.outline, out.edgeOf, out.openings, err = u.outline(w.flat); err != nil {
		return w, err
	}
	out.sew = nil
	for _, s := range w.sew {
		out.sew = append(out.sew, u.line(s)...)
	}
	out.fold = u.across(out.outline)
	out.folds = []geom.Path{lineOf(out.fold)}
	for _, mk := range w.marks {
		for _, l := range u.line(mk.Path) {
			out.marks = append(out.marks, pattern.Mark{Role: mk.Role, Path: l, Label: mk.Label})
		}
	}
	for _, c := range w.cutouts {
		out.cutouts = append(out.cutouts, u.line(c)...)
	}
	out.notches, out.drills, out.labels = u.notches(w.notches), u.drills(w.drills), u.labels(w.labels)
	return out, nil
}

// unfolder mirrors in a fold.
type unfolder struct {
	fold   pattern.Segment
	mirror geom.Affine
	// twice means that the piece may be on the fold at two edges, with an opening between.
	twice bool
}

func newUnfolder(fold pattern.Segment) unfolder {
	return unfolder{fold: fold, mirror: geom.MirrorLine(fold.A, fold.B)}
}

// onFold is the distance up to which a thing counts as on the fold, in mm.
const onFold = 0.5

// distance is the distance of a point from the fold line, extended: a built cut line ends beyond the drawn fold.
func (u unfolder) distance(p orb.Point) float64 {
	dir := geom.Unit(geom.Sub(u.fold.B, u.fold.A))
	return math.Abs(geom.Cross(dir, geom.Sub(p, u.fold.A)))
}

// toFold moves a point that should be on the fold exactly onto it, so that both halves meet.
func (u unfolder) toFold(p orb.Point) orb.Point { return geom.Lerp(p, u.mirror.Apply(p), 0.5) }

// outline is the cut line opened out, with the edges of its segments, and the opening of a piece with two edges on one
// fold line.
func (u unfolder) outline(f flat) (out geom.Path, names []string, openings []geom.Path, err error) {
	several := fmt.Errorf("the fold line lies on no edge of the piece, or on several; draw it along one straight edge")
	runs := pattern.OffFold(f.outline, &u.fold)
	if len(runs) != 1 && !(u.twice && len(runs) == 2) {
		return out, nil, nil, several
	}
	for _, r := range runs {
		if r.Closed || len(r.Points) < 3 {
			return out, nil, nil, several
		}
		ring, of := u.opened(f, r)
		if ring.SelfCrossings(1) != nil {
			return ring, nil, nil, fmt.Errorf("opened out, the piece lies on itself: a part of it reaches over the fold line")
		}
		if out.Points == nil {
			out, names = ring, of
			continue
		}
		if ring.Area() > out.Area() {
			out, names, ring = ring, of, out
		}
		if !out.Contains(ring.Points[0]) {
			return out, nil, nil, several // it would be in several parts
		}
		openings = append(openings, ring)
	}
	if len(openings) > 0 {
		out, names = ccw(out, names)
		if openings[0].SignedArea() > 0 {
			openings[0] = openings[0].Reversed()
		}
	}
	return out, names, openings, nil
}

// half is a run of the outline from fold to fold, with the edges of its segments.
func (u unfolder) half(f flat, run geom.Path) (geom.Path, []string) {
	run = u.trim(run)
	n := len(run.Points)
	run.Points[0], run.Points[n-1] = u.toFold(run.Points[0]), u.toFold(run.Points[n-1])
	return run, u.namesOf(f, run)
}

// opened closes a run of the outline with its mirror image.
func (u unfolder) opened(f flat, run geom.Path) (geom.Path, []string) {
	run, names := u.half(f, run)
	n := len(run.Points)
	out := geom.Path{Closed: true, Points: run.Points, Corners: run.Corners}
	for i := n - 2; i >= 1; i-- {
		out.Points = append(out.Points, u.mirror.Apply(run.Points[i]))
		out.Corners = append(out.Corners, run.Corner(i))
	}
	for i := len(names) - 1; i >= 0; i-- {
		names = append(names, names[i])
	}
	out.Corners[0], out.Corners[n-1] = bends(out, 0), bends(out, n-1)
	return out, names
}

// trim removes the ends of a run that are on the fold line: a turning built at the end of the fold lengthens it there.
func (u unfolder) trim(run geom.Path) geom.Path {
	long, first, last := u.long(), 0, len(run.Points)-1
	for last-first > 2 && long.Holds(run.Points[first], run.Points[first+1]) {
		first++
	}
	for last-first > 2 && long.Holds(run.Points[last-1], run.Points[last]) {
		last--
	}
	run.Points = run.Points[first : last+1]
	if run.Corners != nil {
		run.Corners = run.Corners[first : last+1]
	}
	return run
}

// long is the fold line, extended to both sides.
func (u unfolder) long() pattern.Segment {
	dir := geom.Mul(geom.Unit(geom.Sub(u.fold.B, u.fold.A)), 200)
	return pattern.Segment{A: geom.Sub(u.fold.A, dir), B: geom.Add(u.fold.B, dir)}
}

// namesOf finds the edge names of a run of the outline by its start.
func (u unfolder) namesOf(f flat, run geom.Path) []string {
	start := 0
	for i, p := range f.outline.Points {
		if geom.Dist(p, run.Points[0]) < geom.Dist(f.outline.Points[start], run.Points[0]) {
			start = i
		}
	}
	names := make([]string, run.Segments())
	for i := range names {
		names[i] = f.edgeOf[(start+i)%len(f.edgeOf)]
	}
	return names
}

// bends reports whether the outline has a corner at a vertex on the fold: a neck perpendicular to the fold is smooth,
// a V is not. Between chords that are drawn as corners it has one too, unless it is straight.
func bends(p geom.Path, i int) bool {
	n := len(p.Points)
	before, after := (i+n-1)%n, (i+1)%n
	in, out := geom.Sub(p.Points[i], p.Points[before]), geom.Sub(p.Points[after], p.Points[i])
	turn := math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out)))
	smooth := !p.Corner(before) && !p.Corner(after)
	return turn > 8*math.Pi/180 || turn > 1e-6 && !smooth
}

// line opens out one line: with both ends on the fold it becomes closed, with one it continues into its mirror image,
// with none it is doubled. A line on the fold, or one that is its own mirror image, is not doubled.
func (u unfolder) line(p geom.Path) []geom.Path {
	if u.own(p) {
		return []geom.Path{p}
	}
	long := u.long()
	runs := pattern.OffFold(p, &long)
	if len(runs) == 0 {
		return []geom.Path{p}
	}
	var out []geom.Path
	for _, run := range runs {
		out = append(out, u.run(run)...)
	}
	return out
}

func (u unfolder) run(run geom.Path) []geom.Path {
	n := len(run.Points)
	image := run.Apply(u.mirror)
	if run.Closed || n < 2 {
		return []geom.Path{run, image.Reversed()}
	}
	head, tail := u.distance(run.Points[0]) <= onFold, u.distance(run.Points[n-1]) <= onFold
	switch {
	case head && tail:
		out := joinAt(run, image.Reversed(), u)
		out.Points, out.Corners = out.Points[:len(out.Points)-1], cornersTo(out.Corners, len(out.Points)-1)
		out.Points[0] = u.toFold(out.Points[0])
		out.Closed = true
		return []geom.Path{out}
	case tail:
		return []geom.Path{joinAt(run, image.Reversed(), u)}
	case head:
		return []geom.Path{joinAt(image.Reversed(), run, u)}
	}
	return []geom.Path{run, image} // each leg of a dart still ends at its tip
}

func cornersTo(c []bool, n int) []bool {
	if c == nil {
		return nil
	}
	return c[:n]
}

// joinAt joins a and b, which begins where a ends, on the fold.
func joinAt(a, b geom.Path, u unfolder) geom.Path {
	out := a.Clone()
	n := len(out.Points)
	out.Points[n-1] = u.toFold(out.Points[n-1])
	out.Points = append(out.Points, b.Points[1:]...)
	if a.Corners != nil {
		out.Corners = append(out.Corners, b.Corners[1:]...)
		out.Corners[n-1] = bends(out, n-1)
	}
	return out
}

// own reports whether a line is its own mirror image, drawn across the fold.
func (u unfolder) own(p geom.Path) bool {
	if len(p.Points) == 0 {
		return false
	}
	b, m := p.Bound(), p.Apply(u.mirror).Bound()
	return geom.Dist(b.Min, m.Min) <= onFold && geom.Dist(b.Max, m.Max) <= onFold
}

// across is the fold line from edge to edge of the opened-out piece.
func (u unfolder) across(outline geom.Path) *pattern.Segment {
	dir := geom.Unit(geom.Sub(u.fold.B, u.fold.A))
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range outline.Points {
		if u.distance(p) < geom.CloseTol {
			s := geom.Dot(dir, geom.Sub(p, u.fold.A))
			lo, hi = math.Min(lo, s), math.Max(hi, s)
		}
	}
	if hi <= lo {
		return &pattern.Segment{A: u.fold.A, B: u.fold.B}
	}
	return &pattern.Segment{A: geom.Add(u.fold.A, geom.Mul(dir, lo)), B: geom.Add(u.fold.A, geom.Mul(dir, hi))}
}

func (u unfolder) notches(in []pattern.Notch) []pattern.Notch {
	out := append([]pattern.Notch(nil), in...)
	for _, n := range in {
		if u.distance(n.At) <= onFold {
			continue
		}
		n.At = u.mirror.Apply(n.At)
		n.AngleDeg = u.angle(n.AngleDeg)
		out = append(out, n)
	}
	return out
}

func (u unfolder) angle(deg float64) float64 {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	v := u.mirror.Vector(orb.Point{cos, sin})
	return math.Atan2(v[1], v[0]) * 180 / math.Pi
}

func (u unfolder) drills(in []pattern.Drill) []pattern.Drill {
	out := append([]pattern.Drill(nil), in...)
	for _, d := range in {
		if u.distance(d.At) > onFold {
			d.At = u.mirror.Apply(d.At)
			out = append(out, d)
		}
	}
	return out
}

// labels are mirrored in place only: the mirrored one is readable, so it ends where the mirror image of the original's
// beginning is.
func (u unfolder) labels(in []pattern.Label) []pattern.Label {
	out := append([]pattern.Label(nil), in...)
	for _, l := range in {
		if u.distance(l.At) <= onFold {
			continue
		}
		sin, cos := math.Sincos(l.AngleDeg * math.Pi / 180)
		reading := orb.Point{cos, sin}
		at := u.mirror.Apply(l.At)
		if back := u.mirror.Vector(reading); geom.Dot(back, reading) < 0 {
			at = geom.Sub(at, geom.Mul(reading, letters.Width(l.Text, labelHeight(l))))
		}
		l.At = at
		out = append(out, l)
	}
	return out
}
