package pieces

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// Notch is one notch on a piece as cut, in the draft's unit.
type Notch struct {
	At       orb.Point
	kind     pattern.NotchKind
	depth    float64 // mm, 0 for the usual
	Edge     int
	Worn     float64 // along the worn edge from its start; -1 for a fold's
	Sentence *sentence.Sentence
}

// notchCounts say how many notches stand beside one another.
var notchCounts = countWords[:3]

var notchKinds = map[string]pattern.NotchKind{"nick": pattern.NotchNick, "pen": pattern.NotchPen, "v": pattern.NotchV,
	"t": pattern.NotchT, "castle": pattern.NotchCastle}

// readNotches reads the notches section.
func (e *Garment) readNotches() {
	e.Each("notches", "a sentence", "", func(x sentence.Entry) {
		k := tree.NewParser(e.Document.Sentence(x.KeyNode), e.Top)
		edge := e.PieceEdge(k)
		k.End()
		p := tree.NewParser(x.Sentence, edge.Piece.Scope)
		var set []func(pc *Piece, i int)
		for {
			set = append(set, readNotch(p))
			if !p.Sign(';') {
				break
			}
		}
		p.End()
		e.then(edge.Piece, func() {
			i := edge.Index()
			for _, s := range set {
				if !e.Blocked() {
					s(edge.Piece, i)
				}
			}
		})
	})
}

// readNotch reads "one, 12 from U", "two, 8 from U, 0.8 apart, pen", "nick at its ends". The function it gives sets them on an
// edge of a piece.
func readNotch(p *tree.Parser) func(pc *Piece, i int) {
	begin := p.At
	count := 1 + slices.Index(notchCounts, p.TakeAny(notchCounts...))
	if count == 0 {
		if p.TakeAny("nick at its ends", "pen mark at its ends") != "" {
			return (*Piece).endNicks
		}
		noNotch(p)
	}
	p.Sign(',')
	place := readNotchPlace(p, begin)
	kind, depth, gap := pattern.NotchNick, tree.Number(nil), tree.Number(nil)
	for p.Sign(',') {
		if k := p.TakeAny("nick", "pen", "v", "t", "castle"); k != "" {
			kind = notchKinds[k]
			continue
		}
		if p.Is("one") >= 0 || p.Is("two") >= 0 || p.Is("three") >= 0 {
			p.Fail(p.At, "one more notch begins here", "put a semicolon before it, not a comma")
		}
		p.Space()
		at := p.At
		v := p.Sum()
		said := p.Said(at)
		switch p.TakeAny("apart", "deep") {
		case "apart":
			gap = v
		case "deep":
			depth = v
		default:
			p.Fail(p.At, "what of the notch is "+said+" is not said", "say how deep, how far apart, or nick, pen, v, t or castle")
		}
	}
	return func(pc *Piece, i int) {
		e := p.Scope.Context
		n := Notch{Edge: i, kind: kind, Sentence: p.Sentence}
		if depth != nil {
			n.depth = depth() * e.UnitMM
		}
		by := 8 / e.UnitMM // 6 to 10 mm between the two of a double: common practice
		if gap != nil {
			by = gap()
		}
		l, back, middle := place(pc, i)
		long := pc.Worn[i].Curve.Length()
		if !e.Blocked() && (l < -1e-9 || l > long+1e-9) {
			p.Unfit(begin, fmt.Sprintf("the edge is only %s long", p.Say(long)), "measure from the other end, or set it nearer")
		}
		if e.Blocked() {
			return
		}
		if middle {
			l -= float64(count-1) * by / 2
		}
		if back {
			by = -by
		}
		if last := l + float64(count-1)*by; math.Min(l, last) < -1e-9 || math.Max(l, last) > long+1e-9 {
			p.Unfit(begin, fmt.Sprintf("%s notches, %s apart, have no room before the end of the edge", notchCounts[count-1], p.Say(math.Abs(by))), "begin farther from the end, or set one alone")
			return
		}
		for k := range count {
			n.Worn = l + float64(k)*by
			n.At = pc.Place(i, n.Worn)
			pc.Notches = append(pc.Notches, n)
		}
	}
}

