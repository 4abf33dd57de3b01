package prepare

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// part gives of an opened-out piece the half that is laid on the fold, or the quarter that is laid on two, with its
// lines; a notch or a mark that crosses a fold ends there. The drawn part tells which side it is.
func (m *maker) part(sh sheet, drawn flat) (sheet, error) {
	out := sh
	out.onFold = nil
	out.outline, out.edgeOf = geom.Path{}, nil
	line := drawn
	var on []pattern.Segment
	for _, fold := range m.piece.Folds() {
		u := newUnfolder(fold)
		runs := pattern.OffFold(line.outline, &fold)
		if len(runs) != 1 || runs[0].Closed || len(runs[0].Points) < 3 {
			return sh, fmt.Errorf("the opened-out piece has no half that could be drawn")
		}
		run, names := u.half(line, runs[0])
		n := len(run.Points)
		on = append(on, pattern.Segment{A: run.Points[n-1], B: run.Points[0]})
		run.Closed, run.Corners[0], run.Corners[n-1] = true, true, true
		line.outline, line.edgeOf = run, append(names, "fold")
	}
	out.outline, out.edgeOf, out.fold = line.outline, line.edgeOf, &on[0]
	sides := []side{newSide(on[0].A, on[0].B, out.outline)}
	if len(on) > 1 {
		out.second = &on[1]
		sides = append(sides, newSide(on[1].A, on[1].B, out.outline))
	}
	out.lines = nil
	for _, l := range sh.lines {
		paths := []geom.Path{l.Path}
		for _, s := range sides {
			var kept []geom.Path
			for _, p := range paths {
				kept = append(kept, s.of(p)...)
			}
			paths = kept
		}
		for _, p := range paths {
			l.Path = p
			out.lines = append(out.lines, l)
		}
	}
	out.inner = within(out.outline, drawn.sew)
	if out.labels != nil {
		out.labels = m.piece.Labels
	}
	for _, f := range on {
		for _, p := range bracket(f.A, f.B, out.outline) {
			out.lines = append(out.lines, pattern.Line{Role: pattern.RoleFold, Label: look.BracketLabel, Path: p})
		}
	}
	return out, nil
}

// side is a half-plane, with its line.
type side struct {
	at, inward orb.Point
}

// newSide is the side of a line from a to b on which a closed line lies.
func newSide(a, b orb.Point, of geom.Path) side {
	in := geom.Left(geom.Unit(geom.Sub(b, a)))
	far := 0.0
	for _, p := range of.Points {
		if d := geom.Dot(in, geom.Sub(p, a)); math.Abs(d) > math.Abs(far) {
			far = d
		}
	}
	if far < 0 {
		in = geom.Mul(in, -1)
	}
	return side{a, in}
}

// depth is how far a point is inside, mm.
func (s side) depth(p orb.Point) float64 { return geom.Dot(s.inward, geom.Sub(p, s.at)) }

// onLine is the distance up to which a point counts as on the line, mm.
const onLine = 1e-6

// of gives the parts of a path on this side. A path that does not cross the line is not changed.
func (s side) of(p geom.Path) []geom.Path {
	if !slices.ContainsFunc(p.Points, func(q orb.Point) bool { return s.depth(q) < -onLine }) {
		return []geom.Path{p}
	}
	n := len(p.Points)
	first := 0
	if p.Closed { // start outside, so that no part crosses the start
		first = slices.IndexFunc(p.Points, func(q orb.Point) bool { return s.depth(q) < -onLine })
	}
	var out []geom.Path
	var run geom.Path
	end := func() {
		if len(run.Points) > 1 {
			out = append(out, run)
		}
		run = geom.Path{}
	}
	add := func(q orb.Point, corner bool) {
		if k := len(run.Points); k > 0 && geom.Dist(run.Points[k-1], q) < onLine {
			return
		}
		run.Points, run.Corners = append(run.Points, q), append(run.Corners, corner)
	}
	steps := p.Segments()
	for k := range steps + 1 {
		i := (first + k) % n
		q := p.Points[i]
		d := s.depth(q)
		if k > 0 {
			before := p.Points[(i+n-1)%n]
			if e := s.depth(before); e < -onLine && d > onLine || e > onLine && d < -onLine {
				add(geom.Lerp(before, q, e/(e-d)), true)
			}
		}
		if d < -onLine {
			end()
			continue
		}
		add(q, p.Corner(i))
	}
	end()
	return out
}

// bracketDeep are the distances tried of the fold's bracket from the fold, mm, bracketFrom the share of the fold at
// which its arms are.
var bracketDeep = []float64{20, 12, 6}

const bracketFrom = 0.2

// bracket is the trade's sign for an edge on the fold: a line inside the piece whose two arms end in arrow heads on
// the fold. It is empty where the piece is too small.
func bracket(a, b orb.Point, outline geom.Path) []geom.Path {
	in := newSide(a, b, outline).inward
	from, to := geom.Lerp(a, b, bracketFrom), geom.Lerp(a, b, 1-bracketFrom)
	for _, deep := range bracketDeep {
		p, q := geom.Add(from, geom.Mul(in, deep)), geom.Add(to, geom.Mul(in, deep))
		if geom.Dist(p, q) < deep || !clearOf(outline, p, q, deep/2) {
			continue
		}
		return []geom.Path{sharp(from, p, q, to), head(p, from), head(q, to)}
	}
	return nil
}

// clearOf reports whether a straight line is inside an outline with at least a distance from it.
func clearOf(outline geom.Path, p, q orb.Point, room float64) bool {
	ix := geom.NewIndex(outline)
	const looks = 32
	for k := range looks + 1 {
		at := geom.Lerp(p, q, float64(k)/looks)
		if _, near := ix.Nearest(at); near.Dist < room || !outline.Contains(at) {
			return false
		}
	}
	return true
}
