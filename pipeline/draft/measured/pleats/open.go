package pleats

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
)

// Opened is a drawing with its pleats opened, those between two edges: the outline that is cut.
type Opened struct {
	Edges []curve.Edge
	Turns []fold
	// maps bring each layer from the worn shape to the flat cloth: the first lies as worn, each
	// fold mirrors what lies beyond it.
	maps []geom.Affine
	// seen are the layers that are seen when worn, with the line at which each begins.
	seen  []seenFrom
	Ahead orb.Point // how the first edge runs
	e1    int
	e2    int
	Lines []InnerLine
	Tacks []orb.Point
	// before are the pleats between two other edges, which were opened first: this one opens what they left.
	Before *Opened
	// Worn are the edges with the pleats closed, of a drawing that lies flat; of others the form has them.
	Worn []curve.Edge
	flat *flatRun
}

type seenFrom struct {
	layer  int
	at, to orb.Point
}

// InnerLine is a line to be drawn inside the piece.
type InnerLine struct {
	From, To orb.Point
	Name     string
	Ends     bool   // nicks at its ends
	At       [2]int // the edges at which it ends, where there are nicks
	Place    bool   // one place, as of a button: it is drawn from side to side of it
	Cut      bool   // a buttonhole that is cut, where the cloth does not fray
	Slit     bool   // cut into the piece, from the cut line where it begins at an edge
	// Path is a curved line in chords, from From to To, and Told the places between them through which it is chalked.
	Path, Told []orb.Point
}

// OpenedOf opens all pleats of a drawing; nil where there are none, or they are refused. Those between the same two
// edges are opened together, and each such set opens what the ones before left.
func OpenedOf(d *drafting.Drawing) *Opened {
	if len(Read(d)) == 0 {
		return nil
	}
	return drafting.Once(d, &d.Opened, func() *Opened {
		e, f := d.Scope.Context, darts.FormOf(d)
		if f == nil {
			return nil
		}
		var sets [][]pleat
		for _, s := range Read(d) {
			pl := s.workOut(d)
			if e.Blocked() {
				return nil
			}
			for _, i := range []*int{&pl.FirstEdge, &pl.SecondEdge} {
				if *i = curve.IndexOf(f.Edges, d.Edges[*i].Name); *i < 0 {
					pl.refuse("it runs to the mouth of a dart that is moved away", "name the edge beside it")
				}
			}
			if pl.carry(d); e.Blocked() {
				return nil
			}
			sets = inSet(sets, pl)
		}
		var o *Opened
		worn, flat := flatOf(d, sets, f)
		if e.Blocked() {
			return nil
		}
		edges := worn
		for _, set := range sets {
			if o = openSet(d, set, edges, o); e.Blocked() {
				return nil
			}
			edges = o.Edges
		}
		if flat != nil {
			o.lieFlat(flat, worn)
		}
		return o
	})
}

// inSet puts a pleat to those that run between the same two edges.
func inSet(sets [][]pleat, pl pleat) [][]pleat {
	for k, set := range sets {
		if e := set[0]; e.FirstEdge == pl.FirstEdge && e.SecondEdge == pl.SecondEdge || e.FirstEdge == pl.SecondEdge && e.SecondEdge == pl.FirstEdge {
			sets[k] = append(set, pl)
			return sets
		}
	}
	return append(sets, []pleat{pl})
}

// openSet opens the pleats between two edges.
func openSet(d *drafting.Drawing, all []pleat, edges []curve.Edge, prev *Opened) *Opened {
	e1, e2 := sides(edges, all[0].FirstEdge, all[0].SecondEdge)
	for i := range all {
		pl := &all[i]
		if pl.FirstEdge == e2 {
			pl.FirstEdge, pl.SecondEdge, pl.d1, pl.d2 = e1, e2, pl.d2, pl.d1
		}
		if prev != nil {
			pl.bring(d, prev)
		}
		if pl.lay(d, edges); d.Scope.Context.Blocked() {
			return nil
		}
		if pl.clearOfEdges(d, edges, prev); d.Scope.Context.Blocked() {
			return nil
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return curve.Before(all[i].turns[0].a, all[j].turns[0].a) })
	if refuseOverlaps(d, all, edges); d.Scope.Context.Blocked() {
		return nil
	}
	return unfold(d, all, edges, prev)
}

// bring moves a pleat's line to where it lies once other pleats are opened.
func (pl *pleat) bring(d *drafting.Drawing, prev *Opened) {
	if pl.stitchedTo != nil {
		q := prev.Flat(*pl.stitchedTo)
		pl.stitchedTo = &q
	}
	if pl.onFold {
		return
	}
	edges := darts.FormOf(d).Edges
	c1, c2 := edges[pl.FirstEdge], edges[pl.SecondEdge]
	p1, p2 := pl.crossEdge(c1.Curve, pl.Line, c1.Name), pl.crossEdge(c2.Curve, pl.Line, c2.Name)
	q1, q2 := c1.Curve[p1.Index].At(p1.T), c2.Curve[p2.Index].At(p2.T)
	a, b, m := prev.Flat(q1), prev.Flat(q2), prev.Flat(geom.Lerp(q1, q2, 0.5))
	if hair := 10 * d.Scope.Context.Hair(); geom.Dist(m, geom.Lerp(a, b, 0.5)) > hair || math.Abs(geom.Dist(a, b)-geom.Dist(q1, q2)) > hair {
		pl.refuse("it runs across a pleat between other edges", "let both run between the same two edges, or draw the piece in two drawings")
	}
	pl.Line = curve.Locus{Point: a, Along: geom.Unit(geom.Sub(b, a))}
}

