package measured

import (
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// pattern makes the types that travel of what was drawn: mm, y up, curves flattened once.
func (e *sewing) pattern() *pattern.Pattern {
	out := &pattern.Pattern{Source: e.doc.name, Format: "measured", Unit: e.unit, Findings: e.findings, Seams: e.seams}
	if en, ok := e.secs["style"]; ok {
		out.Style = e.text(en)
	}
	var card []string
	if en, ok := e.secs["wearer"]; ok && en.s != nil {
		card = append(card, strings.TrimSpace(en.node.Value))
	}
	if dates := e.fittings(); dates != "" {
		card = append(card, "fitted "+dates)
	}
	for _, pc := range e.pieces {
		q := e.onePiece(pc)
		q.Card = card
		out.Pieces = append(out.Pieces, q)
	}
	return out
}

func (e *sewing) onePiece(pc *piece) pattern.Piece {
	q := pattern.Piece{Name: pc.name, Named: true, Size: e.body, Quantity: pc.quantity, Pair: pc.pair,
		Material: pc.material, Note: pc.note, Labels: pc.texts}
	line, firsts := e.flatten(pc.edges)
	for i, ed := range pc.edges {
		q.Edges = append(q.Edges, pc.edge1(i, ed, firsts[i], e.unitMM))
		if ed.fold {
			q.Fold = &pattern.Segment{A: e.mm(ed.c.start()), B: e.mm(ed.c.end())}
		}
	}
	if pc.included {
		q.Cut, q.CutSaid, q.Included = &line, true, true
	} else {
		q.Sew = []geom.Path{line}
	}
	for _, n := range pc.notches {
		m := n.made(pc)
		m.OnSew = !pc.included
		q.Notches = append(q.Notches, m)
	}
	for _, m := range pc.marks {
		q.Marks = append(q.Marks, pattern.Mark{Role: pattern.RoleMark, Label: m.name, Path: geom.Path{Points: []orb.Point{e.mm(m.a), e.mm(m.b)}}})
	}
	for _, d := range pc.drills {
		q.Drills = append(q.Drills, pattern.Drill{At: e.mm(d)})
	}
	if pc.d != nil {
		for _, n := range pc.d.sc.order {
			if d := pc.d.sc.defs[n]; d.kind == isPoint && pc.holds(d.pt) {
				q.Points = append(q.Points, pattern.Label{At: e.mm(pc.flat(d.pt)), Text: n})
			}
		}
	}
	q.Grain = grainOf(line, pc.grain)
	return q
}

// holds tells whether a point of the drawing lies in the piece: a panel has only some of them.
func (pc *piece) holds(pt orb.Point) bool {
	if pc.panel == nil {
		return true
	}
	line, _ := pc.sc.eng.flattenTo(pc.worn, 0.2)
	q := pc.sc.eng.mm(pt)
	return line.Contains(q) || line.Nearest(q).Dist < 1
}

// edge1 is an edge with its allowance. A finish belongs to the corner where the edge begins, or to
// the next edge's where it ends.
func (pc *piece) edge1(i int, ed outlineEdge, first int, unitMM float64) pattern.Edge {
	out := pattern.Edge{Name: ed.name, Kind: kindName(ed.name), First: first, Fold: ed.fold}
	if pc.included {
		return out
	}
	if ed.fold {
		out.Allowance = &pattern.Width{}
		return out
	}
	w := pc.widths[i]
	out.Allowance = &pattern.Width{From: w.from * unitMM, To: w.to * unitMM}
	n := len(pc.edges)
	before := (i + n - 1) % n
	switch {
	case w.start != geom.Mitred:
		out.Corner, out.SewnFirst = w.start, true
	case pc.widths[before] != nil && !pc.edges[before].fold:
		out.Corner = pc.widths[before].end
	}
	return out
}

// kindName is the trade's word in an edge's name: its last one.
func kindName(name string) string {
	f := strings.Fields(name)
	return f[len(f)-1]
}

// flatten makes one closed line of the edges, corners marked where the direction breaks, and tells
// at which vertex each edge begins.
func (e *engine) flatten(edges []outlineEdge) (geom.Path, []int) {
	return e.flattenTo(edges, geom.FlattenTol)
}

func (e *engine) flattenTo(edges []outlineEdge, tol float64) (geom.Path, []int) {
	out := geom.Path{Closed: true}
	var firsts []int
	var all curve
	for _, ed := range edges {
		all = append(all, ed.c...)
	}
	k := 0
	for _, ed := range edges {
		firsts = append(firsts, len(out.Points))
		for _, s := range ed.c {
			prev := all[(k+len(all)-1)%len(all)]
			in, dir := prev.dir(1), s.dir(0)
			turn := math.Abs(math.Atan2(geom.Cross(in, dir), geom.Dot(in, dir)))
			out.Points = append(out.Points, e.mm(s.a))
			out.Corners = append(out.Corners, turn > 0.01)
			ms := s.apply(geom.Affine{A: e.unitMM, D: -e.unitMM})
			pts := ms.flatten(nil, tol)
			for _, q := range pts[:len(pts)-1] {
				out.Points, out.Corners = append(out.Points, q), append(out.Corners, false)
			}
			k++
		}
	}
	return out, firsts
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
	var ts []float64
	for i := range line.Segments() {
		a, b := line.Segment(i)
		a, b = geom.Sub(a, at), geom.Sub(b, at)
		if ca, cb := geom.Cross(u, a), geom.Cross(u, b); (ca > 0) != (cb > 0) {
			ts = append(ts, geom.Dot(u, geom.Lerp(a, b, ca/(ca-cb))))
		}
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
