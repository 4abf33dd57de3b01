package drafting

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Drawing is one part as it is drafted, with its outline and what is folded into it.
type Drawing struct {
	Name         string
	Scope        *Scope
	Outline      *sentence.Sentence
	Edges        []curve.Edge // in order round the piece, once worked out
	State        int
	PleatEntries []sentence.Entry
	ShapeEntries []sentence.Entry // darts and flare, in the order in which they are told
	// princess divides the drawing in two panels, which are drawings of their own.
	PrincessEntry sentence.Entry
	Whole         *Drawing // of a panel
	// shape, formed, opened and panels are what is worked out of it above, once; a trial forgets them.
	Ring, Formed, Opened, Panels any
}

var onTheFold = []string{"on the fold", "on fold"}

// OutlineOf is a drawing's outline as worn, one closed curve.
func (e *Draft) OutlineOf(name string, p *Parser, at int) curve.Curve {
	d := e.Drawings[name]
	d.WorkOut(e, p, at)
	var c curve.Curve
	for _, ed := range d.Edges {
		c = append(c, ed.Curve...)
	}
	return c
}

// WorkOut chains a drawing's edges into its outline.
func (d *Drawing) WorkOut(e *Draft, asker *Parser, at int) {
	switch d.State {
	case 2:
		return
	case 3:
		panic(sentence.Blocked{})
	case 1:
		asker.Fail(at, sentence.Quote(d.Name)+" leads back to its own outline", "")
	}
	d.State = 1
	if !e.Try(func() { d.chain() }) {
		d.State = 3
		panic(sentence.Blocked{})
	}
	d.State = 2
}

func (d *Drawing) chain() {
	if d.Outline == nil {
		panic(sentence.Stop{Fault: sentence.Fault{File: d.Scope.Draft.Document.Name, Line: d.Scope.Draft.Document.LineOf[d.Name], Column: 1,
			Text: "the drawing " + sentence.Quote(d.Name) + " has no outline", Mend: "add outline: and its edges in order"}})
	}
	p := NewParser(d.Outline, d.Scope)
	var starts []int
	for {
		p.Space()
		at := p.At
		def := p.TakeDefinition(EdgeKind)
		ed := curve.Edge{Name: def.name, Curve: def.Curve, Line: def.Line, Column: def.Column}
		ed.Fold = p.TakeAny(onTheFold...) != ""
		if ed.Fold && (len(ed.Curve) != 1 || ed.Curve[0].Cubic || ed.Curve[0].IsArc()) {
			p.Fail(at, "the fold "+sentence.Quote(def.name)+" is not straight", "a fold is one straight line")
		}
		d.Edges = append(d.Edges, ed)
		starts = append(starts, at)
		if !p.Sign(',') {
			break
		}
	}
	p.End()
	d.orient(p, starts)
	d.uncrossed(p, starts)
}

// uncrossed refuses an outline that runs through itself, which some bodies make of a draft that is
// sound for others. Coarse chords find nearly all outlines sound at once; fine ones decide.
func (d *Drawing) uncrossed(p *Parser, starts []int) {
	for _, tol := range []float64{0.2, geom.FlattenTol} {
		line, firsts := d.Scope.Draft.FlattenTo(d.Edges, tol)
		found := line.SelfCrossings(1)
		if len(found) == 0 {
			return
		}
		if tol > geom.FlattenTol {
			continue
		}
		of := func(segment int) int {
			k := 0
			for k+1 < len(firsts) && firsts[k+1] <= segment {
				k++
			}
			return k
		}
		a, b := of(found[0].I), of(found[0].J)
		at := geom.Mul(orb.Point{found[0].At[0], -found[0].At[1]}, 1/d.Scope.Draft.UnitMM)
		text := fmt.Sprintf("%q runs through %q at %s, so that the outline of %q crosses itself", d.Edges[b].Name, d.Edges[a].Name, FormatPoint(at), d.Name)
		if a == b {
			text = fmt.Sprintf("%q runs through itself at %s", d.Edges[a].Name, FormatPoint(at))
		}
		p.Fail(starts[b], text, "move the points of one of the two, or look at the measures from which they come")
	}
}

// orient turns the edges so that each begins where the one before ends.
func (d *Drawing) orient(p *Parser, starts []int) {
	tol := d.Scope.Draft.Hair()
	n := len(d.Edges)
	if n < 2 {
		p.Fail(0, "an outline has at least two edges", "name all edges in order round the piece")
	}
	first, second := &d.Edges[0], d.Edges[1]
	touches := func(q orb.Point, c curve.Curve) bool {
		return geom.Dist(q, c.Start()) <= tol || geom.Dist(q, c.End()) <= tol
	}
	if !touches(first.Curve.End(), second.Curve) || n == 2 && geom.Dist(first.Curve.End(), second.Curve.End()) <= tol {
		first.Curve = first.Curve.Reversed()
	}
	for i := 1; i <= n; i++ {
		prev, cur := d.Edges[i-1], &d.Edges[i%n]
		at := prev.Curve.End()
		switch {
		case geom.Dist(at, cur.Curve.Start()) <= tol:
		case i < n && geom.Dist(at, cur.Curve.End()) <= tol:
			cur.Curve = cur.Curve.Reversed()
		default:
			gap := math.Min(geom.Dist(at, cur.Curve.Start()), geom.Dist(at, cur.Curve.End()))
			p.Fail(starts[i%n], fmt.Sprintf("%q does not begin where %q ends: they lie %s apart, at %s and %s",
				cur.Name, prev.Name, sentence.FormatNumber(gap), FormatPoint(at), FormatPoint(cur.Curve.Start())), "let both end at one and the same point, or name the edge that lies between them")
		}
	}
}
