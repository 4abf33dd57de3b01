package drafting

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/draft/measured/warp"
	"tracewheel/pipeline/pattern"
)

// SeamEdge is an edge of a drawing that is sewn in a seam.
type SeamEdge struct {
	Drawing *Drawing
	Edge    string
	Piece   string // whose edge it is
}

// alteration is a fitting's line about a seam, "let out side 0.6 at waist, to nothing at U and H", or about a drawing,
// "take up back 1.2 at centre, to nothing at side".
type alteration struct {
	when   string // as the card says it
	verb   string
	name   string
	parser *tree.Parser
	at     []altered
	level  string
}

// altered is by how much at a place; of no place, all along.
type altered struct {
	where string
	rune  int
	by    float64
}

var alterVerbs = []string{"let out", "take in", "take up", "let down"}

// readAlteration reads a fitting's line of the card; unit is what one of the card's is in the draft's.
func (e *Draft) readAlteration(when string, s *sentence.Sentence, unit float64) {
	p := tree.NewParser(s, tree.NewScope(e.Context, nil, ""))
	a := &alteration{when: when, parser: p}
	if a.verb = p.TakeAny(alterVerbs...); a.verb == "" {
		p.Fail(0, sentence.Quote(sentence.FirstWords(p.Phrase(), 2))+" is not what a fitting changes", "say let out or take in and a seam, or take up or let down and a drawing; a measure or a number is changed by its name in a line below the date: bust: 2 more")
	}
	p.Space()
	for p.Word() != "" && unicode.IsLetter([]rune(p.Word())[0]) && p.Is("at") < 0 {
		a.name = strings.TrimSpace(a.name + " " + p.Word())
		p.At += len([]rune(p.Word()))
	}
	if a.name == "" {
		p.Fail(p.At, "what is to be "+map[string]string{"let out": "let out", "take in": "taken in", "take up": "taken up", "let down": "let down"}[a.verb]+" is not said", "say the seam and how much: let out side 0.6 at waist")
	}
	if p.Done() || p.Is("at") >= 0 {
		p.Fail(p.At, "how much is not said", "say "+a.verb+" "+a.name+" 0.6 at, and where")
	}
	sign := 1.0
	if a.verb == "take in" || a.verb == "let down" {
		sign = -1
	}
	by := p.Sum()() * unit * sign
	if by*sign <= 0 {
		p.Fail(p.At, "this comes to no length", "say how much; the other way is "+map[string]string{"let out": "take in", "take in": "let out", "take up": "let down", "let down": "take up"}[a.verb])
	}
	a.places(by)
	for p.Sign(',') {
		p.Take("and")
		switch {
		case p.Take("level with"):
			a.level = a.place().where
		case p.Take("to nothing"):
			a.places(0)
		default:
			a.places(p.Sum()() * unit * sign)
		}
	}
	p.End()
	e.alterations = append(e.alterations, a)
}

// places reads "at waist and H".
func (a *alteration) places(by float64) {
	p := a.parser
	if !p.Take("at") {
		if len(a.at) > 0 {
			p.Fail(p.At, "where is not said", "say at, and the place")
		}
		a.at = append(a.at, altered{by: by})
		return
	}
	for {
		x := a.place()
		if x.by = by; slices.ContainsFunc(a.at, func(y altered) bool { return y.where == x.where }) {
			p.Fail(x.rune, sentence.Quote(x.where)+" is said twice", "say one amount at each place")
		}
		a.at = append(a.at, x)
		if !p.Take("and") {
			return
		}
	}
}

func (a *alteration) place() altered {
	p := a.parser
	p.Take("the")
	p.Space()
	x := altered{rune: p.At}
	for p.Word() != "" && p.Is("and") < 0 && p.Is("to nothing") < 0 {
		x.where = strings.TrimSpace(x.where + " " + p.Word())
		p.At += len([]rune(p.Word()))
		p.Space()
	}
	if x.where == "" {
		p.Fail(p.At, "a place is wanted here, not "+p.Seen(), "say a point of the seam, or an edge that it meets")
	}
	return x
}

