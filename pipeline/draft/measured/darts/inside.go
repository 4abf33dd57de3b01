package darts

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// insideDart lies wholly inside the piece, widest at the waist and running to nothing both ways. It
// changes nothing of the outline.
type insideDart struct {
	Name   string
	parser *tree.Parser
	// Ends are its points, above and below, Wide are where it is widest, toward the centre first.
	Ends, Wide [2]orb.Point
}

// ToldAt is the line of the draft that says it.
func (t insideDart) ToldAt() int { return t.parser.Sentence.Line }

// isInside tells a dart inside the piece from one that is drawn to an edge.
func isInside(x sentence.Entry) bool {
	return x.Sentence != nil && (&sentence.Cursor{Sentence: x.Sentence}).Is("at") >= 0 && !isAtEdge(x)
}

// insideSentence is what the sentence of a dart inside the piece says.
type insideSentence struct {
	name     string
	parser   *tree.Parser
	at       tree.Point
	takes    tree.Number
	ends     [2]tree.Point // of one that leans
	up, down tree.Number
	runsAt   int // where it is told how the dart runs
}

// readInside reads "at W, takes 3, 15 up and 12 down", and "at W, takes 3, to A and B" for one that leans.
func readInside(d *drafting.Drawing, x sentence.Entry) *insideSentence {
	p := tree.NewParser(x.Sentence, d.Scope)
	t := &insideSentence{name: x.Key, parser: p}
	p.Want("at", "")
	t.at = p.Point()
	t.takes = dartTakes(p, "where it is widest")
	if p.Take("to") {
		t.runsAt = p.At
		t.ends[0] = p.Point()
		p.Want("and", " and the dart's other point")
		t.ends[1] = p.Point()
	} else {
		if p.Done() {
			p.Fail(p.At, "how far the dart runs is not said", "add 15 up and 12 down, or to and its two points")
		}
		t.runsAt = p.At
		t.up = p.Sum()
		if p.Is("down") >= 0 {
			p.Fail(t.runsAt, "a dart that runs one way only begins at an edge", "say "+p.Said(t.runsAt)+" long, with its place on that edge")
		}
		p.Want("up", " and how far up the dart runs")
		p.Take("and")
		p.Sign(',')
		t.down = p.Sum()
		p.Want("down", " and how far down the dart runs")
	}
	p.End()
	return t
}

// draw finds the dart's points; they are of no use where it is refused.
func (t *insideSentence) draw(d *drafting.Drawing) insideDart {
	e, p := d.Scope.Context, t.parser
	out := insideDart{Name: t.name, parser: p}
	c, take := t.at(), t.takes()
	if t.up == nil {
		a, b := t.ends[0](), t.ends[1]()
		out.Ends = [2]orb.Point{a, b}
		if off := math.Abs(geom.Cross(geom.Unit(geom.Sub(b, a)), geom.Sub(c, a))); !(off <= 10*e.Hair()) || geom.Dot(geom.Sub(a, c), geom.Sub(b, c)) >= 0 {
			p.Refuse(t.runsAt, fmt.Sprintf("the dart's points %s and %s do not lie on one line with its middle %s between them", t.parser.Where(a), t.parser.Where(b), t.parser.Where(c)), "draw the line first, and take the middle along it")
		}
	} else {
		up, down := t.up(), t.down()
		if up <= 0 || down <= 0 {
			p.Refuse(t.runsAt, fmt.Sprintf("a dart %s up and %s down", p.Say(up), p.Say(down)), "it runs both ways; one that begins at an edge is drawn from leg to point to leg")
		}
		out.Ends = [2]orb.Point{geom.Sub(c, orb.Point{0, up}), geom.Add(c, orb.Point{0, down})}
	}
	n := geom.Mul(geom.Left(geom.Unit(geom.Sub(out.Ends[1], out.Ends[0]))), take/2)
	if n[0] > 0 {
		n = geom.Mul(n, -1)
	}
	out.Wide = [2]orb.Point{geom.Add(c, n), geom.Sub(c, n)}
	if !e.Blocked() {
		out.holds(d)
	}
	return out
}

// dartTakes reads ", takes 3," of a dart.
func dartTakes(p *tree.Parser, where string) tree.Number {
	p.Sign(',')
	p.Want("takes", " and how much the dart takes "+where)
	take := p.SumWhere(tree.AtLeast0, "a dart cannot take %s", "say more than 0; with 0 it is not drawn")
	p.Sign(',')
	return take
}

// holds refuses a dart that reaches out of the piece.
func (t insideDart) holds(d *drafting.Drawing) {
	e := d.Scope.Context
	line, _ := e.FlattenTo(d.Edges, 0.2)
	for _, q := range t.Line().Points {
		if !line.Contains(e.ToMM(q)) {
			t.parser.Unfit(0, "it reaches out of the piece at "+t.parser.Where(q), "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
		}
	}
	if len(geom.Crossings(t.Apply(func(q orb.Point) orb.Point { return e.ToMM(q) }).Line(), line)) > 0 {
		t.parser.Refuse(0, "it runs out of the piece", "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
	}
}

// Line is its outline, closed.
func (t insideDart) Line() geom.Path {
	return geom.Path{Points: []orb.Point{t.Ends[0], t.Wide[0], t.Ends[1], t.Wide[1]}, Closed: true}
}

// Apply brings the dart's points elsewhere.
func (t insideDart) Apply(to func(orb.Point) orb.Point) insideDart {
	for k := range 2 {
		t.Ends[k], t.Wide[k] = to(t.Ends[k]), to(t.Wide[k])
	}
	return t
}

// chordAt is how wide a dart is at a level.
func chordAt(line geom.Path, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range line.Segments() {
		a, b := line.Segment(i)
		if (a[1] <= y) != (b[1] <= y) {
			x := a[0] + (b[0]-a[0])*(y-a[1])/(b[1]-a[1])
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return math.Max(0, hi-lo)
}

// TakenAt is how much of a drawing's width its darts take at a level, as it is drawn. A dart may not ask for it, in p
// at rune i, of its own drawing.
func TakenAt(d *drafting.Drawing, y float64, p *tree.Parser, i int) float64 {
	r := Read(d)
	if r.asked {
		p.Refuse(i, "what the darts of "+sentence.Quote(d.Name)+" take leads back to itself", "tell the dart without the sewn width")
		return 0
	}
	r.asked = true
	defer func(r *shapes) { r.asked = false }(r)
	var sum float64
	r = r.taking(d)
	if r == nil {
		return 0
	}
	for _, t := range r.inside {
		sum += chordAt(t.draw(d).Line(), y)
	}
	for _, t := range r.darts {
		if o := t.draw(d); o != nil {
			sum += chordAt(geom.Path{Points: []orb.Point{o.a, o.p, o.b}, Closed: true}, y)
		}
	}
	return sum
}

// TakenInsideAt is how much of a panel's width the darts inside it take at a level.
func TakenInsideAt(d *drafting.Drawing, y float64) float64 {
	var sum float64
	s := RingOf(d)
	if s == nil {
		return 0
	}
	for _, t := range s.Inside {
		sum += chordAt(t.Line(), y)
	}
	return sum
}
