package figures

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

// Pattern makes the types that travel of what was drawn: mm, y up, curves flattened once.
func Pattern(e *sewn.Sewing) *pattern.Pattern {
	out := &pattern.Pattern{Source: e.Document.Name, Format: "measured", Unit: e.Unit, Findings: e.Findings, Seams: e.Seams, Corners: e.Corners, Cloths: e.Cloths}
	if en, ok := e.Sections["style"]; ok {
		out.Style = e.Text(en)
	}
	if en, ok := e.Sections["bodies"]; ok {
		for _, b := range e.Entries(en.Node) {
			out.Bodies = append(out.Bodies, b.Key)
		}
	}
	var card []string
	if en, ok := e.Sections["wearer"]; ok && en.Sentence != nil {
		card = append(card, strings.TrimSpace(en.Node.Value))
	}
	if dates := e.Fittings(); dates != "" {
		out.Fitted = "fitted " + dates
		card = append(card, out.Fitted)
	}
	if e.Toile { // it is told wherever the style is
		out.Style = cmp.Or(out.Style, pattern.TrimYAML(out.Source)) + ", toile"
		card = append(card, "toile")
	}
	left, at := map[string]bool{}, make([]int, len(e.Pieces))
	for i, pc := range e.Pieces {
		if at[i] = len(out.Pieces); e.Toile && !pc.OfToile() {
			left[pc.Name], at[i] = true, -1
			continue
		}
		q := onePiece(e, pc)
		q.Card = card
		out.Pieces = append(out.Pieces, q)
	}
	if len(left) > 0 {
		withoutLeft(out, at)
	}
	of := func(r pattern.EdgeRef) bool { return left[r.Piece] }
	out.Seams = slices.DeleteFunc(slices.Clone(out.Seams), func(s pattern.Seam) bool { return slices.ContainsFunc(append(slices.Clone(s.A), s.B...), of) })
	waves(out)
	return out
}

// withoutLeft drops the corners of pieces that are left out, and counts the others anew; at is where each piece is now,
// -1 for nowhere.
func withoutLeft(p *pattern.Pattern, at []int) {
	p.Corners = slices.DeleteFunc(slices.Clone(p.Corners), func(c pattern.Corner) bool { return c.Index >= 0 && at[c.Index] < 0 })
	for i := range p.Corners {
		if c := &p.Corners[i]; c.Index >= 0 {
			c.Index = at[c.Index]
		}
	}
	p.Findings = slices.DeleteFunc(slices.Clone(p.Findings), func(f pattern.Finding) bool { return f.Index >= 0 && at[f.Index] < 0 })
	for i := range p.Findings {
		if f := &p.Findings[i]; f.Index >= 0 {
			f.Index = at[f.Index]
		}
	}
}