func (a *alteration) text() string {
	return a.when + ": " + strings.TrimSpace(string(a.parser.Sentence.Text))
}

// Alter hands the fittings' lines to the drawings that they are about; seams are those of the draft, with both their
// sides. A line about another garment of the wearer's is none of this draft, and is not mentioned.
func (e *Draft) Alter(seams [][2][]SeamEdge) {
	e.tellOneSided()
	for _, a := range e.alterations {
		if side, rest, sure := e.sideOfSeam(a.name); !sure && e.hasEdge(rest) {
			e.alterFinding(a, pattern.Warning, "is left out: "+sentence.Quote(a.name)+" is no seam of this draft", "did you mean "+sentence.Quote(side+" "+rest)+"? Right, if it is about another garment of this wearer")
			continue
		} else if e.hasEdge(rest) {
			if e.OneSided = e.OneSided || side != ""; side != "" && side != e.side() {
				continue
			}
			a.name = rest
		}
		if _, only := sentence.FittingDay(a.when); !e.isCalled(only) {
			if e.hasEdge(a.name) {
				e.alterFinding(a, pattern.Note, "is only for "+only+", and is left out here", hereToo(only))
			}
			continue
		}
		if a.verb == "take up" || a.verb == "let down" {
			e.alterDrawing(a)
		} else {
			e.alterSeam(a, seams)
		}
	}
}

func (e *Draft) alterDrawing(a *alteration) {
	d := e.Drawings[a.name]
	switch {
	case d == nil:
		e.tellNear(a, e.DrawingOrder)
		return
	case !d.readable:
		return
	}
	if len(a.at) != 2 || a.at[1].by != 0 {
		a.refuse(e, a.at[0].rune, "this is not said of a drawing", a.verb+" "+a.name+" 1.2 at centre, to nothing at side")
		return
	}
	if lost, at, near, mend := a.lostIn(d); lost != "" {
		if _, only := sentence.FittingDay(a.when); only != "" || near {
			a.refuse(e, at, lost, mend)
		} else {
			e.tellLost(a, false, lost, mend)
		}
		return
	}
	d.alter(a, func(ring []curve.Edge, carry func(q orb.Point) orb.Point) ([]curve.Edge, func(q orb.Point) orb.Point, bool) {
		level, ok := a.levelOf(d, ring, carry)
		if !ok {
			return nil, nil, false
		}
		f := warp.Fold{Level: level, By: a.at[0].by}
		for k, x := range a.at {
			i := slices.IndexFunc(ring, func(ed curve.Edge) bool { return ed.Name == x.where || ed.Kind() == x.where })
			out := xAt(ring[i].Curve, level)
			if f.None = out; k == 0 {
				f.From = out
			}
		}
		if math.Abs(f.From-f.None) < math.Abs(f.By) {
			a.parser.Refuse(a.at[1].rune, "the two places lie one over the other", "name an edge on each side of the drawing")
			return nil, nil, false
		}
		if i := f.OpensCorner(ring); i >= 0 {
			a.parser.Refuse(0, "the strip would open a corner of "+d.Name+", where its "+ring[i].Name+" begins, and leave a step there", "say level with a point a little further down")
			return nil, nil, false
		}
		out, to, ok := f.Folded(ring)
		if !ok {
			a.parser.Refuse(0, "this takes a whole edge of "+d.Name, "say less, or level with a point further down")
		}
		return out, to, ok
	})
	e.carriedOut(a, "in "+d.Name)
}

