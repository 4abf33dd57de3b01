package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// insideDart lies wholly inside the piece, widest at the waist and running to nothing both ways. It
// changes nothing of the outline.
type insideDart struct {
	name string
	s    *sentence
	// ends are its points, above and below; wide are where it is widest, toward the centre first.
	ends, wide [2]orb.Point
}

// isInside tells a dart inside the piece from one that is drawn to an edge.
func isInside(x entry) bool {
	return x.s != nil && (&cursor{s: x.s}).is("at") >= 0 && !isAtEdge(x)
}

// readInside reads "at W, takes 3, 15 up and 12 down", and "at W, takes 3, to A and B" for one that leans.
func (d *drawing) readInside(x entry) insideDart {
	p := newParser(x.s, d.sc)
	p.want("at", "")
	c := p.point()
	take := p.dartTakes("where it is widest")
	t := insideDart{name: x.key, s: x.s}
	if p.take("to") {
		at := p.i
		a := p.point()
		p.want("and", " and the dart's other point")
		b := p.point()
		t.ends = [2]orb.Point{a, b}
		if off := math.Abs(geom.Cross(geom.Unit(geom.Sub(b, a)), geom.Sub(c, a))); !(off <= 10*d.sc.eng.hair()) || geom.Dot(geom.Sub(a, c), geom.Sub(b, c)) >= 0 {
			p.fail(at, fmt.Sprintf("the dart's points %s and %s do not lie on one line with its middle %s between them", spot(a), spot(b), spot(c)), "draw the line first, and take the middle along it")
		}
	} else {
		if p.done() {
			p.fail(p.i, "how far the dart runs is not said", "add 15 up and 12 down, or to and its two points")
		}
		at := p.i
		up := p.sum()
		if p.is("down") >= 0 {
			p.fail(at, "a dart that runs one way only begins at an edge", "say "+num(up)+" long, with its place on that edge")
		}
		p.want("up", " and how far up the dart runs")
		p.take("and")
		p.sign(',')
		down := p.sum()
		p.want("down", " and how far down the dart runs")
		if up <= 0 || down <= 0 {
			p.fail(at, fmt.Sprintf("a dart %s up and %s down", num(up), num(down)), "it runs both ways; one that begins at an edge is drawn from leg to point to leg")
		}
		t.ends = [2]orb.Point{geom.Sub(c, orb.Point{0, up}), geom.Add(c, orb.Point{0, down})}
	}
	p.end()
	n := geom.Mul(geom.Left(geom.Unit(geom.Sub(t.ends[1], t.ends[0]))), take/2)
	if n[0] > 0 {
		n = geom.Mul(n, -1)
	}
	t.wide = [2]orb.Point{geom.Add(c, n), geom.Sub(c, n)}
	d.holdsInside(p, t)
	return t
}

// dartTakes reads ", takes 3," of a dart.
func (p *parser) dartTakes(where string) float64 {
	p.sign(',')
	p.want("takes", " and how much the dart takes "+where)
	at := p.i
	take := p.sum()
	if take <= 0 {
		p.fail(at, "a dart cannot take "+num(take), "say more than 0")
	}
	p.sign(',')
	return take
}

// holdsInside refuses a dart that reaches out of the piece.
func (d *drawing) holdsInside(p *parser, t insideDart) {
	e := d.sc.eng
	line, _ := e.flattenTo(d.edges, 0.2)
	for _, q := range t.line().Points {
		if !line.Contains(e.mm(q)) {
			p.fail(0, "it reaches out of the piece at "+spot(q), "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
		}
	}
	if len(geom.Crossings(t.apply(func(q orb.Point) orb.Point { return e.mm(q) }).line(), line)) > 0 {
		p.fail(0, "it runs out of the piece", "make it shorter or narrower, or draw it to the edge, from leg to point to leg")
	}
}

func (t insideDart) line() geom.Path {
	return geom.Path{Points: []orb.Point{t.ends[0], t.wide[0], t.ends[1], t.wide[1]}, Closed: true}
}

// apply brings the dart's points elsewhere.
func (t insideDart) apply(to func(orb.Point) orb.Point) insideDart {
	for k := range 2 {
		t.ends[k], t.wide[k] = to(t.ends[k]), to(t.wide[k])
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

// taken is how much of a drawing's width its darts take at a level, as it is drawn.
func (d *drawing) taken(y float64) float64 {
	var sum float64
	for _, x := range d.shapes {
		switch {
		case !isDartKey(x.key) || x.s == nil:
		case isInside(x):
			sum += chordAt(d.readInside(x).line(), y)
		default:
			t := d.readDart(x)
			sum += chordAt(geom.Path{Points: []orb.Point{t.a, t.p, t.b}, Closed: true}, y)
		}
	}
	return sum
}

// takenInside is how much of a panel's width the darts inside it take at a level.
func (d *drawing) takenInside(y float64) float64 {
	var sum float64
	for _, t := range d.shaped().inside {
		sum += chordAt(t.line(), y)
	}
	return sum
}

// markInside draws the darts that lie inside the piece; holes stand half an inch inside the points and
// an eighth inside the widest places, so that they are sewn in (common practice).
func (pc *piece) markInside() {
	e := pc.sc.eng
	for _, t := range pc.form.inside {
		t = t.apply(pc.opened)
		mid := geom.Lerp(t.wide[0], t.wide[1], 0.5)
		toward := func(q orb.Point, mm float64) orb.Point {
			return geom.Lerp(q, mid, math.Min(0.5, mm/e.unitMM/geom.Dist(q, mid)))
		}
		for k := range 2 {
			for _, end := range t.ends {
				pc.marks = append(pc.marks, innerLine{a: t.wide[k], b: end, name: "dart leg"})
			}
			pc.drills = append(pc.drills, toward(t.ends[k], 13), toward(t.wide[k], 3))
		}
	}
}
