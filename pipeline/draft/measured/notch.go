package measured

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notchAt is one notch on a piece as cut, in the draft's unit.
type notchAt struct {
	at    orb.Point
	kind  pattern.NotchKind
	depth float64 // mm, 0 for the usual
	edge  int
	worn  float64 // along the worn edge from its start; -1 for a fold's
	s     *sentence
}

var notchKinds = map[string]pattern.NotchKind{"nick": pattern.NotchNick, "pen": pattern.NotchPen, "v": pattern.NotchV,
	"t": pattern.NotchT, "castle": pattern.NotchCastle}

// makeNotches reads the notches section and sets those of pleats.
func (e *garment) makeNotches() {
	for _, pc := range e.pieces {
		pc.pleatNotches()
		if pc.panel != nil {
			pc.panel.notches(pc)
		}
	}
	en, ok := e.secs["notches"]
	if !ok {
		return
	}
	for _, x := range e.entries(en.node) {
		if x.s == nil {
			e.fault(x.keyNode, quote(x.key)+" wants a sentence", "")
			continue
		}
		e.try(func() {
			k := newParser(newKeySentence(x, e.doc), e.top)
			pc, i := e.pieceEdge(k)
			k.end()
			p := newParser(x.s, pc.sc)
			for {
				p.notch(pc, i)
				if !p.sign(';') {
					break
				}
			}
			p.end()
		})
	}
}

// deepNotches finds nicks that come too near the sew line: less than 2 mm left is refused, more than
// half the allowance is warned of (common practice).
func (e *garment) deepNotches() {
	for _, pc := range e.pieces {
		for _, n := range pc.notches {
			w := pc.width(n.edge)
			m := n.made(pc)
			if n.depth == 0 || m.Kind == pattern.NotchPen {
				continue
			}
			left := w - n.depth
			edge := pc.edges[n.edge].name
			sev, text := pattern.Off, ""
			switch {
			case left < 2:
				sev, text = pattern.Error, fmt.Sprintf("a notch %s mm deep on the %s of %s leaves %s mm of the %s mm allowance to the sew line, less than 2 mm", num(n.depth), edge, pc.name, num(left), num(w))
			case n.depth > w/2:
				sev, text = pattern.Warning, fmt.Sprintf("a notch %s mm deep on the %s of %s is more than half the %s mm allowance: %s mm are left", num(n.depth), edge, pc.name, num(w), num(left))
			default:
				continue
			}
			f := e.note(n.s, pattern.RuleNotchDeep, sev, text, fmt.Sprintf("make it at most %s mm deep, or say pen", num(math.Min(w/2, w-2))))
			f.Piece, f.Index, f.At = pc.name, e.indexOf(pc), pattern.Place(m.At)
		}
	}
}

// newKeySentence makes the key itself a sentence, so that its faults have a place.
func newKeySentence(x entry, d *document) *sentence { return newSentence(x.keyNode, d.src, d.name) }