// lostIn says why a line cannot be carried out on a drawing: a place that it has not, and whether one is close to its name, or no
// level. at is where in the line.
func (a *alteration) lostIn(d *Drawing) (lost string, at int, near bool, mend string) {
	known, points := d.EdgeNames(), d.Scope.Order
	for _, x := range a.at {
		if !d.edgeKnown(x.where) {
			return sentence.Quote(x.where) + " is no edge of " + d.Name, x.rune, isClose(x.where, known), sentence.Nearest(x.where, known)
		}
	}
	switch p := d.Scope.Definitions[a.level]; {
	case a.level == "" && !d.edgeKnown("waist"):
		return "at which level is not said, and " + d.Name + " has no edge called waist", 0, false,
			"say level with, and a point: " + a.verb + " " + a.name + " 1.2 at centre, to nothing at side, level with W"
	case a.level != "" && (p == nil || p.Kind != tree.PointKind):
		return sentence.Quote(a.level) + " is no point of " + d.Name, 0, isClose(a.level, points), sentence.Nearest(a.level, points)
	}
	return "", 0, false, ""
}

// levelOf is down to where the strip reaches: as it says, else just above a waist that is the lower edge, or just below
// one that is the upper.
func (a *alteration) levelOf(d *Drawing, ring []curve.Edge, carry func(q orb.Point) orb.Point) (float64, bool) {
	if a.level != "" {
		q, ok := d.Scope.Definitions[a.level].Placed(a.parser)
		return carry(q)[1], ok
	}
	top, bottom, high, low := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, ed := range ring {
		for l, whole := 0.0, ed.Curve.Length(); l <= 1; l += 1.0 / 16 {
			q, _ := ed.Curve.At(l * whole)
			top, bottom = math.Min(top, q[1]), math.Max(bottom, q[1])
			if ed.Kind() == "waist" {
				high, low = math.Min(high, q[1]), math.Max(low, q[1])
			}
		}
	}
	if high+low > top+bottom {
		return high - 1e-6, true
	}
	return low + math.Abs(a.at[0].by) + 1e-6, true
}

// xAt is how far out a curve lies at a level, at its nearer end where it does not reach it.
func xAt(c curve.Curve, level float64) float64 {
	if ps := c.Meets(orb.Point{0, level}, orb.Point{1, 0}); len(ps) > 0 {
		return c[ps[0].Index].At(ps[0].T)[0]
	}
	if math.Abs(c.Start()[1]-level) < math.Abs(c.End()[1]-level) {
		return c.Start()[0]
	}
	return c.End()[0]
}

func (a *alteration) refuse(e *Draft, at int, text, mend string) {
	e.Faults = append(e.Faults, a.parser.Fault(at, text, mend))
}

// carriedOut keeps that a fitting's line is carried out, and where.
func (e *Draft) carriedOut(a *alteration, where string) {
	e.changes = append(e.changes, change{date: a.when[:len("2006-01-02")], name: a.text() + " (" + where + ")"})
	slices.SortStableFunc(e.changes, func(x, y change) int { return strings.Compare(x.date, y.date) })
}

// tellNear tells of a line whose seam or drawing this draft has not where its name is close to one that it has, where the verb is
// that of the other, or where the card says that it is for this draft.
func (e *Draft) tellNear(a *alteration, known []string) {
	const no = "is left out: %s is no %s of this draft"
	kind, other := "seam", "take up or let down"
	if a.verb == "take up" || a.verb == "let down" {
		kind, other = "drawing", "let out or take in"
	}
	_, name, _ := e.sideOfSeam(a.name)
	near := sentence.Nearest(name, known)
	switch _, only := sentence.FittingDay(a.when); {
	case e.hasEdge(a.name):
		e.alterFinding(a, pattern.Warning, fmt.Sprintf(no, sentence.Quote(a.name), kind), "say "+other+", or name a "+kind+": "+near)
	case isClose(name, known) && strings.HasPrefix(near, "did"):
		e.alterFinding(a, pattern.Warning, fmt.Sprintf(no, sentence.Quote(a.name), kind), near+" Right, if it is about another garment of this wearer")
	case only != "":
		e.alterFinding(a, pattern.Warning, fmt.Sprintf(no, sentence.Quote(a.name), kind), near)
	}
}

func (e *Draft) alterFinding(a *alteration, sev pattern.Severity, text, mend string) {
	e.cardFinding(a.parser.Sentence, sev, sentence.Quote(a.text())+" "+text, mend)
}
