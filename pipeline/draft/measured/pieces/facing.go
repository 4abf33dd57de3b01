package pieces

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// facing makes a piece from an edge: "facing 5 deep along front neck". It is the strip of that piece
// along the edge, or edges in a row, pleats, darts and princess seams closed, between the two edges beside it; its far side is
// the "inner edge".
func (e *Garment) facing(pc *Piece) {
	p := pc.Parser
	at := p.At
	depth := p.SumWhere(tree.MoreThan0, "a facing %s deep", "a facing is more than 0 deep")
	p.Want("deep", " and along which edge the facing runs")
	p.Sign(',')
	p.Want("along", " and the drawing and edge along which the facing runs")
	d, run := e.readFaced(p)
	var slit *slitFacing
	if k := p.At; p.Sign(',') {
		if clauseAhead(p) {
			p.At = k
		} else {
			inside := tree.NewParser(p.Sentence, d.Scope) // its points are those of the drawing
			inside.At = p.At
			slit = readSlitFacing(inside)
			p.At = inside.At
		}
	}
	pc.from, pc.Scope, pc.names = d, d.Scope, append(d.EdgeNames(), "inner edge")
	pc.shape = func() {
		depth := depth()
		if f := run(); !e.Blocked() {
			pc.setFacing(d, f, depth, slit, at)
		}
	}
}

// setFacing makes the edges of a facing along what is faced.
func (pc *Piece) setFacing(d *drafting.Drawing, f faced, depth float64, slit *slitFacing, at int) {
	p := pc.Parser
	edge := f.edge
	before, after := f.beside(depth)
	inner := innerEdge(p, d, edge, depth, at)
	if d.Scope.Context.Blocked() {
		return
	}
	start, end := runsInto(p, inner, before, true, at), runsInto(p, inner, after, false, at)
	if d.Scope.Context.Blocked() {
		return
	}
	if start.s >= end.s {
		p.Unfit(at, fmt.Sprintf("a facing %s deep leaves no inner edge along %q", p.Say(depth), edge.Name), "make it less deep")
		return
	}
	whole, wholeAfter := before.Curve, after.Curve
	before.Curve = before.Curve.Between(before.Curve.PlaceAt(start.l), curve.Place{Index: len(before.Curve) - 1, T: 1})
	after.Curve = after.Curve.Between(curve.Place{Index: 0, T: 0}, after.Curve.PlaceAt(end.l))
	inner = inner.Between(inner.PlaceAt(start.s), inner.PlaceAt(end.s))
	if slit != nil {
		if b := slit.to(); curve.NearestOn(whole, b) >= 0 {
			before.Curve, inner = slit.follow(pc, whole, inner)
		} else {
			after.Curve, inner = slit.follow(pc, wholeAfter, inner.Reversed())
			inner = inner.Reversed()
		}
		if d.Scope.Context.Blocked() {
			return
		}
	}
	pc.Edges = append(f.edges(), after,
		curve.Edge{Name: "inner edge", Curve: inner.Reversed(), Line: edge.Line, Column: edge.Column}, before)
	pc.Worn = pc.Edges
}

// drawingEdge reads "front neck": a drawing and an edge of its outline.
func (e *Garment) drawingEdge(p *tree.Parser) (*drafting.Drawing, string) {
	p.Space()
	at := p.At
	var names []string
	for _, dn := range e.DrawingOrder {
		for _, n := range e.Drawings[dn].EdgeNames() {
			names = append(names, dn+" "+n)
		}
	}
	said, ok := p.Name(names)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no edge of a drawing's outline", e.Nearest(p.Phrase(), names))
	}
	for _, dn := range e.DrawingOrder {
		if n, ok := strings.CutPrefix(said, dn+" "); ok && slices.Contains(e.Drawings[dn].EdgeNames(), n) {
			e.Drawings[dn].Wanted = true
			return e.Drawings[dn], n
		}
	}
	return nil, ""
}

// cornerTurn is by how many degrees an edge may turn at a joint that is no corner of it.
const cornerTurn = 3.0