// carry brings a pleat's line to where it lies once the drawing is shaped. The line must lie in one
// part of the cloth: a cut that runs across it would leave it in two.
func (pl *pleat) carry(d *drafting.Drawing) {
	ring := darts.RingOf(d)
	if ring == nil || len(ring.Stages) == 0 {
		return
	}
	stages := ring.Stages
	if pl.stitchedTo != nil {
		q := darts.Carry(stages, *pl.stitchedTo)
		pl.stitchedTo = &q
	}
	if pl.onFold {
		return
	}
	q1, q2 := pl.crossNamed(drawn(d), pl.Sentence.first), pl.crossNamed(drawn(d), pl.Sentence.second)
	a, b, m := darts.Carry(stages, q1), darts.Carry(stages, q2), darts.Carry(stages, geom.Lerp(q1, q2, 0.5))
	if geom.Dist(m, geom.Lerp(a, b, 0.5)) > 10*d.Scope.Context.Hair() || math.Abs(geom.Dist(a, b)-geom.Dist(q1, q2)) > 10*d.Scope.Context.Hair() {
		pl.refuse(fmt.Sprintf("its line, from %s to %s, runs across a cut by which a dart is moved or the piece is flared", pl.parser.Where(q1), pl.parser.Where(q2)),
			"lay it beside the cut, or move the dart to another place")
	}
	pl.Line = curve.Locus{Point: a, Along: geom.Unit(geom.Sub(b, a))}
}

// drawn is a drawing as it was before princess seams divided it.
func drawn(d *drafting.Drawing) *drafting.Drawing {
	for d.Whole != nil {
		d = d.Whole
	}
	return d
}

// crossNamed is where a pleat's own line crosses an edge as drawn.
func (pl *pleat) crossNamed(d *drafting.Drawing, name string) orb.Point {
	i := curve.IndexOf(d.Edges, name)
	at := pl.crossEdge(d.Edges[i].Curve, pl.Line, name)
	return d.Edges[i].Curve[at.Index].At(at.T)
}

// clearOfEdges refuses a pleat one of whose folds runs through a dart, or through a pleat that was opened before.
func (pl *pleat) clearOfEdges(d *drafting.Drawing, edges []curve.Edge, o *Opened) {
	f := darts.FormOf(d)
	for _, t := range pl.turns {
		fold := geom.Path{Points: []orb.Point{edges[pl.FirstEdge].Curve[t.a.Index].At(t.a.T), edges[pl.SecondEdge].Curve[t.b.Index].At(t.b.T)}}
		through := func(name, mend string, pts ...orb.Point) {
			if len(geom.Crossings(fold, geom.Path{Points: pts})) > 0 {
				pl.refuse("a fold of it runs through "+name, mend)
			}
		}
		const beside = "lay the pleat beside the dart, or let the pleat take what the dart takes"
		for _, t := range f.Darts {
			through("the "+t.Name, beside, o.Flat(t.LegA), o.Flat(t.Apex), o.Flat(t.LegB))
		}
		for _, t := range f.Inside {
			t = t.Apply(o.Flat)
			through("the "+t.Name, beside, t.Ends[0], t.Wide[0], t.Ends[1], t.Wide[1], t.Ends[0])
		}
		for _, t := range f.Folds {
			line := t.Outline()
			for i, q := range line.Points {
				line.Points[i] = o.Flat(q)
			}
			through("the princess fold", beside, append(line.Points, line.Points[0])...)
		}
		if o == nil {
			continue
		}
		for _, l := range o.Lines {
			through("a pleat between other edges", "let both run between the same two edges, or draw the piece in two drawings", l.From, l.To)
		}
	}
}

// CrossesPart tells whether a pleat of a divided drawing lies in one of its parts.
func (s *Sentence) CrossesPart(part *drafting.Drawing) bool {
	fold := slices.ContainsFunc(part.Edges, func(ed curve.Edge) bool { return ed.Fold })
	if s.onFold {
		return fold
	}
	crosses := true
	e := part.Scope.Context
	faults := len(e.Faults)
	ok := e.Try(func() {
		pl := s.workOut(part)
		if pl.FirstEdge < 0 || pl.SecondEdge < 0 {
			crosses = false
			return
		}
		ring := darts.RingOf(part)
		pl.carry(part)
		for _, i := range []int{pl.FirstEdge, pl.SecondEdge} {
			crosses = crosses && len(ring.Edges[i].Curve.Meets(pl.Line.Point, pl.Line.Along)) > 0
		}
	})
	e.Faults = e.Faults[:faults] // the other part is asked too, or the seam runs through it
	return ok && crosses
}
