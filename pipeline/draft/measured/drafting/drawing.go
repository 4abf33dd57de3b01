package drafting

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	yaml "go.yaml.in/yaml/v4"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Drawing is one part as it is drafted, with its outline and what is folded into it.
type Drawing struct {
	Name         string
	At           *yaml.Node // where it is named
	Lent         bool       // it comes from a block, and is read and worked out only where it is Wanted
	Wanted       bool       // a piece is made of it
	Scope        *tree.Scope
	Outline      *sentence.Sentence
	Edges        []curve.Edge // in order round the piece, once worked out
	PleatEntries []sentence.Entry
	ShapeEntries []sentence.Entry // darts and flare, in the order in which they are told
	// PrincessEntry divides the drawing in two panels, which are drawings of their own; folded, it leaves it whole.
	PrincessEntry sentence.Entry
	Whole         *Drawing     // of a panel
	Extended      []curve.Edge // as drawn, those that are laid farther out
	// Shapes, Pleats and Princess are those entries as the rooms above read them.
	Shapes, Pleats, Princess any
	// Ring, Formed, Opened and Panels are worked out of it above, see Once; a trial forgets them, and fitted.
	Ring, Formed, Opened, Panels any
	fitted                       *fitted

	traced *Drawing // whose sentences it begins with, nil for most

	parser   *tree.Parser // of the outline
	named    []outlined
	alters   []alterStep // what fittings do to the outline, in their order
	readable bool
	state    int
}

// How far an outline is.
const (
	untouched = iota
	working
	worked
	refused
)

var onTheFold = []string{"on the fold", "on fold"}

// outlined is an edge as it is named in an outline.
type outlined struct {
	tree.Use
	work func() curve.Curve
	fold bool
	by   tree.Number // by how much it is laid farther out, nil for most
}

// readOutline reads the names of the edges in order round the piece.
func (d *Drawing) readOutline() {
	p := tree.NewParser(d.Outline, d.Scope)
	d.parser = p
	for {
		o := outlined{work: p.Edge()}
		o.Use = p.Uses[len(p.Uses)-1]
		o.fold = p.TakeAny(onTheFold...) != ""
		if p.Take("extended") {
			o.by = p.SumWhere(tree.MoreThan0, "an edge extended %s", "it is more than 0")
		}
		d.named = append(d.named, o)
		if !p.Sign(',') {
			break
		}
	}
	p.End()
}

// WorkOut chains a drawing's edges into its outline, once; false where that is refused, or where it is
// asked for while it is being worked out, at a place of asker's sentence.
func (d *Drawing) WorkOut(asker *tree.Parser, at int) bool {
	d.Scope.Context.Rest()
	switch d.state {
	case working:
		asker.Refuse(at, sentence.Quote(d.Name)+" leads back to its own outline", "")
	case untouched:
		d.state = working
		ok := d.Scope.Context.Try(d.chain)
		if d.state = refused; ok {
			d.state = worked
		}
	}
	if d.state == refused {
		d.Scope.Context.Block()
	}
	return d.state == worked
}

// Once works out what is kept of a drawing when it is first asked for; nil where that is refused.
func Once[T any](d *Drawing, kept *any, work func() *T) *T {
	e := d.Scope.Context
	e.Rest()
	if e.Blocked() {
		return nil
	}
	if *kept == working {
		d.parser.Refuse(0, sentence.Quote(d.Name)+" leads back to its own shape: a dart, a pleat or a seam of it asks for what it makes", "tell it without a width or a length of the shaped piece")
		return nil
	}
	if got, ok := (*kept).(*T); ok {
		if got == nil {
			e.Block()
		}
		return got
	}
	*kept = working
	v := work()
	if e.Blocked() {
		v = nil
	}
	*kept = v
	return v
}

// EdgeNames lists the edges of the outline as they are named there.
func (d *Drawing) EdgeNames() []string {
	var names []string
	for _, o := range d.named {
		names = append(names, o.Name())
		if o.by != nil {
			names = append(names, "upper end of "+o.Name(), "lower end of "+o.Name())
		}
	}
	return names
}

// LeftOut tells what mends that an edge of the drawing stands in no outline; "" where a phrase begins with none such.
func (d *Drawing) LeftOut(phrase string) string {
	for _, n := range d.Scope.Order {
		if (phrase == n || strings.HasPrefix(phrase, n+" ")) && d.Scope.Definitions[n].Kind == tree.EdgeKind && !slices.Contains(d.EdgeNames(), n) {
			return "it is drawn: name it in the outline of " + sentence.Quote(d.Name) + ", where it lies"
		}
	}
	return ""
}

// EdgeNamed reads the name of an edge of the outline.
func (d *Drawing) EdgeNamed(p *tree.Parser) string {
	p.Space()
	at := p.At
	names := d.EdgeNames()
	n, ok := p.Name(names)
	if !ok && p.Take("the") {
		at = p.At
		n, ok = p.Name(names)
	}
	if !ok && !d.readable {
		p.GiveUp() // the outline may name it behind its own slip
	}
	if !ok {
		p.Fail(at, sentence.Quote(p.Word())+" is no edge of the outline of "+sentence.Quote(d.Name), cmp.Or(d.LeftOut(p.Phrase()), d.Scope.Context.Nearest(p.Word(), names)))
	}
	return n
}

// Part is a drawing of its own that a seam cuts off this one.
func (d *Drawing) Part(edges []curve.Edge) *Drawing {
	return &Drawing{Name: d.Name, At: d.At, Scope: d.Scope, Outline: d.Outline, Edges: edges, Whole: d, Extended: extendedOf(d, edges), parser: d.parser, state: worked}
}