// innerEdge runs beside an edge at a distance, into the piece, and straight on past both ends. At an inner corner it
// passes over a stretch that is shorter than the facing is deep, as the end of a button stand is, and goes on with the next.
func innerEdge(p *tree.Parser, d *drafting.Drawing, edge curve.Edge, depth float64, at int) curve.Curve {
	side := curve.Orientation(d.Edges) * depth
	var out curve.Curve
	passed := 0.0
	for k, s := range edge.Curve {
		o := segBeside(p, edge, s, side, at)
		if p.Scope.Context.Blocked() {
			return nil
		}
		if k == 0 {
			out = o
			continue
		}
		in, on := edge.Curve[k-1].Dir(1), s.Dir(0)
		if within := passed > 0 || geom.Cross(in, on)*side > 0; passed > 0 || curve.AngleBetween(in, on) > cornerTurn {
			joined := roundCorner(out, o, within)
			if joined != nil {
				out, passed = joined, 0
				continue
			}
			if passed += (curve.Curve{s}).Length(); within && k+1 < len(edge.Curve) && passed < depth {
				continue
			}
			p.Unfit(at, fmt.Sprintf("the corner of %q at %s leaves no inner edge", edge.Name, p.Where(s.From)), "make the facing less deep, or face the two sides of the corner each by itself")
			return nil
		}
		o[0].From = out.End()
		out = append(out, o...)
	}
	first, last := out[0], out[len(out)-1]
	reach := 2 * depth
	head := curve.LineSeg(geom.Sub(first.From, geom.Mul(first.Dir(0), reach)), first.From)
	tail := curve.LineSeg(last.To, geom.Add(last.To, geom.Mul(last.Dir(1), reach)))
	return append(append(curve.Curve{head}, out...), tail)
}

// segBeside is one stretch at a distance; a curve is divided, each part as near as an offset of it comes.
func segBeside(p *tree.Parser, edge curve.Edge, s curve.Segment, side float64, at int) curve.Curve {
	parts := 1
	if s.Cubic {
		parts = 16
	}
	var out curve.Curve
	for i := range parts {
		o, ok := s.Part(float64(i)/float64(parts), float64(i+1)/float64(parts)).Beside(side)
		if !ok {
			p.Unfit(at, fmt.Sprintf("%q curves too tightly at %s for a facing %s deep", edge.Name, p.Where(s.At(0.5)), p.Say(math.Abs(side))), "make it less deep")
			return out
		}
		if i > 0 {
			o.From = out.End()
		}
		out = append(out, o)
	}
	return out
}

// roundCorner joins two stretches beside a corner of the edge: within it they are cut where they cross,
// round it they are led on until they meet; nil where they do not.
func roundCorner(a, b curve.Curve, within bool) curve.Curve {
	if within {
		if found := curve.MeetingsOfEdges(curve.Locus{Edge: a}, curve.Locus{Edge: b}); len(found) > 0 {
			x := found[len(found)-1]
			return append(a.Between(curve.Place{Index: 0, T: 0}, a.PlaceAt(curve.NearestOn(a, x))), b.Between(b.PlaceAt(curve.NearestOn(b, x)), curve.Place{Index: len(b) - 1, T: 1})...)
		}
	} else {
		u, v := a[len(a)-1].Dir(1), b[0].Dir(0)
		if x, s, t, ok := geom.MeetLines(a.End(), u, b.Start(), v); ok && s > 0 && t < 0 {
			return append(append(a, curve.LineSeg(a.End(), x), curve.LineSeg(x, b.Start())), b...)
		}
	}
	return nil
}

// crossed is where the inner edge runs into the edge beside it: how far along each.
type crossed struct{ s, l float64 }

// runsInto finds the crossing nearest to the faced edge.
func runsInto(p *tree.Parser, inner curve.Curve, beside curve.Edge, fromEnd bool, at int) crossed {
	best, found := crossed{}, false
	for _, q := range curve.MeetingsOfEdges(curve.Locus{Edge: inner}, curve.Locus{Edge: beside.Curve}) {
		c := crossed{curve.NearestOn(inner, q), curve.NearestOn(beside.Curve, q)}
		if c.s < 0 || c.l < 0 {
			continue
		}
		if better := fromEnd == (c.l > best.l); !found || better {
			best, found = c, true
		}
	}
	if !found {
		p.Unfit(at, fmt.Sprintf("the facing's inner edge does not reach %q, which is %s long", beside.Name, p.Say(beside.Curve.Length())), "make the facing less deep")
	}
	return best
}