func onePiece(e *sewn.Sewing, pc *pieces.Piece) pattern.Piece {
	q := pattern.Piece{Name: pc.Name, Named: true, Size: e.Body, Quantity: pc.Quantity, Pair: pc.Pair, Alike: pc.Alike,
		Material: pc.Material, Note: pc.Note, Labels: pc.Texts}
	line, firsts := e.Flatten(pc.Edges)
	q.Edges = slices.Grow(q.Edges, len(pc.Edges))
	for i, ed := range pc.Edges {
		out := edgeOf(pc, i, ed, firsts[i])
		if math.Abs(pc.WornLength(i)-ed.Curve.Length()) > e.Hair() {
			out.Worn = wornPath(pc, i)
		}
		q.Edges = append(q.Edges, out)
		if ed.Fold {
			f := &pattern.Segment{A: e.ToMM(ed.Curve.Start()), B: e.ToMM(ed.Curve.End())}
			if q.Second = q.Fold; !pc.Twice {
				q.Second = nil
			}
			q.Fold = f
		}
	}
	if pc.Included {
		q.Cut, q.CutSaid, q.Included = &line, true, true
	} else {
		q.Sew = []geom.Path{line}
	}
	for _, m := range pc.Marks {
		if m.Cut {
			q.Cutouts = append(q.Cutouts, geom.Path{Points: []orb.Point{e.ToMM(m.From), e.ToMM(m.To)}})
			continue
		}
		line := []orb.Point{e.ToMM(m.From), e.ToMM(m.To)}
		if len(m.Path) > 0 {
			line = line[:0]
			for _, at := range m.Path {
				line = append(line, e.ToMM(at))
			}
		}
		q.Marks = append(q.Marks, pattern.Mark{Role: pattern.RoleMark, Label: m.Name, Path: geom.Path{Points: line}})
	}
	dartLines(pc, q.Marks)
	arrows(&q)
	if pc.Form != nil {
		for _, t := range pc.Form.Darts {
			at := func(q orb.Point) orb.Point { return e.ToMM(pc.Open.Flat(q)) }
			q.Darts = append(q.Darts, pattern.Dart{Name: t.Name, A: at(t.LegA), Apex: at(t.Apex), B: at(t.LegB), Line: t.Sentence.Line, Column: t.Sentence.Column})
		}
	}
	for _, d := range pc.Drills {
		q.Drills = append(q.Drills, pattern.Drill{At: e.ToMM(d)})
	}
	lettered := letters(pc)
	q.Points = slices.Grow(q.Points, len(lettered))
	for _, l := range lettered {
		q.Points = append(q.Points, pattern.Label{At: e.ToMM(l.at), Text: l.name, Line: lineOf(pc, l.name)})
	}
	for _, n := range pc.Notches {
		m := n.Made(pc)
		m.OnSew = !pc.Included
		m.Along = along(pc, n, q.Points)
		q.Notches = append(q.Notches, m)
	}
	q.Grain = grainOf(line, pc.Grain)
	if alongGrain := func(s *pattern.Segment) bool {
		return s != nil && q.Grain != nil && math.Abs(geom.Cross(geom.Unit(geom.Sub(s.B, s.A)), geom.Unit(geom.Sub(q.Grain.B, q.Grain.A)))) < 0.5
	}; alongGrain(q.Second) && !alongGrain(q.Fold) {
		q.Fold, q.Second = q.Second, q.Fold // cloth is folded along its length
	}
	return q
}

// dartLines says of each leg of a dart where the draft tells the dart: legs are marked in its order, two of a dart at
// an edge or of a fold, and four of one inside the piece.
func dartLines(pc *pieces.Piece, marks []pattern.Mark) {
	if pc.Form == nil {
		return
	}
	var lines []int
	for _, t := range pc.Form.Darts {
		if t.Stitched {
			continue
		}
		lines = append(lines, t.Sentence.Line, t.Sentence.Line)
	}
	for _, t := range pc.Form.Inside {
		lines = append(lines, t.ToldAt(), t.ToldAt(), t.ToldAt(), t.ToldAt())
	}
	for _, f := range pc.Form.Folds {
		lines = append(lines, f.Line, f.Line)
	}
	for i := range marks {
		if len(lines) > 0 && marks[i].Label == "dart leg" {
			marks[i].Line, lines = lines[0], lines[1:]
		}
	}
}

// lineOf is where the draft says a point or an edge of a piece's drawing, 0 where it is no sentence of the draft.
func lineOf(pc *pieces.Piece, name string) int {
	if pc.Drawing == nil {
		return 0
	}
	d, ok := pc.Drawing.Scope.Definitions[name]
	if !ok || d.Sentence == nil || d.Sentence.File != pc.Scope.Context.Document.Name {
		return 0
	}
	return d.Line
}

// wornPath is an edge as it is sewn; of the mouth of a dart nothing but where it begins.
func wornPath(pc *pieces.Piece, i int) geom.Path {
	e := pc.Scope.Context
	out := geom.Path{Points: []orb.Point{e.ToMM(pc.Worn[i].Curve.Start())}}
	for _, s := range pc.Sewn(i) {
		out.Points = s.Apply(geom.Affine{A: e.UnitMM, D: -e.UnitMM}).Flatten(out.Points, geom.FlattenTol)
	}
	return out
}

