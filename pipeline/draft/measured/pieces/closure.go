package pieces

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	yaml "go.yaml.in/yaml/v4"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// closures are the marks of which a sentence tells several, with what one of them is called.
var closures = map[string]string{"buttonholes": "buttonhole", "buttons": "button", "loops": "loop", "ties": "tie", "snaps": "snap", "hooks": "hook"}

// A buttonhole as an example of a message has it, mm.
const usualHole, usualPast = 16, 3

// closure is "5, from P to Q, one at X, the rest evenly, level, 0.3 past the centre, 1.6 long".
type closure struct {
	p      *tree.Parser
	name   string
	count  int
	from   [2]tree.Point
	fromAt int
	at     []tree.Point // where one is wanted
	plumb  bool         // buttonholes run down the piece, else level
	said   bool         // which of the two
	past   tree.Number  // so far beyond the line each buttonhole begins, toward the edge
	long   tree.Number
	button *Piece // on which lie the buttons of buttonholes
	cut    bool
}

// readClosure reads several marks of one kind; the function it gives draws them.
func (e *Garment) readClosure(p *tree.Parser, pc *Piece, verb string) func() {
	c := &closure{p: p, name: closures[verb]}
	p.Sign(':')
	p.Space()
	at := p.At
	n, whole := p.Digits()
	if !whole || n < 1 || n > 99 {
		p.Fail(at, sentence.FormatNumber(n)+" "+verb, "say a whole number, 1 to 99: "+verb+" 5, from P to Q")
	}
	c.count = int(n)
	for p.Sign(',') {
		e.readOfClosure(c, pc, verb)
	}
	if c.from[0] == nil {
		p.Fail(p.At, "where the "+verb+" lie is not said", "say from P to Q: where the first and the last lie")
	}
	if c.name == "buttonhole" && c.long == nil {
		p.Fail(p.At, "how long the buttonholes are is not said", "say "+p.Scope.Context.Example(usualHole)+" long: the button's width and its thickness")
	}
	if c.count < 2+len(c.at) && len(c.at) > 0 {
		p.Fail(at, fmt.Sprintf("%d are too few for the two ends and %d between", c.count, len(c.at)), fmt.Sprintf("say %d or more", 2+len(c.at)))
	}
	p.End()
	return func() { c.draw(pc) }
}

// readClosures reads those that are told with a colon, which makes them keys: "buttonholes: 5, from P to Q". What
// else is told of the piece is what it gives.
func (e *Garment) readClosures(pc *Piece, n *yaml.Node) *yaml.Node {
	rest := *n
	told := func(m *yaml.Node) {
		for _, x := range e.Entries(m) {
			if closures[x.Key] == "" || x.Sentence == nil {
				e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" is no mark with a colon", "take the colon out; buttonholes, buttons, loops, ties, snaps and hooks may have one")
				continue
			}
			e.Try(func() { e.then(pc, e.readClosure(tree.NewParser(x.Sentence, pc.Scope), pc, x.Key)) })
		}
	}
	switch n.Kind {
	case yaml.MappingNode:
		told(n)
		rest = yaml.Node{Kind: yaml.SequenceNode}
	case yaml.SequenceNode:
		rest.Content = nil
		for _, c := range n.Content {
			if c.Kind == yaml.MappingNode {
				told(c)
				continue
			}
			rest.Content = append(rest.Content, c)
		}
	}
	return &rest
}

// readOfClosure reads one thing that is said of the marks.
func (e *Garment) readOfClosure(c *closure, pc *Piece, verb string) {
	p, at := c.p, c.p.At
	hole := c.name == "buttonhole"
	switch {
	case p.Take("from"):
		c.fromAt = at
		c.from[0] = markPoint(p, pc)
		p.Want("to", " and where the last lies")
		c.from[1] = markPoint(p, pc)
	case p.Take("one at"):
		c.at = append(c.at, markPoint(p, pc))
	case p.TakeAny("the rest evenly", "evenly", "marked") != "":
	case hole && p.Take("level"):
		c.said = true
	case hole && p.Take("plumb"):
		c.plumb, c.said = true, true
	case hole && p.Take("cut"):
		c.cut = true
	case hole && p.Take("buttons opposite"):
		c.button = pc
	case hole && p.Take("buttons on"):
		c.button = e.pieceNamed(p)
	case hole:
		v := p.Sum()
		switch p.TakeAny("past the centre", "past the line", "past", "long") {
		case "long":
			c.long = v
		case "":
			p.Fail(p.At, "what "+sentence.Quote(p.Said(at))+" is of the buttonholes is not said", "say "+p.Scope.Context.Example(usualPast)+" past the centre, or "+p.Scope.Context.Example(usualHole)+" long")
		default:
			if c.past = v; !p.Done() && p.RuneAt(p.At) != ',' {
				p.Fail(p.At, p.Seen()+" is not what buttonholes begin past", "say past the centre, or past the line")
			}
		}
	default:
		p.Fail(at, p.Seen()+" is not said of "+verb, "say from P to Q, one at X, the rest evenly")
	}
}

