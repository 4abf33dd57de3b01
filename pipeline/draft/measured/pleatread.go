package measured

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
)

func isPleatKey(k string) bool {
	w, _, _ := strings.Cut(k, " ")
	return w == "pleat" || w == "tuck"
}

// pleat is what one sentence tells.
type pleat struct {
	name          string
	kind          string
	d1, d2        float64 // depth at either edge
	half          float64 // of a box's top
	out           bool    // a knife pleat that faces out
	onFold        bool
	l             locus
	e1, e2        int
	lo, hi        *locus
	overlap       bool
	stitchedFrom  int
	stitchedTo    *orb.Point
	s             *sentence
	turns         []turn
	first, second orb.Point // where its own line crosses the edges
}

// readPleat reads "inverted box, 4 deep, on the fold, neck to hem, stitched neck to W".
func (d *drawing) readPleat(x entry) pleat {
	p := newParser(x.s, d.sc)
	pl := pleat{name: x.key, s: x.s, stitchedFrom: -1}
	pl.kind = p.takeAny("inverted box", "box", "knife", "tuck")
	switch pl.kind {
	case "":
		p.fail(0, quote(p.word())+" is no kind of pleat", nearest(p.word(), []string{"knife", "box", "inverted box", "tuck"}))
	case "knife", "tuck":
		pl.out = p.take("facing out")
		p.take("facing back")
	}
	p.sign(',')
	at := p.i
	pl.d1 = p.sum()
	if p.is("deep") < 0 && p.runeAt(p.i) == ',' {
		p.fail(p.i, "what "+num(pl.d1)+" is of the pleat is not said", "say "+num(pl.d1)+" deep")
	}
	p.want("deep", " and how deep the pleat is")
	pl.d2 = pl.d1
	if p.take("at the first edge") {
		p.sign(',')
		pl.d2 = p.sum()
		p.want("deep at the second edge", "")
	}
	if pl.d1 < 0 || pl.d2 < 0 || pl.d1+pl.d2 == 0 {
		p.fail(at, fmt.Sprintf("a pleat %s deep", num(math.Min(pl.d1, pl.d2))), "a depth is more than 0")
	}
	p.sign(',')
	if pl.kind == "box" {
		if on := p.is("on"); on >= 0 {
			p.fail(p.i, "how wide the box is, is not said", "say box, 4 deep, 6 wide; or inverted box, which has no width of its own and may lie on the fold")
		}
		pl.half = p.sum() / 2
		p.want("wide", " and how wide the box is")
		p.sign(',')
	}
	p.want("on", " and the line on which the pleat lies")
	lies := p.i
	if p.take("the fold") || p.take("fold") {
		pl.onFold = true
		if pl.kind != "inverted box" {
			p.fail(lies, "on the fold lies an inverted box pleat only", "say inverted box; for another pleat draw the whole piece and no fold, and say on plumb through a point of its middle")
		}
	} else if pl.l = p.locus(); pl.l.circle || pl.l.edge != nil && len(pl.l.edge) != 1 {
		p.fail(p.i, "a pleat lies on a straight line", "")
	} else if pl.l.edge != nil {
		pl.l = locus{p: pl.l.edge[0].a, u: pl.l.edge[0].dir(0)}
	}
	p.sign(',')
	pl.e1 = d.edgeNamed(p)
	p.want("to", " and the edge at the pleat's other end")
	pl.e2 = d.edgeNamed(p)
	d.pleatRest(p, &pl)
	p.end()
	return pl
}

func (d *drawing) pleatRest(p *parser, pl *pleat) {
	for p.sign(',') {
		switch p.takeAny("stitched", "free", "between", "overlapping") {
		case "stitched":
			if p.is("to") >= 0 {
				p.fail(p.i, "from which edge it is stitched is not said", "say stitched neck to Q: the edge where the stitching begins, and where it ends")
			}
			at := p.i
			pl.stitchedFrom = d.edgeNamed(p)
			if pl.stitchedFrom != pl.e1 && pl.stitchedFrom != pl.e2 {
				p.fail(at, "the pleat does not reach that edge", "")
			}
			p.want("to", " and the point to which it is stitched down")
			q := p.point()
			pl.stitchedTo = &q
		case "between":
			lo := p.locus()
			p.want("and", "")
			hi := p.locus()
			pl.lo, pl.hi = &lo, &hi
		case "overlapping":
			pl.overlap = true
		case "free":
		default:
			p.fail(p.i, p.seen()+" is not said of a pleat", "say stitched, free, between or overlapping")
		}
	}
}

// edgeNamed reads the name of an edge of the outline.
func (d *drawing) edgeNamed(p *parser) int {
	p.space()
	at := p.i
	var names []string
	for _, e := range d.edges {
		names = append(names, e.name)
	}
	n, ok := p.name(names)
	if !ok && p.take("the") {
		at = p.i
		n, ok = p.name(names)
	}
	if !ok {
		p.fail(at, quote(p.word())+" is no edge of the outline of "+quote(d.name), nearest(p.word(), names))
	}
	for i, e := range d.edges {
		if e.name == n {
			return i
		}
	}
	return -1
}
