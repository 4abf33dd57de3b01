package pieces

import (
	"fmt"
	"math"
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

var notchKinds = map[string]pattern.NotchKind{"nick": pattern.NotchNick, "pen": pattern.NotchPen, "v": pattern.NotchV,
	"t": pattern.NotchT, "castle": pattern.NotchCastle}

// MakeNotches reads the notches section and sets those of pleats.
func (e *Garment) MakeNotches() {
	for _, pc := range e.Pieces {
		pc.pleatNotches()
		if pc.Panel != nil {
			setPanelNotches(*pc.Panel, pc)
		}
	}
	en, ok := e.Sections["notches"]
	if !ok {
		return
	}
	for _, x := range e.Entries(en.Node) {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a sentence", "")
			continue
		}
		e.Try(func() {
			k := tree.NewParser(NewKeySentence(x, e.Document), e.Top)
			pc, i := e.PieceEdge(k)
			k.End()
			p := tree.NewParser(x.Sentence, pc.Scope)
			for {
				readNotch(p, pc, i)
				if !p.Sign(';') {
					break
				}
			}
			p.End()
		})
	}
}

// NewKeySentence makes the key itself a sentence, so that its faults have a place.
func NewKeySentence(x sentence.Entry, d *sentence.Document) *sentence.Sentence {
	return sentence.NewSentence(x.KeyNode, d.Source, d.Name)
}

// readNotch reads "one, 12 from U", "two, 8 from U, 0.8 apart, pen", "nick at its ends".
func readNotch(p *tree.Parser, pc *Piece, i int) {
	count := 0
	begin := p.At
	switch p.TakeAny("one", "two", "three", "nick at its ends", "pen mark at its ends") {
	case "one":
		count = 1
	case "two":
		count = 2
	case "three":
		count = 3
	case "nick at its ends", "pen mark at its ends":
		pc.endNicks(i)
		return
	default:
		mend := "begin with one, two or three, or say nick at its ends"
		if at := p.At; !p.Done() && unicode.IsDigit(p.RuneAt(p.At)) {
			mend = "say how many first, then where: one, " + string(p.Sentence.Text[at:])
			p.Fail(at, p.Seen()+" is no notch", mend)
		}
		if n := sentence.Nearest(p.Word(), []string{"one", "two", "three"}); strings.HasPrefix(n, "did") {
			mend = n
		}
		p.Fail(p.At, p.Seen()+" is no notch", mend)
	}
	p.Sign(',')
	e := p.Scope.Context
	c := pc.Worn[i].Curve
	l, back, middle := 0.0, false, false
	if p.TakeAny("at the middle", "in the middle", "half-way along") != "" {
		l, middle = c.Length()/2, true
	} else if p.Take("at") {
		q := pc.Carry(tree.Now(p, p.Point()))
		pl := curve.NearestOn(c, q)
		if pl < 0 {
			p.Fail(begin, "that point does not lie on the edge "+sentence.Quote(pc.Worn[i].Name), "")
		}
		l = pl
	} else {
		l = tree.Now(p, p.Sum())
		p.Want("from", " and the point or end from which it is measured")
		switch p.TakeAny("the start", "the end") {
		case "the start":
		case "the end":
			l, back = c.Length()-l, true
		default:
			at := p.At
			q := pc.Carry(tree.Now(p, p.Point()))
			switch {
			case geom.Dist(q, c.Start()) <= e.Hair():
			case geom.Dist(q, c.End()) <= e.Hair():
				l, back = c.Length()-l, true
			default:
				p.Fail(at, "that point is no end of the edge "+sentence.Quote(pc.Worn[i].Name), "name the point where the edge begins or ends")
			}
		}
	}
	if l < -1e-9 || l > c.Length()+1e-9 {
		p.FailUnfit(begin, fmt.Sprintf("the edge is only %s long", sentence.FormatNumber(c.Length())), "measure from the other end, or set it nearer")
	}
	n := Notch{Edge: i, kind: pattern.NotchNick, Sentence: p.Sentence}
	gap := 8 / e.UnitMM // 6 to 10 mm between the two of a double: common practice
	for p.Sign(',') {
		if k := p.TakeAny("nick", "pen", "v", "t", "castle"); k != "" {
			n.kind = notchKinds[k]
			continue
		}
		if p.Is("one") >= 0 || p.Is("two") >= 0 || p.Is("three") >= 0 {
			p.Fail(p.At, "one more notch begins here", "put a semicolon before it, not a comma")
		}
		v := tree.Now(p, p.Sum())
		switch p.TakeAny("apart", "deep") {
		case "apart":
			gap = v
		case "deep":
			n.depth = v * e.UnitMM
		default:
			p.Fail(p.At, "what of the notch is "+sentence.FormatNumber(v)+" is not said", "say how deep, how far apart, or nick, pen, v, t or castle")
		}
	}
	if middle {
		l -= float64(count-1) * gap / 2
	}
	for k := range count {
		off := float64(k) * gap
		if back {
			off = -off
		}
		m := n
		m.Worn = l + off
		m.At = pc.Place(i, m.Worn)
		pc.Notches = append(pc.Notches, m)
	}
}

// endNicks marks both ends of a fold or centre line on the edges that cross it.
func (pc *Piece) endNicks(i int) {
	n := len(pc.Edges)
	pc.Notches = append(pc.Notches,
		Notch{At: pc.Edges[i].Curve.Start(), kind: pattern.NotchNick, Edge: (i + n - 1) % n, Worn: -1},
		Notch{At: pc.Edges[i].Curve.End(), kind: pattern.NotchNick, Edge: (i + 1) % n, Worn: -1})
}

// pleatNotches marks each fold and placement line of a pleat on both edges.
func (pc *Piece) pleatNotches() {
	if pc.Open == nil {
		return
	}
	for _, l := range pc.Open.Lines {
		if l.Ends {
			pc.Notches = append(pc.Notches,
				Notch{At: l.From, kind: pattern.NotchNick, Edge: l.At[0], Worn: -1},
				Notch{At: l.To, kind: pattern.NotchNick, Edge: l.At[1], Worn: -1})
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