// notch reads "one, 12 from U", "two, 8 from U, 0.8 apart, pen", "nick at its ends".
func (p *parser) notch(pc *piece, i int) {
	count := 0
	begin := p.i
	switch p.takeAny("one", "two", "three", "nick at its ends", "pen mark at its ends") {
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
		if at := p.i; !p.done() && unicode.IsDigit(p.runeAt(p.i)) {
			mend = "say how many first, then where: one, " + string(p.s.text[at:])
			p.fail(at, p.seen()+" is no notch", mend)
		}
		if n := nearest(p.word(), []string{"one", "two", "three"}); strings.HasPrefix(n, "did") {
			mend = n
		}
		p.fail(p.i, p.seen()+" is no notch", mend)
	}
	p.sign(',')
	e := p.sc.eng
	c := pc.worn[i].c
	l, back, middle := 0.0, false, false
	if p.takeAny("at the middle", "in the middle", "half-way along") != "" {
		l, middle = c.length()/2, true
	} else if p.take("at") {
		q := pc.carry(p.point())
		pl := nearestOn(c, q)
		if pl < 0 {
			p.fail(begin, "that point does not lie on the edge "+quote(pc.worn[i].name), "")
		}
		l = pl
	} else {
		l = p.sum()
		p.want("from", " and the point or end from which it is measured")
		switch p.takeAny("the start", "the end") {
		case "the start":
		case "the end":
			l, back = c.length()-l, true
		default:
			at := p.i
			q := pc.carry(p.point())
			switch {
			case geom.Dist(q, c.start()) <= e.hair():
			case geom.Dist(q, c.end()) <= e.hair():
				l, back = c.length()-l, true
			default:
				p.fail(at, "that point is no end of the edge "+quote(pc.worn[i].name), "name the point where the edge begins or ends")
			}
		}
	}
	if l < -1e-9 || l > c.length()+1e-9 {
		p.fail(begin, fmt.Sprintf("the edge is only %s long", num(c.length())), "measure from the other end, or set it nearer")
	}
	n := notchAt{edge: i, kind: pattern.NotchNick, s: p.s}
	gap := 8 / e.unitMM // 6 to 10 mm between the two of a double: common practice
	for p.sign(',') {
		if k := p.takeAny("nick", "pen", "v", "t", "castle"); k != "" {
			n.kind = notchKinds[k]
			continue
		}
		if p.is("one") >= 0 || p.is("two") >= 0 || p.is("three") >= 0 {
			p.fail(p.i, "one more notch begins here", "put a semicolon before it, not a comma")
		}
		v := p.sum()
		switch p.takeAny("apart", "deep") {
		case "apart":
			gap = v
		case "deep":
			n.depth = v * e.unitMM
		default:
			p.fail(p.i, "what of the notch is "+num(v)+" is not said", "say how deep, how far apart, or nick, pen, v, t or castle")
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
		m.worn = l + off
		m.at = pc.place(i, m.worn)
		pc.notches = append(pc.notches, m)
	}
}

// nearestOn is the length along a curve at which a point lies on it, -1 where it does not.
func nearestOn(c curve, q orb.Point) float64 {
	before := 0.0
	for i := 0; i < len(c); {
		pts := []orb.Point{c[i].a}
		k := i
		for ; k < len(c) && geom.Dist(c[k].a, pts[len(pts)-1]) < 1e-6; k++ { // up to the mouth of a dart
			pts = c[k].flatten(pts, 1e-4)
		}
		if near := (geom.Path{Points: pts}).Nearest(q); near.Dist <= 1e-3 {
			return before + near.S
		}
		before += c[i:k].length()
		i = k
	}
	return -1
}

// endNicks marks both ends of a fold or centre line on the edges that cross it.
func (pc *piece) endNicks(i int) {
	n := len(pc.edges)
	pc.notches = append(pc.notches,
		notchAt{at: pc.edges[i].c.start(), kind: pattern.NotchNick, edge: (i + n - 1) % n, worn: -1},
		notchAt{at: pc.edges[i].c.end(), kind: pattern.NotchNick, edge: (i + 1) % n, worn: -1})
}

// pleatNotches marks each fold and placement line of a pleat on both edges.
func (pc *piece) pleatNotches() {
	if pc.open == nil {
		return
	}
	for _, l := range pc.open.lines {
		if l.ends {
			pc.notches = append(pc.notches,
				notchAt{at: l.a, kind: pattern.NotchNick, edge: l.at[0], worn: -1},
				notchAt{at: l.b, kind: pattern.NotchNick, edge: l.at[1], worn: -1})
		}
	}
}

// made turns it into the pattern's notch. On an edge without room for a cut one it is a pen mark; a
// nick is 3 mm deep (industry: 2 to 3), never past half the allowance.
func (n notchAt) made(pc *piece) pattern.Notch {
	e := pc.sc.eng
	out := pattern.Notch{At: e.mm(n.at), Kind: n.kind, Depth: n.depth, OnSew: true}
	w := pc.width(n.edge)
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
