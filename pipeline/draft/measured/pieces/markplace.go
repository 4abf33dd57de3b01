package pieces

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// markPoint reads where a mark lies: a point of the drawing; on a strip or a rectangle, which has no lettered points, so far
// from its edges: "12 from end, 2 from long edge". Where one edge is told, the mark lies in the middle of the width.
func markPoint(p *tree.Parser, pc *Piece) tree.Point {
	if !pc.plain || !p.NumberAhead() {
		return p.Point()
	}
	p.Space()
	at := p.At
	first := readFrom(p, pc)
	k := p.At
	if !p.Sign(',') || !p.NumberAhead() {
		p.At = k
		return func() orb.Point {
			a, b := first.across(p, pc)
			return geom.Lerp(a, b, 0.5)
		}
	}
	second := readFrom(p, pc)
	if (first.edge+second.edge)%2 == 0 {
		p.Fail(at, sentence.Quote(pc.names[first.edge])+" and "+sentence.Quote(pc.names[second.edge])+" do not meet, so that the two lengths tell no place", "name two edges that meet: 12 from "+pc.names[first.edge]+", 2 from "+pc.names[(first.edge+1)%len(pc.names)])
	}
	return func() orb.Point {
		a, b := first.across(p, pc)
		c, d := second.across(p, pc)
		q, _, _, _ := geom.MeetLines(a, geom.Sub(b, a), c, geom.Sub(d, c))
		return q
	}
}

// fromEdge is a length from an edge of a strip or a rectangle, square to it.
type fromEdge struct {
	far  tree.Number
	edge int
	at   int
}

// readFrom reads "12 from end".
func readFrom(p *tree.Parser, pc *Piece) fromEdge {
	p.Space()
	f := fromEdge{at: p.At, far: p.SumWhere(tree.AtLeast0, "%s from an edge", "a length from an edge is not less than 0")}
	p.Want("from", " and the edge from which it is measured")
	p.Take("the")
	name, ok := p.Name(pc.names)
	if !ok {
		p.Space()
		p.Fail(p.At, sentence.Quote(p.Word())+" is no edge of "+sentence.Quote(pc.Name), pc.Scope.Context.Nearest(p.Word(), pc.names))
	}
	f.edge = slices.Index(pc.names, name)
	return f
}

// across is the line so far from the edge, from one side of the piece to the other.
func (f fromEdge) across(p *tree.Parser, pc *Piece) (a, b orb.Point) {
	n := len(pc.Edges)
	before, ed, after := pc.Edges[(f.edge+n-1)%n].Curve, pc.Edges[f.edge].Curve, pc.Edges[(f.edge+1)%n].Curve
	by := f.far()
	if wide := curve.Curve(after).Length(); by > wide {
		p.Unfit(f.at, pc.Scope.Context.WithUnit(by)+" from the "+pc.names[f.edge]+" of a piece that is "+pc.Scope.Context.WithUnit(wide)+" wide there", "set it nearer")
		return a, b
	}
	return geom.Sub(ed.Start(), geom.Mul(before[0].Dir(0), by)), geom.Add(ed.End(), geom.Mul(after[0].Dir(0), by))
}

// readAcross reads the line of a strip or a rectangle that lies so far from one edge, from side to side: "line 12 from end";
// false where a line from one place to another is told.
func readAcross(p *tree.Parser, pc *Piece) (line func() pleats.InnerLine, ok bool) {
	if !pc.plain || !p.NumberAhead() {
		return nil, false
	}
	begin := p.At
	f := readFrom(p, pc)
	if p.Is("to") >= 0 || p.RuneAt(p.At) == ',' && p.Is(", called") < 0 {
		p.At = begin
		return nil, false
	}
	return func() pleats.InnerLine {
		a, b := f.across(p, pc)
		return pleats.InnerLine{From: a, To: b}
	}, true
}

// inOneLayer refuses what is cut from a to b across a pleat or a moved dart: on the open cloth it would be cut through what
// lies between, and longer than it is told.
func (pc *Piece) inOneLayer(p *tree.Parser, what string, a, b orb.Point) bool {
	e, long := p.Scope.Context, geom.Dist(a, b)
	from, to := pc.Flat(a), pc.Flat(b)
	cut, hair := geom.Dist(from, to), 10*e.Hair()
	if math.Abs(cut-long) <= hair && geom.Dist(pc.Flat(geom.Lerp(a, b, 0.5)), geom.Lerp(from, to, 0.5)) <= hair {
		return true
	}
	p.Refuse(0, fmt.Sprintf("the %s runs across a pleat or a moved dart: told %s long, its ends lie %s apart on the open cloth", what, e.WithUnit(long), e.WithUnit(cut)),
		"let it lie beside the pleat or the dart, in one layer")
	return false
}
