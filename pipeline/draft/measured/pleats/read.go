// Package pleats opens pleats: it takes a drawing that is formed and its pleats' sentences, and gives the
// flat shape that folds into it (Opened), with the fold lines to mark and the way from the worn shape to
// the flat one. Lengths are in the draft's unit.
package pleats

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// pleat is what one sentence tells.
type pleat struct {
	name                  string
	kind                  string
	d1, d2                float64 // depth at either edge
	half                  float64 // of a box's top
	out                   bool    // a knife pleat that faces out
	onFold                bool
	Line                  curve.Locus
	FirstEdge, SecondEdge int
	lo, hi                *curve.Locus
	overlap               bool
	stitchedFrom          int
	stitchedTo            *orb.Point
	s                     *sentence.Sentence
	turns                 []fold
	first, second         orb.Point // where its own line crosses the edges
}

// ReadPleat reads "inverted box, 4 deep, on the fold, neck to hem, stitched neck to W".
func ReadPleat(d *drafting.Drawing, x sentence.Entry) pleat {
	p := tree.NewParser(x.Sentence, d.Scope)
	pl := pleat{name: x.Key, s: x.Sentence, stitchedFrom: -1}
	pl.kind = p.TakeAny("inverted box", "box", "knife", "tuck")
	switch pl.kind {
	case "":
		p.Fail(0, sentence.Quote(p.Word())+" is no kind of pleat", sentence.Nearest(p.Word(), []string{"knife", "box", "inverted box", "tuck"}))
	case "knife", "tuck":
		pl.out = p.Take("facing out")
		p.Take("facing back")
	}
	p.Sign(',')
	at := p.At
	pl.d1 = tree.Now(p, p.Sum())
	if p.Is("deep") < 0 && p.RuneAt(p.At) == ',' {
		p.Fail(p.At, "what "+sentence.FormatNumber(pl.d1)+" is of the pleat is not said", "say "+sentence.FormatNumber(pl.d1)+" deep")
	}
	p.Want("deep", " and how deep the pleat is")
	pl.d2 = pl.d1
	if p.Take("at the first edge") {
		p.Sign(',')
		pl.d2 = tree.Now(p, p.Sum())
		p.Want("deep at the second edge", "")
	}
	if pl.d1 < 0 || pl.d2 < 0 || pl.d1+pl.d2 == 0 {
		p.Fail(at, fmt.Sprintf("a pleat %s deep", sentence.FormatNumber(math.Min(pl.d1, pl.d2))), "a depth is more than 0")
	}
	p.Sign(',')
	if pl.kind == "box" {
		if on := p.Is("on"); on >= 0 {
			p.Fail(p.At, "how wide the box is, is not said", "say box, 4 deep, 6 wide; or inverted box, which has no width of its own and may lie on the fold")
		}
		pl.half = tree.Now(p, p.Sum()) / 2
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
	} else if pl.Line = tree.Now(p, p.Locus()); pl.Line.IsCircle || pl.Line.Edge != nil && len(pl.Line.Edge) != 1 {
		p.Fail(p.At, "a pleat lies on a straight line", "")
	} else if pl.Line.Edge != nil {
		pl.Line = curve.Locus{Point: pl.Line.Edge[0].From, Along: pl.Line.Edge[0].Dir(0)}
	}
	p.Sign(',')
	pl.FirstEdge = darts.EdgeNamed(d, p)
	p.Want("to", " and the edge at the pleat's other end")
	pl.SecondEdge = darts.EdgeNamed(d, p)
	pleatRest(d, p, &pl)
	p.End()
	return pl
}

func pleatRest(d *drafting.Drawing, p *tree.Parser, pl *pleat) {
	for p.Sign(',') {
		switch p.TakeAny("stitched", "free", "between", "overlapping") {
		case "stitched":
			if p.Is("to") >= 0 {
				p.Fail(p.At, "from which edge it is stitched is not said", "say stitched neck to Q: the edge where the stitching begins, and where it ends")
			}
			at := p.At
			pl.stitchedFrom = darts.EdgeNamed(d, p)
			if pl.stitchedFrom != pl.FirstEdge && pl.stitchedFrom != pl.SecondEdge {
				p.Fail(at, "the pleat does not reach that edge", "")
			}
			p.Want("to", " and the point to which it is stitched down")
			q := tree.Now(p, p.Point())
			pl.stitchedTo = &q
		case "between":
			lo := tree.Now(p, p.Locus())
			p.Want("and", "")
			hi := tree.Now(p, p.Locus())
			pl.lo, pl.hi = &lo, &hi
		case "overlapping":
			pl.overlap = true
		case "free":
		default:
			p.Fail(p.At, p.Seen()+" is not said of a pleat", "say stitched, free, between or overlapping")
		}
	}
}
