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
	PleatEntries []sentence.Entry
	ShapeEntries []sentence.Entry // darts and flare, in the order in which they are told
	// princess divides the drawing in two panels, which are drawings of their own.
	PrincessEntry sentence.Entry
	Whole         *Drawing // of a panel
	// shape, formed, opened and panels are what is worked out of it above, once; a trial forgets them.
	Ring, Formed, Opened, Panels any

	parser   *Parser // of the outline
	named    []outlined
	readable bool
	state    state
}

var onTheFold = []string{"on the fold", "on fold"}

// outlined is an edge as it is named in an outline.
type outlined struct {
	*Definition
	fold bool
	at   int // where the name stands
	work func()
}

// readOutline reads the names of the edges in order round the piece.
func (d *Drawing) readOutline() {
	p := NewParser(d.Outline, d.Scope)
	d.parser = p
	for {
		p.Space()
		o := outlined{at: p.At}
		o.Definition, o.work = p.value(EdgeKind)
		o.fold = p.TakeAny(onTheFold...) != ""
		d.named = append(d.named, o)
		if !p.Sign(',') {
			break
		}
	}
	p.End()
}

// WorkOut chains a drawing's edges into its outline, once; false where that is refused, or where it is
// asked for while it is being worked out, at a place of asker's sentence.
func (d *Drawing) WorkOut(asker *Parser, at int) bool {
	e := d.Scope.Draft
	switch d.state {
	case working:
		asker.Refuse(at, sentence.Quote(d.Name)+" leads back to its own outline", "")
	case untouched:
		d.state = working
		if e.Try(d.chain) {
			d.state = worked
		} else {
			d.state = refused
		}
	}
	if d.state == refused {
		e.stuck = true
	}
	return d.state == worked
}

// Part is a drawing of its own that a seam cuts off this one.
func (d *Drawing) Part(edges []curve.Edge) *Drawing {
	return &Drawing{Name: d.Name, Scope: d.Scope, Outline: d.Outline, Edges: edges, Whole: d, state: worked}
}

// Drawn tells whether the outline is worked out.
func (d *Drawing) Drawn() bool { return d.state == worked }

func (d *Drawing) chain() {
	e, p := d.Scope.Draft, d.parser
	switch {
	case d.Outline == nil:
		e.refuse(sentence.Fault{File: e.Document.Name, Line: e.Document.LineOf[d.Name], Column: 1,
			Text: "the drawing " + sentence.Quote(d.Name) + " has no outline", Mend: "add outline: and its edges in order"})
		return
	case !d.readable:
		e.stuck = true
		return
	}
	for _, o := range d.named {
		o.work()
		ed := curve.Edge{Name: o.name, Curve: o.Curve, Line: o.Line, Column: o.Column, Fold: o.fold}
		if ed.Fold && (len(ed.Curve) != 1 || ed.Curve[0].Cubic || ed.Curve[0].IsArc()) {
			p.Refuse(o.at, "the fold "+sentence.Quote(o.name)+" is not straight", "a fold is one straight line")
		}
		if e.stuck {
			return
		}
		d.Edges = append(d.Edges, ed)
	}
	if d.orient(); !e.stuck {
		d.uncrossed()
	}
}

// uncrossed refuses an outline that runs through itself, which some bodies make of a draft that is
// sound for others. Coarse chords find nearly all outlines sound at once; fine ones decide.
func (d *Drawing) uncrossed() {
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
		d.parser.Refuse(d.named[b].at, text, "move the points of one of the two, or look at the measures from which they come")
	}
}

// orient turns the edges so that each begins where the one before ends.
func (d *Drawing) orient() {
	tol := d.Scope.Draft.Hair()
	n := len(d.Edges)
	if n < 2 {
		d.parser.Refuse(0, "an outline has at least two edges", "name all edges in order round the piece")
		return
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
			d.parser.Refuse(d.named[i%n].at, fmt.Sprintf("%q does not begin where %q ends: they lie %s apart, at %s and %s",
				cur.Name, prev.Name, sentence.FormatNumber(gap), FormatPoint(at), FormatPoint(cur.Curve.Start())), "let both end at one and the same point, or name the edge that lies between them")
		}
	}
}
