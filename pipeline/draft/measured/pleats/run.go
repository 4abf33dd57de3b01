package pleats

import (
	"fmt"
	"math"
	"slices"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// run is what the pleats told in one sentence share: "18 knife pleats facing out, evenly from A to B, to 74 finished".
type run struct {
	count    int
	ends     [2]tree.Point // on the first edge
	far      [2]tree.Point // on the second; nil where the folds run square to the line between the ends
	at       int
	finished tree.Number // how long the stretch is with the pleats closed, nil where that is not said
}

// flat tells of pleats in a drawing that lies flat: how deep they are follows from what is finished.
func (s *Sentence) flat() bool { return s.run != nil && s.depth == nil }

// readRun reads a run of pleats behind its number, and gives one sentence for each.
func readRun(d *drafting.Drawing, s *Sentence, count float64, whole bool, at int) []*Sentence {
	p := s.parser
	if !whole || count < 1 || count > 200 {
		p.Fail(at, sentence.FormatNumber(count)+" pleats", "say a whole number, 1 to 200")
	}
	r := &run{count: int(count)}
	s.run = r
	for p.Sign(',') {
		begin := p.At
		switch {
		case p.Take("evenly"):
			r.at = begin
			p.Want("from", " and the point where the run begins")
			r.ends = readEnds(p)
			if p.Take("and from") {
				r.far = readEnds(p)
			}
		case p.Take("to"):
			r.finished = p.SumWhere(tree.MoreThan0, "a run %s long", "it is more than 0")
			p.Take("finished")
		case p.Is("stitched") >= 0, p.Is("free") >= 0, p.Is("overlapping") >= 0:
			s.readClause(d)
		default:
			s.readSize(d)
		}
	}
	p.End()
	if r.ends[0] == nil {
		p.Fail(p.At, "where the run of pleats lies is not said", "say evenly from A to B, two points of an edge")
	}
	if s.depth == nil && r.finished == nil {
		p.Fail(p.At, "how deep the pleats are is not said", "say 2 deep, of a piece that is drawn as worn; or to 74 finished, of one that is drawn flat")
	}
	all := make([]*Sentence, r.count)
	for k := range all {
		one := *s
		one.nth, one.name = k, fmt.Sprintf("%s, number %d", s.name, k+1)
		all[k] = &one
	}
	return all
}

func readEnds(p *tree.Parser) (ends [2]tree.Point) {
	ends[0] = p.Point()
	p.Want("to", " and the point where the run ends")
	ends[1] = p.Point()
	return ends
}

// readSize reads "top to hem", "2 deep", "2 deep along the edge" or "6 wide".
func (s *Sentence) readSize(d *drafting.Drawing) {
	p := s.parser
	p.Space()
	begin := p.At
	if first, ok := p.Name(d.EdgeNames()); ok && p.Take("to") {
		s.first, s.second = first, d.EdgeNamed(p)
		return
	}
	p.At = begin
	if !p.Done() && !unicode.IsDigit(p.RuneAt(p.At)) && len(p.Scope.Names(tree.NumberKind)) == 0 {
		p.Fail(begin, p.Seen()+" is not said of a run of pleats", "say evenly from A to B, top to hem, 2 deep, to 74 finished, stitched or overlapping")
	}
	v := p.Sum()
	switch p.TakeAny("deep", "wide") {
	case "deep":
		s.depth, s.depthAt = v, begin
		s.readAlong()
	case "wide":
		if s.kind != "box" {
			p.Fail(begin, "a width is said of box pleats only", "take it out")
		}
		s.wide = v
	default:
		p.Fail(p.At, "what "+sentence.Quote(p.Said(begin))+" is of the pleats is not said", "say deep, or of box pleats wide")
	}
}

// readAlong reads whether the depth is measured along the edges, and not square to the fold.
func (s *Sentence) readAlong() {
	if s.parser.TakeAny("along the edge", "along the edges") != "" {
		s.alongEdge = true
	}
}

// hides is how many times its depth a pleat takes of the cloth's length.
func (s *Sentence) hides() float64 {
	if s.kind == "box" || s.kind == "inverted box" {
		return 4
	}
	return 2
}

// findEdges finds the edges between which a run lies where that is not said: the one on which both its ends lie, and
// the one opposite, which a line square to it from its middle meets first.
func (s *Sentence) findEdges(d *drafting.Drawing) {
	a, b := s.run.ends[0](), s.run.ends[1]()
	if s.parser.Scope.Context.Blocked() {
		return
	}
	for _, ed := range d.Edges {
		if curve.NearestOn(ed.Curve, a) >= 0 && curve.NearestOn(ed.Curve, b) >= 0 {
			s.first = ed.Name
		}
	}
	if s.first == "" {
		s.parser.Refuse(s.run.at, "the two points lie on no edge together", "name two points of one edge, at which the pleats begin")
		return
	}
	c := s.stretch(d, s.first, s.run.ends)
	if len(c) == 0 {
		return
	}
	mid, _ := c.At(c.Length() / 2)
	across := geom.Left(geom.Sub(b, a))
	nearest := math.Inf(1)
	for _, ed := range d.Edges {
		for _, at := range ed.Curve.Meets(mid, across) {
			if l := geom.Dist(ed.Curve[at.Index].At(at.T), mid); ed.Name != s.first && l < nearest {
				nearest, s.second = l, ed.Name
			}
		}
	}
	if s.second == "" {
		s.parser.Refuse(s.run.at, "no edge lies opposite the middle of the run", "say between which edges the pleats run: top to hem")
	}
}

// stretch is the part of an edge between two of its points, from the first to the second.
func (s *Sentence) stretch(d *drafting.Drawing, name string, ends [2]tree.Point) curve.Curve {
	i := curve.IndexOf(d.Edges, name)
	a, b := ends[0](), ends[1]()
	if s.parser.Scope.Context.Blocked() || i < 0 {
		return nil
	}
	c := d.Edges[i].Curve
	from, to := curve.NearestOn(c, a), curve.NearestOn(c, b)
	for k, l := range []float64{from, to} {
		if l < 0 {
			s.parser.Refuse(s.run.at, fmt.Sprintf("the point at %s does not lie on the edge %q", s.parser.Where([]orb.Point{a, b}[k]), name), "name two points of the edge at which the pleats begin")
			return nil
		}
	}
	return c.Between(c.PlaceAt(from), c.PlaceAt(to))
}

// spread gives the pleat its depth, its line and its box where the run puts it, in the drawing before it is divided.
func (pl *pleat) spread(d *drafting.Drawing) {
	r, p := pl.run, pl.parser
	d = drawn(d)
	c := pl.stretch(d, pl.Sentence.first, r.ends)
	if len(c) == 0 {
		if !p.Scope.Context.Blocked() {
			p.Refuse(r.at, "the run of pleats ends where it begins", "")
		}
		return
	}
	worn, n := c.Length(), float64(r.count)
	if r.finished != nil {
		if want := r.finished(); pl.flat() {
			if pl.d1 = (worn - want) / (n * pl.hides()); pl.d1 <= 0 {
				p.Unfit(r.at, fmt.Sprintf("%s of cloth is pleated to %s", p.Say(worn), p.Say(want)), "draw the piece wider, as it lies flat; or say how deep the pleats are, and draw it as worn")
			}
			worn = want
		} else if math.Abs(worn-want) > d.Scope.Context.Hair() {
			p.Unfit(r.at, fmt.Sprintf("the run is %s long as drawn, and %s finished is said", p.Say(worn), p.Say(want)), "draw the piece as worn; or take the depth out, and draw it flat")
		}
	}
	pl.d2 = pl.d1
	space := worn / n
	deep := pl.d1 // along the run, what one side of a pleat covers
	if pl.kind == "box" && pl.wide == nil {
		pl.half = min(space, max(space/2, 2*deep)) / 2
	}
	if room := map[string]float64{"box": 2 * pl.half, "inverted box": space}[pl.kind]; room > 0 {
		deep *= 2
		if !pl.overlap && deep > room+d.Scope.Context.Hair() {
			pl.tooDeep(deep, room)
		}
	} else if !pl.overlap && deep > space+d.Scope.Context.Hair() {
		pl.tooDeep(deep, space)
	}
	if p.Scope.Context.Blocked() {
		return
	}
	at := (float64(pl.nth) + 0.5) * space
	if pl.kind == "knife" || pl.kind == "tuck" { // what is hidden lies in the middle of its space
		if pl.out == (c.End()[0] > c.Start()[0]) {
			at += pl.d1 / 2
		} else {
			at -= pl.d1 / 2
		}
	}
	q, _ := c.At(at)
	along := geom.Left(geom.Unit(geom.Sub(c.End(), c.Start())))
	if pl.flat() {
		if q = geom.Add(c.Start(), geom.Mul(geom.Unit(geom.Sub(c.End(), c.Start())), at)); pl.endStays(d, c) {
			q = geom.Add(q, geom.Sub(c.End(), c.Start()))
			q = geom.Sub(q, geom.Mul(geom.Unit(geom.Sub(c.End(), c.Start())), worn))
		}
	}
	if r.far[0] != nil {
		other := pl.stretch(d, pl.Sentence.second, r.far)
		if len(other) == 0 {
			return
		}
		if pl.flat() {
			p.Refuse(r.at, "the folds of a piece that is drawn flat run square to the edge", "say how deep the pleats are, and draw the piece as worn")
			return
		}
		to, _ := other.At(at / worn * other.Length())
		along = geom.Unit(geom.Sub(to, q))
	}
	pl.Line = curve.Locus{Point: q, Along: along}
}

// endStays tells whether the end of a run stays where it is drawn when it is closed, and not where it begins.
func (pl *pleat) endStays(d *drafting.Drawing, c curve.Curve) bool {
	e1, _ := sides(d.Edges, pl.FirstEdge, pl.SecondEdge)
	whole := d.Edges[e1].Curve
	return geom.Dot(geom.Sub(whole.End(), whole.Start()), geom.Sub(c.End(), c.Start())) < 0
}

func (pl *pleat) tooDeep(deep, room float64) {
	pl.parser.Refuse(pl.run.at, fmt.Sprintf("each pleat hides %s beneath itself where there is room for %s", pl.parser.Say(deep), pl.parser.Say(room)),
		"say fewer pleats, make them less deep, or say overlapping")
}

// flatRun is where pleats lie in a drawing that is drawn flat.
type flatRun struct {
	from  orb.Point
	way   orb.Point
	long  float64   // of cloth
	takes float64   // by so much the pleats shorten it
	folds []float64 // along it, in order
}

// closeFlat closes the pleats of a drawing that lies flat: the part behind them comes nearer by the cloth that they hide. The
// edges that they cross are straight and run with them, or the closed edge would have steps.
func closeFlat(d *drafting.Drawing, pl *pleat, edges []curve.Edge) ([]curve.Edge, *flatRun) {
	c := pl.stretch(d, pl.Sentence.first, pl.run.ends)
	if len(c) == 0 {
		return nil, nil
	}
	if pl.endStays(d, c) {
		c = c.Reversed()
	}
	f := &flatRun{from: c.Start(), way: geom.Unit(geom.Sub(c.End(), c.Start())), long: geom.Dist(c.Start(), c.End()), takes: float64(pl.run.count) * pl.hides() * pl.d1}
	hair := d.Scope.Context.Hair()
	within := func(q orb.Point) bool { t := f.along(q); return t > hair && t < f.long-hair }
	out := slices.Clone(edges)
	for i, ed := range edges {
		out[i].Curve = make(curve.Curve, len(ed.Curve))
		for k, s := range ed.Curve {
			crosses := within(s.From) || within(s.To) || (f.along(s.From) <= hair) != (f.along(s.To) <= hair)
			for _, q := range s.Flatten(nil, 1e-3) {
				crosses = crosses || within(q)
			}
			switch {
			case !crosses && f.along(s.From) <= hair:
				out[i].Curve[k] = s
			case !crosses:
				out[i].Curve[k] = s.Apply(geom.Translate(-f.takes*f.way[0], -f.takes*f.way[1]))
			case s.Cubic || s.IsArc() || math.Abs(geom.Cross(f.way, geom.Sub(s.To, s.From))) > hair || within(s.From) || within(s.To):
				pl.parser.Refuse(pl.run.at, fmt.Sprintf("the edge %q does not run straight with the pleats all the way, and the piece is drawn flat", ed.Name), "let the run lie between two straight edges; or say how deep the pleats are, and draw the piece as worn")
				return nil, nil
			default:
				out[i].Curve[k] = curve.LineSeg(f.closed(s.From), f.closed(s.To))
			}
		}
	}
	return out, f
}

func (f *flatRun) along(q orb.Point) float64 { return geom.Dot(f.way, geom.Sub(q, f.from)) }

// closed brings a point of the flat drawing to where it lies with the pleats closed, also where it is hidden.
func (f *flatRun) closed(q orb.Point) orb.Point {
	t := f.along(q)
	to := t
	switch {
	case t >= f.long:
		to = t - f.takes
	case t > 0:
		at, sign, before := 0.0, 1.0, 0.0
		for _, x := range f.folds {
			if x >= t {
				break
			}
			at, sign, before = at+sign*(x-before), -sign, x
		}
		to = at + sign*(t-before)
	}
	return geom.Add(q, geom.Mul(f.way, to-t))
}

// DrawnFlat tells of a drawing that lies flat as it is drawn, and whose pleats were closed to sew it.
func (o *Opened) DrawnFlat() bool { return o != nil && o.flat != nil }

// Closed brings a point of a drawing that lies flat to where it is sewn.
func (o *Opened) Closed(q orb.Point) orb.Point { return o.flat.closed(q) }

// flatOf closes a drawing's pleats where it lies flat; of another it gives the edges as they are.
func flatOf(d *drafting.Drawing, sets [][]pleat, f *darts.Formed) ([]curve.Edge, *flatRun) {
	one := sets[0][0]
	for _, set := range sets {
		for i := range set {
			if !set[i].flat() {
				continue
			}
			if set[i].run != one.run || len(f.Darts)+len(f.Inside)+len(f.Folds) > 0 || d.Whole != nil {
				set[i].parser.Refuse(set[i].run.at, "a piece that is drawn flat has one run of pleats, and no dart or princess seam", "say how deep the pleats are, and draw the piece as worn")
				return nil, nil
			}
		}
	}
	if !one.flat() {
		return f.Edges, nil
	}
	return closeFlat(d, &one, f.Edges)
}

// lieFlat keeps where the folds lie in the drawing.
func (o *Opened) lieFlat(f *flatRun, worn []curve.Edge) {
	for _, t := range o.Turns {
		f.folds = append(f.folds, f.along(t.FlatA))
	}
	slices.Sort(f.folds)
	o.flat, o.Worn = f, worn
}