// pieceNamed reads the name of a piece.
func (e *Garment) pieceNamed(p *tree.Parser) *Piece {
	p.Space()
	at := p.At
	var names []string
	for _, pc := range e.Pieces {
		names = append(names, pc.Name)
	}
	n, ok := p.Name(names)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no piece of this draft", e.Nearest(p.Phrase(), names))
	}
	for _, pc := range e.Pieces {
		if pc.Name == n {
			return pc
		}
	}
	return nil
}

// places are where the marks lie, in the drawing: both ends, each that is told, and the rest as evenly between
// these as a whole number of them allows.
func (c *closure) places() []orb.Point {
	a, b := c.from[0](), c.from[1]()
	if !c.p.Scope.Context.Blocked() && geom.Dist(a, b) < c.p.Scope.Context.Hair() {
		mend := "name where the last lies"
		if c.name != "buttonhole" {
			mend = fmt.Sprintf("say %s at %s for one, else name where the last lies", c.name, c.p.Where(a))
		}
		c.p.Refuse(c.fromAt, fmt.Sprintf("the first and the last lie at one place, at %s", c.p.Where(a)), mend)
		return nil
	}
	if c.count == 1 {
		return []orb.Point{a}
	}
	length := geom.Dist(a, b)
	stops := []float64{0, length}
	for _, q := range c.at {
		x := q()
		u := geom.Unit(geom.Sub(b, a))
		along := geom.Dot(u, geom.Sub(x, a))
		if hair := c.p.Scope.Context.Hair(); geom.Dist(x, a) < hair || geom.Dist(x, b) < hair {
			c.p.Refuse(c.fromAt, fmt.Sprintf("one at %s is told twice: it is the first or the last already", c.p.Where(x)), "leave one at out; it is for a place between the two")
			return nil
		}
		if math.Abs(geom.Cross(u, geom.Sub(x, a))) > 0.05/c.p.Scope.Context.UnitMM*10 || along <= 0 || along >= length {
			c.p.Refuse(c.fromAt, fmt.Sprintf("the point at %s does not lie between the first and the last", c.p.Where(x)), "one at names a point of the line on which they lie")
			return nil
		}
		k := 1
		for k < len(stops)-1 && stops[k] < along {
			k++
		}
		stops = append(stops[:k], append([]float64{along}, stops[k:]...)...)
	}
	// Each of the rest goes where the spaces are widest.
	spaces := make([]int, len(stops)-1)
	for range c.count - len(stops) {
		widest, most := 0, 0.0
		for k := range spaces {
			if w := (stops[k+1] - stops[k]) / float64(spaces[k]+1); w > most+1e-9 {
				widest, most = k, w
			}
		}
		spaces[widest]++
	}
	var out []orb.Point
	for k, n := range spaces {
		for i := range n + 1 {
			along := stops[k] + (stops[k+1]-stops[k])*float64(i)/float64(n+1)
			out = append(out, geom.Lerp(a, b, along/length))
		}
	}
	return append(out, b)
}

func (c *closure) draw(pc *Piece) {
	if c.cut && pc.Quantity > 1 {
		c.p.Refuse(0, fmt.Sprintf("%q is cut %d times, and its buttonholes would be cut in the side of the buttons too", pc.Name, pc.Quantity), "give either side a piece of its own, cut 1; or leave cut out, so that they are marked")
		return
	}
	at := c.places()
	if c.p.Scope.Context.Blocked() {
		return
	}
	if c.name != "buttonhole" {
		for _, q := range at {
			pc.ring(c.name, q)
		}
		return
	}
	long, past := c.long(), 0.0
	if c.past != nil {
		past = c.past()
	}
	if long <= 0 {
		c.p.Unfit(0, "buttonholes "+c.p.Say(long)+" long", "a length is more than 0")
		return
	}
	way := orb.Point{1, 0}
	if c.plumb {
		way = orb.Point{0, 1}
	}
	if u := geom.Unit(geom.Sub(at[len(at)-1], at[0])); !c.said && math.Abs(geom.Dot(u, way)) > 0.99 {
		pc.Scope.Context.Note(c.p.Sentence, pattern.RuleReadAssumed, pattern.Note,
			fmt.Sprintf("the buttonholes of %q are level, for nothing else is said, and the line from the first to the last is level too: they lie along it, end to end", pc.Name),
			"say plumb, so that they lie across the line; or say level, if they are to lie along it")
	}
	way = c.inward(pc, at, way)
	for _, q := range at {
		back := past
		if c.plumb && c.past == nil { // along the line it lies with its middle at the place
			back = long / 2
		}
		from, to := geom.Sub(q, geom.Mul(way, back)), geom.Add(q, geom.Mul(way, long-back))
		if !pc.inOneLayer(c.p, c.name, from, to) {
			return
		}
		pc.Marks = append(pc.Marks, pleats.InnerLine{From: pc.Flat(from), To: pc.Flat(to), Name: "buttonhole", Cut: c.cut})
		if c.button != nil {
			c.button.ring("button", q)
		}
	}
}

