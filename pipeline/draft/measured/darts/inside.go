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
	Name string
	s    *sentence.Sentence
	// ends are its points, above and below; wide are where it is widest, toward the centre first.
	Ends, Wide [2]orb.Point
}

// isInside tells a dart inside the piece from one that is drawn to an edge.
func isInside(x sentence.Entry) bool {
	return x.Sentence != nil && (&sentence.Cursor{Sentence: x.Sentence}).Is("at") >= 0 && !isAtEdge(x)
}

// readInside reads "at W, takes 3, 15 up and 12 down", and "at W, takes 3, to A and B" for one that leans.
func readInside(d *drafting.Drawing, x sentence.Entry) insideDart {
	p := tree.NewParser(x.Sentence, d.Scope)
	p.Want("at", "")
	c := tree.Now(p, p.Point())
	take := dartTakes(p, "where it is widest")
	t := insideDart{Name: x.Key, s: x.Sentence}
	if p.Take("to") {
		at := p.At
		a := tree.Now(p, p.Point())
		p.Want("and", " and the dart's other point")
		b := tree.Now(p, p.Point())
		t.Ends = [2]orb.Point{a, b}
		if off := math.Abs(geom.Cross(geom.Unit(geom.Sub(b, a)), geom.Sub(c, a))); !(off <= 10*d.Scope.Context.Hair()) || geom.Dot(geom.Sub(a, c), geom.Sub(b, c)) >= 0 {
			p.Fail(at, fmt.Sprintf("the dart's points %s and %s do not lie on one line with its middle %s between them", tree.FormatPoint(a), tree.FormatPoint(b), tree.FormatPoint(c)), "draw the line first, and take the middle along it")
		}
	} else {
		if p.Done() {
			p.Fail(p.At, "how far the dart runs is not said", "add 15 up and 12 down, or to and its two points")
		}
		at := p.At
		up := tree.Now(p, p.Sum())
		if p.Is("down") >= 0 {
			p.Fail(at, "a dart that runs one way only begins at an edge", "say "+sentence.FormatNumber(up)+" long, with its place on that edge")
		}
		p.Want("up", " and how far up the dart runs")
		p.Take("and")
		p.Sign(',')
		down := tree.Now(p, p.Sum())
		p.Want("down", " and how far down the dart runs")
		if up <= 0 || down <= 0 {
			p.Fail(at, fmt.Sprintf("a dart %s up and %s down", sentence.FormatNumber(up), sentence.FormatNumber(down)), "it runs both ways; one that begins at an edge is drawn from leg to point to leg")
		}
		t.Ends = [2]orb.Point{geom.Sub(c, orb.Point{0, up}), geom.Add(c, orb.Point{0, down})}
	}
	p.End()
	n := geom.Mul(geom.Left(geom.Unit(geom.Sub(t.Ends[1], t.Ends[0]))), take/2)
	if n[0] > 0 {
		n = geom.Mul(n, -1)
	}
	t.Wide = [2]orb.Point{geom.Add(c, n), geom.Sub(c, n)}
	holdsInside(d, p, t)
	return t
}

// dartTakes reads ", takes 3," of a dart.
func dartTakes(p *tree.Parser, where string) float64 {
	p.Sign(',')
	p.Want("takes", " and how much the dart takes "+where)
	at := p.At
	take := tree.Now(p, p.Sum())
	if take <= 0 {
		p.FailUnfit(at, "a dart cannot take "+sentence.FormatNumber(take), "say more than 0")
	}
	p.Sign(',')
	return take
}

// holdsInside refuses a dart that reaches out of the piece.
func holdsInside(d *drafting.Drawing, p *tree.Parser, t insideDart) {
	e := d.Scope.Context
	line, _ := e.FlattenTo(d.Edges, 0.2)
	for _, q := range t.Line().Points {
		if !line.Contains(e.ToMM(q)) {
			p.FailUnfit(0, "it reaches out of the piece at "+tree.FormatPoint(q), "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
		}
	}
	if len(geom.Crossings(t.Apply(func(q orb.Point) orb.Point { return e.ToMM(q) }).Line(), line)) > 0 {
		p.Fail(0, "it runs out of the piece", "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
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

// TakenAt is how much of a drawing's width its darts take at a level, as it is drawn.
func TakenAt(d *drafting.Drawing, y float64) float64 {
	var sum float64
	for _, x := range d.ShapeEntries {
		switch {
		case !drafting.IsDartKey(x.Key) || x.Sentence == nil:
		case isInside(x):
			sum += chordAt(readInside(d, x).Line(), y)
		default:
			t := readDart(d, x)
			sum += chordAt(geom.Path{Points: []orb.Point{t.a, t.p, t.b}, Closed: true}, y)
		}
	}
	return sum
}

// TakenInsideAt is how much of a panel's width the darts inside it take at a level.
func TakenInsideAt(d *drafting.Drawing, y float64) float64 {
	var sum float64
	for _, t := range RingOf(d).Inside {
		sum += chordAt(t.Line(), y)
	}
	return sum
}