// Readable tells whether all edges of the outline are known by name.
func (d *Drawing) Readable() bool { return d.readable }

func (d *Drawing) chain() {
	e := d.Scope.Context
	if d.Outline == nil {
		e.Fail(sentence.Fault{File: e.Document.Of(d.At).Name, Line: d.At.Line, Column: d.At.Column,
			Text: "the drawing " + sentence.Quote(d.Name) + " has no outline", Mend: "add outline: and its edges in order"})
		return
	}
	if !d.readable {
		e.Block()
	}
	for _, o := range d.named {
		ed := curve.Edge{Name: o.Name(), Curve: o.work(), Line: o.Line, Column: o.Column, Fold: o.fold}
		if ed.Fold && (len(ed.Curve) != 1 || ed.Curve[0].Cubic || ed.Curve[0].IsArc()) {
			d.parser.Refuse(o.From, "the fold "+sentence.Quote(ed.Name)+" is not straight", "a fold is one straight line")
		}
		d.Edges = append(d.Edges, ed)
	}
	if !e.Blocked() {
		d.orient()
	}
	if !e.Blocked() {
		d.noteCurvesPast()
		d.extend()
	}
	if !e.Blocked() {
		d.uncrossed()
	}
}

// extendedOf are the extended edges of a drawing that lie in a part of it.
func extendedOf(d *Drawing, edges []curve.Edge) []curve.Edge {
	var out []curve.Edge
	for _, ed := range d.Extended {
		if curve.IndexOf(edges, ed.Name) >= 0 {
			out = append(out, ed)
		}
	}
	return out
}

// extend lays the edges farther out that are told to be, as a button stand is beyond the centre: two short edges,
// square to the edge, lead to it. The line that was drawn is kept to be marked.
func (d *Drawing) extend() {
	side := curve.Orientation(d.Edges)
	var out []curve.Edge
	d.Extended = nil
	for i, ed := range d.Edges {
		o := d.named[i]
		if o.by == nil {
			out = append(out, ed)
			continue
		}
		if len(ed.Curve) != 1 || ed.Curve[0].Cubic || ed.Curve[0].IsArc() || ed.Fold {
			d.parser.Refuse(o.From, sentence.Quote(ed.Name)+" is extended, and is no straight edge off the fold", "extend a straight edge, as the centre front of a piece that buttons")
			return
		}
		a, b := ed.Curve.Start(), ed.Curve.End()
		away := geom.Mul(geom.Left(geom.Unit(geom.Sub(b, a))), -side*o.by())
		first, last := "upper end of ", "lower end of "
		if a[1] > b[1] {
			first, last = last, first
		}
		line := func(name string, from, to orb.Point) curve.Edge {
			return curve.Edge{Name: name, Curve: curve.Curve{curve.LineSeg(from, to)}, Line: ed.Line, Column: ed.Column}
		}
		out = append(out, line(first+ed.Name, a, geom.Add(a, away)), line(ed.Name, geom.Add(a, away), geom.Add(b, away)), line(last+ed.Name, geom.Add(b, away), b))
		d.Extended = append(d.Extended, ed)
	}
	d.Edges = out
}

// uncrossed refuses an outline that runs through itself, which some bodies make of a draft that is
// sound for others. Coarse chords find nearly all outlines sound at once; fine ones decide.
func (d *Drawing) uncrossed() {
	for _, tol := range []float64{0.2, geom.FlattenTol} {
		line, firsts := d.Scope.Context.FlattenTo(d.Edges, tol)
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
		at := geom.Mul(orb.Point{found[0].At[0], -found[0].At[1]}, 1/d.Scope.Context.UnitMM)
		text := fmt.Sprintf("%q runs through %q at %s, so that the outline of %q crosses itself", d.Edges[b].Name, d.Edges[a].Name, d.Scope.Where(at), d.Name)
		if a == b {
			text = fmt.Sprintf("%q runs through itself at %s", d.Edges[a].Name, d.Scope.Where(at))
		}
		d.parser.Refuse(d.named[min(b, len(d.named)-1)].From, text, "move the points of one of the two, or look at the measures from which they come")
	}
}

// orient turns the edges so that each begins where the one before ends.
func (d *Drawing) orient() {
	tol := d.Scope.Context.Hair()
	n := len(d.Edges)
	if n < 2 {
		d.parser.Refuse(0, "an outline has at least two edges", "name all edges in order round the piece")
		return
	}
	first, second := &d.Edges[0], d.Edges[1]
	away := func(q orb.Point, c curve.Curve) float64 {
		return math.Min(geom.Dist(q, c.Start()), geom.Dist(q, c.End()))
	}
	touches := func(q orb.Point, c curve.Curve) bool {
		return away(q, c) <= tol
	}
	if !touches(first.Curve.End(), second.Curve) && away(first.Curve.Start(), second.Curve) < away(first.Curve.End(), second.Curve) ||
		n == 2 && geom.Dist(first.Curve.End(), second.Curve.End()) <= tol {
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
			from := cur.Curve.Start()
			if geom.Dist(at, cur.Curve.End()) < geom.Dist(at, from) {
				from = cur.Curve.End()
			}
			d.parser.Refuse(d.named[i%n].From, fmt.Sprintf("%q does not begin where %q ends: they lie %s apart, at %s and %s",
				cur.Name, prev.Name, d.Scope.Context.Say(geom.Dist(at, from)), d.Scope.Where(at), d.Scope.Where(from)), "let both end at one and the same point, or name the edge that lies between them")
		}
	}
}
