package darts

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// dartSentence is what a dart's sentence says: where it is drawn, and where shares of it are moved.
type dartSentence struct {
	name     string
	Sentence *sentence.Sentence
	a, p, b  orb.Point
	cap      int // the edge that closes the mouth
	// edge is where a dart stands that has no cap of its own, from and to how far along it.
	edge     int
	from, to float64
	about    orb.Point
	moves    []dartMove
	short    float64    // how far short of the apex the moved darts end
	folded   string     // to which side they are pressed
	trued    bool       // the edge beside it is made to run on across it
	carried  [2]float64 // by how much each leg reaches past the edge as drawn, so that both are equal
	parser   *tree.Parser
}

// dartMove is a share of a dart swung about the apex to another place of the outline.
type dartMove struct {
	share float64
	edge  string
	l     float64 // along that edge as drawn
	into  string  // another dart, which it makes wider
	as    string  // gathers, ease or flare; nothing for a dart
}

// Ease that one place of an edge can hold, in mm: common practice.
const dartEaseMost = 10.0

var dartWords = []string{"moved to", "half moved to", "about", "ending", "folded", "trued"}

// readDart reads "E1 to P to E2, half moved to side at K, about X, ending 2 short, folded down".
func readDart(d *drafting.Drawing, x sentence.Entry) dartSentence {
	if isAtEdge(x) {
		return readEdgeDart(d, x)
	}
	p := tree.NewParser(x.Sentence, d.Scope)
	t := dartSentence{name: x.Key, Sentence: x.Sentence, cap: -1, parser: p}
	if _, ok := p.Name(d.Scope.Names(tree.PointKind)); !ok {
		p.Fail(0, p.Seen()+" is not how a dart is told", "say leg to point to leg, E1 to P to E2, and then where it is moved; from an edge: at D, takes 2, 9 long; inside the piece: at W, takes 3, 15 up and 12 down")
	}
	p.At = 0
	t.a = tree.Now(p, p.Point())
	p.Want("to", " and the dart's point")
	t.p = tree.Now(p, p.Point())
	p.Want("to", " and the dart's other leg")
	t.b = tree.Now(p, p.Point())
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
		p.Fail(0, "no edge of the outline closes the mouth of the dart, from "+tree.FormatPoint(t.a)+" to "+tree.FormatPoint(t.b), mendMouth(d, t.a, t.b))
	}
	t.about = t.p
	for p.Sign(',') {
		dartClause(d, p, &t)
	}
	p.End()
	soundDart(d, p, t)
	return t
}

func dartClause(d *drafting.Drawing, p *tree.Parser, t *dartSentence) {
	p.Space()
	begin := p.At
	share := 1.0
	if p.Is("moved to") < 0 && p.Is("about") < 0 && p.Is("ending") < 0 && p.Is("folded") < 0 && p.Is("trued") < 0 {
		switch {
		case p.Take("half"):
			share = 0.5
		case p.At < len(p.Sentence.Text) && !sentence.IsWordRune(p.Sentence.Text[p.At]), p.Word() != "" && p.Word()[0] >= '0' && p.Word()[0] <= '9':
			share = tree.Now(p, p.Sum())
		default:
			p.Fail(begin, p.Seen()+" is not said of a dart", sentence.Nearest(sentence.FirstWords(p.Phrase(), 2), dartWords))
		}
		if p.Is("moved to") < 0 {
			p.Fail(p.At, p.Seen()+" is not said of a share of a dart", "say moved to, and the edge")
		}
	}
	switch p.TakeAny("moved to", "about", "ending", "folded", "trued") {
	case "moved to":
		if share <= 0 || share > 1 {
			p.Fail(begin, sentence.FormatNumber(share)+" of a dart cannot be moved", "say half, 1/3, or nothing for the whole")
		}
		t.moves = append(t.moves, readMove(d, p, t, share))
	case "about":
		t.about = tree.Now(p, p.Point())
	case "ending":
		t.short = tree.Now(p, p.Sum())
		p.Want("short", " and how far before the apex the dart ends")
		if t.short < 0 {
			p.Fail(begin, "a dart cannot end "+sentence.FormatNumber(t.short)+" short of its apex", "say 0 or more")
		}
	case "trued":
		t.trued = true
	case "folded":
		if t.folded = p.TakeAny("out", "back", "up", "down"); t.folded == "" {
			p.Fail(p.At, "to which side the dart is folded is not said", "say out, back, up or down")
		}
	}
}

// readMove reads "side at K", "neck at K, as gathers" and "dart at the side", the name of another dart.
func readMove(d *drafting.Drawing, p *tree.Parser, t *dartSentence, share float64) dartMove {
	m := dartMove{share: share}
	var others []string
	for _, x := range d.ShapeEntries {
		if drafting.IsDartKey(x.Key) && x.Key != t.name && !isInside(x) {
			others = append(others, x.Key)
		}
	}
	if n, ok := p.Name(others); ok {
		m.into = n
		return m
	}
	i := EdgeNamed(d, p)
	m.edge = d.Edges[i].Name
	p.Want("at", " and the point of that edge to which the dart is moved")
	at := p.At
	q := tree.Now(p, p.Point())
	m.l = curve.NearestOn(d.Edges[i].Curve, q)
	if m.l < 0 || i == t.cap {
		p.Fail(at, tree.FormatPoint(q)+" does not lie on the edge "+sentence.Quote(m.edge), "name a point along that edge")
	}
	if p.Take("as") {
		if m.as = p.TakeAny("gathers", "ease", "flare"); m.as == "" {
			p.Fail(p.At, "as what a dart is left is not said", "say as gathers, as ease or as flare; a dart needs no word")
		}
	}
	return m
}

// soundDart refuses a move that geometry does not allow.
func soundDart(d *drafting.Drawing, p *tree.Parser, t dartSentence) {
	if len(t.moves) == 0 {
		return
	}
	sum := 0.0
	for _, m := range t.moves {
		sum += m.share
	}
	if sum > 1+1e-9 {
		p.Fail(0, "more of the dart is moved than there is: the shares add to "+sentence.FormatNumber(sum), "shares add to 1 at most")
	}
	ra, rb := geom.Dist(t.about, t.a), geom.Dist(t.about, t.b)
	if math.Abs(ra-rb) > d.Scope.Context.Hair()*10 {
		p.Fail(0, fmt.Sprintf("the dart's legs end %s and %s from the point about which it is moved", sentence.FormatNumber(ra), sentence.FormatNumber(rb)), "tell the end of one leg by the other: from P toward E2 distance P to E1, where P is the dart's point")
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

// EdgeNamed reads the name of an edge of the outline.
func EdgeNamed(d *drafting.Drawing, p *tree.Parser) int {
	p.Space()
	at := p.At
	var names []string
	for _, e := range d.Edges {
		names = append(names, e.Name)
	}
	n, ok := p.Name(names)
	if !ok && p.Take("the") {
		at = p.At
		n, ok = p.Name(names)
	}
	if !ok {
		p.Fail(at, sentence.Quote(p.Word())+" is no edge of the outline of "+sentence.Quote(d.Name), sentence.Nearest(p.Word(), names))
	}
	for i, e := range d.Edges {
		if e.Name == n {
			return i
		}
	}
	return -1
}
