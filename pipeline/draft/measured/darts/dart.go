package darts

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// dartSentence is what the sentence of a dart says that is drawn to an edge: where, and where shares of it are moved.
type dartSentence struct {
	name     string
	Sentence *sentence.Sentence
	parser   *tree.Parser
	// A dart is drawn from leg to point to leg, or told by where it stands on an edge: at, and either point or long.
	legA, point, legB tree.Point
	at                tree.Point
	atRune            int
	takes, long       tree.Number
	about             tree.Point // nil for the dart's point
	moves             []moveSentence
	short             tree.Number // how far short of the apex the moved darts end; nil where nothing is said
	folded            string      // to which side they are pressed
	trued             bool        // the edge beside it is made to run on across it
}

// moveSentence is a share of a dart swung about the apex to another place of the outline.
type moveSentence struct {
	share   tree.Number
	edge    string
	to      tree.Point
	pointAt int    // where that point is told
	into    string // another dart, which it makes wider
	as      string // gathers, ease or flare; nothing for a dart
}

// drawnDart is a dart with its places in the drawing.
type drawnDart struct {
	*dartSentence
	a, p, b orb.Point
	cap     int // the edge that closes the mouth
	// edge is where a dart stands that has no cap of its own, from and to how far along it.
	edge     int
	from, to float64
	about    orb.Point
	moves    []dartMove
	short    float64
	trued    bool
	carried  [2]float64 // by how much each leg reaches past the edge as drawn, so that both are equal
}

// dartMove is a moveSentence with its share and how far along its edge, as drawn, it lies.
type dartMove struct {
	moveSentence
	share, l float64
}

// Ease that one place of an edge can hold, in mm: common practice.
const dartEaseMost = 10.0

var dartWords = []string{"moved to", "half moved to", "about", "ending", "folded", "trued"}

// readDart reads "E1 to P to E2, half moved to side at K, about X, ending 2 short, folded down".
func readDart(d *drafting.Drawing, x sentence.Entry) *dartSentence {
	p := tree.NewParser(x.Sentence, d.Scope)
	t := &dartSentence{name: x.Key, Sentence: x.Sentence, parser: p}
	if isAtEdge(x) {
		t.readAtEdge()
	} else {
		t.readLegs()
	}
	for p.Sign(',') {
		t.readClause(d)
	}
	p.End()
	if t.at != nil && len(t.moves) > 0 {
		p.Fail(0, "a dart that is moved is drawn", "draw it from leg to point to leg, E1 to P to E2, with its cap an edge of the outline")
	}
	return t
}

func (t *dartSentence) readLegs() {
	p := t.parser
	if _, ok := p.Named(tree.PointKind); !ok {
		p.Fail(0, p.Seen()+" is not how a dart is told", "say leg to point to leg, E1 to P to E2, and then where it is moved; from an edge: at D, takes 2, 9 long; inside the piece: at W, takes 3, 15 up and 12 down")
	}
	p.At = 0
	t.legA = p.Point()
	p.Want("to", " and the dart's point")
	t.point = p.Point()
	p.Want("to", " and the dart's other leg")
	t.legB = p.Point()
}

func (t *dartSentence) readClause(d *drafting.Drawing) {
	p := t.parser
	p.Space()
	begin := p.At
	share := tree.Number(func() float64 { return 1 })
	if !slices.ContainsFunc([]string{"moved to", "about", "ending", "folded", "trued"}, func(w string) bool { return p.Is(w) >= 0 }) {
		switch {
		case p.Take("half"):
			share = func() float64 { return 0.5 }
		case p.At < len(p.Sentence.Text) && !sentence.IsWordRune(p.Sentence.Text[p.At]), p.Word() != "" && p.Word()[0] >= '0' && p.Word()[0] <= '9':
			share = p.SumWhere(func(v float64) bool { return v > 0 && v <= 1 }, "%s of a dart cannot be moved", "say half, 1/3, or nothing for the whole")
		default:
			p.Fail(begin, p.Seen()+" is not said of a dart", sentence.Nearest(sentence.FirstWords(p.Phrase(), 2), dartWords))
		}
		if p.Is("moved to") < 0 {
			p.Fail(p.At, p.Seen()+" is not said of a share of a dart", "say moved to, and the edge")
		}
	}
	switch p.TakeAny("moved to", "about", "ending", "folded", "trued") {
	case "moved to":
		t.moves = append(t.moves, t.readMove(d, share))
	case "about":
		t.about = p.Point()
	case "ending":
		t.short = p.SumWhere(tree.AtLeast0, "a dart cannot end %s short of its apex", "say 0 or more")
		p.Want("short", " and how far before the apex the dart ends")
	case "trued":
		t.trued = true
	case "folded":
		if t.folded = p.TakeAny("out", "back", "up", "down"); t.folded == "" {
			p.Fail(p.At, "to which side the dart is folded is not said", "say out, back, up or down")
		}
	}
}