// along says where a notch stands on its edge: "8 from U", by the lettered point at the nearer end.
func along(pc *pieces.Piece, n pieces.Notch, letters []pattern.Label) *pattern.Along {
	e := pc.Scope.Context
	out := &pattern.Along{Edge: n.Edge, Worn: n.Worn * e.UnitMM}
	if n.Worn < 0 {
		out.Worn = -1
		return out
	}
	c := pc.Edges[n.Edge].Curve
	from, name, l := c.Start(), "the start", n.Worn
	if rest := pc.WornLength(n.Edge) - l; rest < l {
		from, name, l = c.End(), "the end", rest
	}
	for _, p := range letters {
		if geom.Dist(p.At, e.ToMM(from)) < 0.01 {
			name = p.Text
			break
		}
	}
	out.Words = tapeUnits[e.Unit].tape(l) + " from " + name
	return out
}

// edgeOf is an edge with its allowance.
func edgeOf(pc *pieces.Piece, i int, ed curve.Edge, first int) pattern.Edge {
	out := pattern.Edge{Name: ed.Name, Kind: ed.Kind(), Line: lineOf(pc, ed.Name), First: first, Fold: ed.Fold}
	if ctx := pc.Scope.Context; out.Line == 0 && (pc.Drawing == nil || ctx.Document.Of(pc.Drawing.At) == ctx.Document) {
		out.Line = ed.Line // a princess line, an edge of a strip: told by the sentence that makes it
	}
	if w, told := sewn.CutEdge(pc, i); told {
		out.Allowance, out.Corner, out.SewnFirst = &pattern.Width{From: w.From, To: w.To}, w.Corner, w.SewnFirst
	}
	return out
}

// grainOf runs through the middle of the piece, inside it, nine tenths as long as there is room.
func grainOf(line geom.Path, way string) *pattern.Segment {
	b := line.Bound()
	u := orb.Point{0, 1}
	switch way {
	case "level":
		u = orb.Point{1, 0}
	case "bias":
		u = orb.Point{math.Sqrt2 / 2, math.Sqrt2 / 2}
	}
	side := orb.Point{u[1], -u[0]}
	half := math.Abs(side[0])*(b.Max[0]-b.Min[0])/2 + math.Abs(side[1])*(b.Max[1]-b.Min[1])/2
	var best *pattern.Segment
	most := 0.0
	for _, k := range []float64{0, 0.3, -0.3, 0.6, -0.6} {
		at := geom.Add(b.Center(), geom.Mul(side, k*half))
		if s, l := longestInside(line, at, u); l > most*1.2 {
			best, most = s, l
		}
	}
	return best
}

// longestInside is the longest stretch of the line through at in direction u that lies inside.
func longestInside(line geom.Path, at, u orb.Point) (*pattern.Segment, float64) {
	if line.Segments() == 0 {
		return nil, 0
	}
	var ts []float64
	a := geom.Sub(line.Points[len(line.Points)-1], at)
	ca := geom.Cross(u, a)
	for _, q := range line.Points {
		b := geom.Sub(q, at)
		cb := geom.Cross(u, b)
		if (ca > 0) != (cb > 0) {
			ts = append(ts, geom.Dot(u, geom.Lerp(a, b, ca/(ca-cb))))
		}
		a, ca = b, cb
	}
	slices.Sort(ts)
	var s *pattern.Segment
	most := 0.0
	for i := 0; i+1 < len(ts); i += 2 { // in at one, out at the next
		if l := ts[i+1] - ts[i]; l > most {
			most = l
			s = &pattern.Segment{A: geom.Add(at, geom.Mul(u, ts[i]+0.05*l)), B: geom.Add(at, geom.Mul(u, ts[i+1]-0.05*l))}
		}
	}
	return s, most
}