// inward is the way from the edge into the piece, along or against a direction: toward the middle of its outline.
func (c *closure) inward(pc *Piece, at []orb.Point, way orb.Point) orb.Point {
	var mid orb.Point
	for _, ed := range pc.Worn {
		mid = geom.Add(mid, geom.Mul(ed.Curve.Start(), 1/float64(len(pc.Worn))))
	}
	if geom.Dot(way, geom.Sub(mid, pc.Carry(at[len(at)/2]))) < 0 {
		return geom.Mul(way, -1)
	}
	return way
}

// ring marks one place of a closure.
func (pc *Piece) ring(name string, q orb.Point) {
	at, half := pc.Flat(q), 3/pc.Scope.Context.UnitMM
	pc.Marks = append(pc.Marks, pleats.InnerLine{From: geom.Sub(at, orb.Point{half, 0}), To: geom.Add(at, orb.Point{half, 0}), Name: name, Place: true})
}

// slitFacing is what a facing says of a slit that it follows: "4 round slit P to Q".
type slitFacing struct {
	wide     tree.Number
	from, to tree.Point
	at       int
}

func readSlitFacing(p *tree.Parser) *slitFacing {
	at := p.At
	s := &slitFacing{wide: p.SumWhere(tree.MoreThan0, "a facing %s wide", "it is more than 0 wide"), at: at}
	p.Want("round slit", " and the slit that the facing follows")
	s.from = p.Point()
	p.Want("to", " and where the slit ends")
	s.to = p.Point()
	return s
}

// follow leads the inner edge of a facing round a slit that runs along the edge beside it: as far from the slit at its
// side as below its end. inner runs away from that edge; what comes back is the edge up to the tongue's end, and the
// inner edge with the tongue.
func (s *slitFacing) follow(pc *Piece, beside, inner curve.Curve) (up, with curve.Curve) {
	p, wide, a, b := pc.Parser, s.wide(), s.from(), s.to()
	if p.Scope.Context.Blocked() {
		return nil, nil
	}
	la, lb := curve.NearestOn(beside, a), curve.NearestOn(beside, b)
	if la < 0 || lb < 0 || len(beside) != 1 {
		p.Refuse(s.at, "the slit does not run along the edge beside what is faced", "a facing follows a slit along a straight edge, as the centre is; face another by a rectangle")
		return nil, nil
	}
	u := geom.Unit(geom.Sub(b, a))
	end := geom.Add(b, geom.Mul(u, wide))
	if l := curve.NearestOn(beside, end); l < 0 {
		p.Unfit(s.at, "the facing reaches past the end of the edge along which the slit runs", "make it less wide, or the slit shorter")
		return nil, nil
	}
	across := geom.Left(u)
	if geom.Dot(across, geom.Sub(inner.End(), inner.Start())) < 0 {
		across = geom.Mul(across, -1)
	}
	corner := geom.Add(end, geom.Mul(across, wide))
	at := inner.Meets(corner, u)
	if len(at) == 0 {
		p.Unfit(s.at, "the facing round the slit is wider than the facing is long", "make it less wide")
		return nil, nil
	}
	on := inner[at[0].Index].At(at[0].T)
	up = curve.Curve{curve.LineSeg(beside.Start(), end)}
	if geom.Dist(beside.Start(), a) > geom.Dist(beside.End(), a) {
		up = curve.Curve{curve.LineSeg(end, beside.End())}
	}
	rest := inner.Between(at[0], curve.Place{Index: len(inner) - 1, T: 1})
	pc.Marks = append(pc.Marks, pleats.InnerLine{From: a, To: b, Name: "slit", Slit: true})
	return up, append(curve.Curve{curve.LineSeg(end, corner), curve.LineSeg(corner, on)}, rest...)
}