// noNotch refuses what begins no notch.
func noNotch(p *tree.Parser) {
	mend := "begin with one, two or three, or say nick at its ends"
	if at := p.At; !p.Done() && unicode.IsDigit(p.RuneAt(p.At)) {
		rest := string(p.Sentence.Text[at:])
		mend = "say how many first, then where: one, " + rest
		for i, word := range notchCounts {
			if where, ok := strings.CutPrefix(rest, strconv.Itoa(i+1)+","); ok {
				mend = "write out how many: " + word + "," + where
			}
		}
		p.Fail(at, p.Seen()+" is no notch", mend)
	}
	if n := sentence.Nearest(p.Word(), notchCounts); strings.HasPrefix(n, "did") {
		mend = n
	}
	p.Fail(p.At, p.Seen()+" is no notch", mend)
}

// notchPlace is how far along an edge of a piece the first of some notches stands; whether it is measured back from the
// end, or the middle of them stands there.
type notchPlace func(pc *Piece, i int) (l float64, back, middle bool)

// readNotchPlace reads "at the middle", "at P" and "12 from U".
func readNotchPlace(p *tree.Parser, begin int) notchPlace {
	if p.TakeAny("at the middle", "in the middle", "half-way along") != "" {
		return func(pc *Piece, i int) (float64, bool, bool) { return pc.Worn[i].Curve.Length() / 2, false, true }
	}
	if p.Take("at") {
		point := p.Point()
		return func(pc *Piece, i int) (float64, bool, bool) {
			q := point()
			l := curve.NearestOn(pc.Worn[i].Curve, pc.Carry(q))
			if l < 0 && !p.Scope.Context.Blocked() {
				p.Refuse(begin, p.Where(q)+" does not lie on the edge "+sentence.Quote(pc.Worn[i].Name), "name a point along it, or say how far from its end: one, "+p.Scope.Context.Example(90)+" from P; an edge that is softened or rounded at a point runs past it")
			}
			return l, false, false
		}
	}
	far := p.Sum()
	p.Want("from", " and the point or end from which it is measured")
	said := p.TakeAny("the start", "the end", "the beginning")
	at := p.At
	var end tree.Point
	if said == "" {
		end = p.Point()
	}
	return func(pc *Piece, i int) (float64, bool, bool) {
		c, back := pc.Worn[i].Curve, said == "the end"
		if end != nil {
			q, hair := pc.Carry(end()), p.Scope.Context.Hair()
			back = geom.Dist(q, c.Start()) > hair
			if back && geom.Dist(q, c.End()) > hair {
				p.Refuse(at, "that point is no end of the edge "+sentence.Quote(pc.Worn[i].Name), "name the point where the edge begins or ends")
			}
		}
		if back {
			return c.Length() - far(), true, false
		}
		return far(), false, false
	}
}

// endNicks marks both ends of a fold or centre line on the edges that cross it.
func (pc *Piece) endNicks(i int) {
	n := len(pc.Edges)
	pc.nick(pc.Edges[i].Curve.Start(), (i+n-1)%n)
	pc.nick(pc.Edges[i].Curve.End(), (i+1)%n)
}

// nick marks a place of the cut piece on an edge, where it is not told of the edge as worn.
func (pc *Piece) nick(at orb.Point, edge int) {
	pc.Notches = append(pc.Notches, Notch{At: at, Edge: edge, kind: pattern.NotchNick, Worn: -1})
}

// pleatNotches marks each fold and placement line of a pleat on both edges.
func (pc *Piece) pleatNotches() {
	if pc.Open == nil {
		return
	}
	for _, l := range pc.Open.Lines {
		if l.Ends {
			pc.nick(l.From, l.At[0])
			pc.nick(l.To, l.At[1])
		}
	}
}

// Made turns it into the pattern's notch. On an edge without room for a cut one it is a pen mark; a
// nick is 3 mm deep (industry: 2 to 3), never past half the allowance.
func (n Notch) Made(pc *Piece) pattern.Notch {
	e := pc.Scope.Context
	out := pattern.Notch{At: e.ToMM(n.At), Kind: n.kind, Depth: n.depth, OnSew: true}
	w := pc.Width(n.Edge)
	if w < 4 {
		out.Kind = pattern.NotchPen
	}
	if out.Depth == 0 {
		out.Depth = 3
		if out.Kind != pattern.NotchPen {
			out.Depth = math.Min(3, math.Floor(w/2*10)/10)
		}
	}
	return out
}
