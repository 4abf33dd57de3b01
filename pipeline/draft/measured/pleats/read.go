// Package pleats opens pleats: it takes a drawing that is formed and its pleats' sentences, and gives the
// flat shape that folds into it (Opened), with the fold lines to mark and the way from the worn shape to
// the flat one. Lengths are in the draft's unit.
package pleats

import (
	"fmt"
	"math"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Sentence is what a pleat's sentence says.
type Sentence struct {
	name, kind    string
	parser        *tree.Parser
	depth, depth2 tree.Number // at either edge; depth2 is nil where one is said of both
	depthAt       int
	wide          tree.Number // of a box's top, nil for other pleats
	out           bool        // a knife pleat that faces out
	onFold        bool
	line          func() curve.Locus // nil on the fold
	lineEnd       int
	first, second string                // the edges between which it runs
	between       [2]func() curve.Locus // where its room is told
	overlap       bool
	alongEdge     bool // the depth is measured along the edges
	run           *run // of a sentence that tells several, this being number nth
	nth           int
	stitched      string // the edge from which it is stitched
	stitchedTo    tree.Point
}

// pleat is one that is laid: its sentence with what its numbers come to.
type pleat struct {
	*Sentence
	d1, d2                float64 // depth at either edge
	half                  float64 // of a box's top
	Line                  curve.Locus
	FirstEdge, SecondEdge int
	lo, hi                *curve.Locus
	stitchedTo            *orb.Point
	turns                 []fold
	first, second         orb.Point // where its own line crosses the edges
}

// Read reads a drawing's pleats, once, and keeps the faults of those that cannot be read.
func Read(d *drafting.Drawing) []*Sentence {
	if all, ok := d.Pleats.([]*Sentence); ok {
		return all
	}
	all := []*Sentence{}
	for _, x := range d.PleatEntries {
		if x.Sentence == nil {
			d.Scope.Context.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a sentence", "")
		} else if d.Outline != nil {
			d.Scope.Context.Try(func() { all = append(all, read(d, x)...) })
		}
	}
	d.Pleats = all
	return all
}

// read reads "inverted box, 4 deep, on the fold, neck to hem, stitched neck to W".
func read(d *drafting.Drawing, x sentence.Entry) []*Sentence {
	p := tree.NewParser(x.Sentence, d.Scope)
	pl := &Sentence{name: x.Key, parser: p}
	p.Space()
	count, whole, begin := 0.0, false, p.At
	if !p.Done() && unicode.IsDigit(p.RuneAt(p.At)) {
		count, whole = p.Digits()
	}
	several := p.At > begin
	if pl.kind = p.TakeAny("inverted box", "box", "knife", "tuck", "tucks"); pl.kind == "tucks" {
		pl.kind = "tuck"
	}
	switch pl.kind {
	case "":
		p.Fail(0, sentence.Quote(p.Word())+" is no kind of pleat", sentence.Nearest(p.Word(), []string{"knife", "box", "inverted box", "tuck"}))
	}
	p.TakeAny("pleats", "pleat")
	switch pl.kind {
	case "knife", "tuck":
		pl.out = p.Take("facing out")
		p.Take("facing back")
	}
	if several {
		return readRun(d, pl, count, whole, begin)
	}
	p.Sign(',')
	p.Space()
	pl.depthAt = p.At
	pl.depth = p.Sum()
	if said := p.Said(pl.depthAt); p.Is("deep") < 0 && p.RuneAt(p.At) == ',' {
		p.Fail(p.At, "what "+sentence.Quote(said)+" is of the pleat is not said", "say "+said+" deep")
	}
	p.Want("deep", " and how deep the pleat is")
	pl.readAlong()
	if p.Take("at the first edge") {
		p.Sign(',')
		pl.depth2 = p.Sum()
		p.Want("deep at the second edge", "")
	}
	p.Sign(',')
	if pl.kind == "box" {
		if on := p.Is("on"); on >= 0 {
			p.Fail(p.At, "how wide the box is, is not said", "say box, 4 deep, 6 wide; or inverted box, which has no width of its own and may lie on the fold")
		}
		pl.wide = p.Sum()
		p.Want("wide", " and how wide the box is")
		p.Sign(',')
	}
	p.Want("on", " and the line on which the pleat lies")
	lies := p.At
	if p.Take("the fold") || p.Take("fold") {
		pl.onFold = true
		if pl.kind != "inverted box" {
			p.Fail(lies, "on the fold lies an inverted box pleat only", "say inverted box; for another pleat draw the whole piece and no fold, and say on plumb through a point of its middle")
		}
	} else {
		pl.line = p.Locus()
		pl.lineEnd = p.At
	}
	p.Sign(',')
	pl.first = d.EdgeNamed(p)
	p.Want("to", " and the edge at the pleat's other end")
	pl.second = d.EdgeNamed(p)
	for p.Sign(',') {
		pl.readClause(d)
	}
	p.End()
	return []*Sentence{pl}
}

func (pl *Sentence) readClause(d *drafting.Drawing) {
	p := pl.parser
	switch p.TakeAny("stitched", "free", "between", "overlapping") {
	case "stitched":
		if p.Is("to") >= 0 {
			p.Fail(p.At, "from which edge it is stitched is not said", "say stitched neck to Q: the edge where the stitching begins, and where it ends")
		}
		at := p.At
		if pl.stitched = d.EdgeNamed(p); pl.first != "" && pl.stitched != pl.first && pl.stitched != pl.second {
			p.Fail(at, "the pleat does not reach that edge", "")
		}
		p.Want("to", " and the point to which it is stitched down")
		pl.stitchedTo = p.Point()
	case "between":
		pl.between[0] = p.Locus()
		p.Want("and", "")
		pl.between[1] = p.Locus()
	case "overlapping":
		pl.overlap = true
	case "free":
	default:
		p.Fail(p.At, p.Seen()+" is not said of a pleat", "say stitched, free, between or overlapping")
	}
}

// workOut gives the pleat in a drawing, or in a panel of one, with its line as drawn. An edge that is not there has no
// number, -1.
func (s *Sentence) workOut(d *drafting.Drawing) pleat {
	p := s.parser
	if s.run != nil && s.first == "" {
		if s.findEdges(drawn(d)); p.Scope.Context.Blocked() {
			return pleat{Sentence: s}
		}
	}
	pl := pleat{Sentence: s, FirstEdge: curve.IndexOf(d.Edges, s.first), SecondEdge: curve.IndexOf(d.Edges, s.second)}
	if s.depth != nil {
		pl.d1 = s.depth()
	}
	pl.d2 = pl.d1
	if s.depth2 != nil {
		pl.d2 = s.depth2()
	}
	if !s.flat() && (pl.d1 < 0 || pl.d2 < 0 || pl.d1+pl.d2 == 0) {
		p.Refuse(s.depthAt, fmt.Sprintf("a pleat %s deep", p.Say(math.Min(pl.d1, pl.d2))), "a depth is more than 0")
	}
	if s.wide != nil {
		pl.half = s.wide() / 2
	}
	if s.run != nil {
		pl.spread(d)
	}
	if s.line != nil {
		if pl.Line = s.line(); pl.Line.IsCircle || pl.Line.Edge != nil && len(pl.Line.Edge) != 1 {
			p.Refuse(s.lineEnd, "a pleat lies on a straight line", "")
		} else if pl.Line.Edge != nil {
			pl.Line = curve.Locus{Point: pl.Line.Edge[0].From, Along: pl.Line.Edge[0].Dir(0)}
		}
	}
	if s.stitchedTo != nil {
		q := s.stitchedTo()
		pl.stitchedTo = &q
	}
	if s.between[0] != nil {
		lo, hi := s.between[0](), s.between[1]()
		pl.lo, pl.hi = &lo, &hi
	}
	return pl
}