// readMove reads "side at K", "neck at K, as gathers" and "dart at the side", the name of another dart.
func (t *dartSentence) readMove(d *drafting.Drawing, share tree.Number) moveSentence {
	p, m := t.parser, moveSentence{share: share}
	var others []string
	for _, n := range Names(d) {
		if n != t.name {
			others = append(others, n)
		}
	}
	if n, ok := p.Name(others); ok {
		m.into = n
		return m
	}
	m.edge = d.EdgeNamed(p)
	p.Want("at", " and the point of that edge to which the dart is moved")
	m.pointAt = p.At
	m.to = p.Point()
	if p.Take("as") {
		if m.as = p.TakeAny("gathers", "ease", "flare"); m.as == "" {
			p.Fail(p.At, "as what a dart is left is not said", "say as gathers, as ease or as flare; a dart needs no word")
		}
	}
	return m
}

// draw finds the dart's places; nil where it is refused.
func (t *dartSentence) draw(d *drafting.Drawing) *drawnDart {
	e := d.Scope.Context
	out := &drawnDart{dartSentence: t, cap: -1, trued: t.trued}
	if t.at != nil {
		out.setAtEdge(d)
	} else {
		out.setLegs(d)
	}
	if e.Blocked() {
		return nil
	}
	out.about = out.p
	if t.about != nil {
		out.about = t.about()
	}
	if t.short != nil {
		out.short = t.short()
	}
	for _, m := range t.moves {
		out.setMove(d, m)
	}
	out.sound(d)
	if e.Blocked() {
		return nil
	}
	return out
}

// setLegs finds the edge that closes the mouth between the legs, and puts the legs in the outline's order.
func (t *drawnDart) setLegs(d *drafting.Drawing) {
	t.a, t.p, t.b = t.legA(), t.point(), t.legB()
	tol := d.Scope.Context.Hair()
	near := func(a, b orb.Point) bool { return geom.Dist(a, b) <= tol }
	for i, ed := range d.Edges {
		s, f := ed.Curve.Start(), ed.Curve.End()
		if near(s, t.b) && near(f, t.a) {
			t.a, t.b = t.b, t.a
		}
		if near(s, t.a) && near(f, t.b) {
			t.cap = i
		}
	}
	if t.cap < 0 {
		t.parser.Refuse(0, "no edge of the outline closes the mouth of the dart, from "+t.parser.Where(t.a)+" to "+t.parser.Where(t.b), mendMouth(d, t.a, t.b))
	}
}

func (t *drawnDart) setMove(d *drafting.Drawing, m moveSentence) {
	out := dartMove{moveSentence: m, share: m.share()}
	if m.into == "" {
		q, i := m.to(), curve.IndexOf(d.Edges, m.edge)
		if out.l = curve.NearestOn(d.Edges[i].Curve, q); out.l < 0 || i == t.cap {
			t.parser.Refuse(m.pointAt, t.parser.Where(q)+" does not lie on the edge "+sentence.Quote(m.edge), "name a point along that edge")
		}
	}
	t.moves = append(t.moves, out)
}

// sound refuses a move that geometry does not allow.
func (t *drawnDart) sound(d *drafting.Drawing) {
	if len(t.moves) == 0 {
		return
	}
	sum := 0.0
	for _, m := range t.moves {
		sum += m.share
	}
	if sum > 1+1e-9 {
		t.parser.Refuse(0, "more of the dart is moved than there is: the shares add to "+sentence.FormatNumber(sum), "shares add to 1 at most")
	}
	ra, rb := geom.Dist(t.about, t.a), geom.Dist(t.about, t.b)
	if math.Abs(ra-rb) > d.Scope.Context.Hair()*10 {
		t.parser.Refuse(0, fmt.Sprintf("the dart's legs end %s and %s from the point about which it is moved", t.parser.Say(ra), t.parser.Say(rb)), "tell the end of one leg by the other: from P toward E2 distance P to E1, where P is the dart's point")
	}
}

// mendMouth says how a mouth comes by its cap. An edge drawn in one from seam to seam runs through
// both ends of the mouth: it is to be broken there, which the name of the edge makes plain.
func mendMouth(d *drafting.Drawing, a, b orb.Point) string {
	tol := d.Scope.Context.Hair()
	for _, ed := range d.Edges {
		if runsThrough(ed.Curve, a, tol) && runsThrough(ed.Curve, b, tol) {
			return sentence.Quote(ed.Name) + " runs through both ends of the mouth: end it at the first, draw the cap between the two as an edge of its own, go on from the second with a third edge, and name all three in the outline"
		}
	}
	return "draw the cap as an edge between the two and name it in the outline"
}

// runsThrough sees joints, and points on straight stretches, where the ends of a mouth are told.
func runsThrough(c curve.Curve, p orb.Point, tol float64) bool {
	for _, s := range c {
		there, on := geom.Dist(s.From, p), geom.Dist(p, s.To)
		if there <= tol || on <= tol || there+on-s.Length() <= 1e-3*tol {
			return true
		}
	}
	return false
}
