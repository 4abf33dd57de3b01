package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// circleWords are the shares of a circle that have a name, in parts of the whole.
var circleWords = []string{"full circle", "three-quarter circle", "half circle", "quarter circle", "circle of"}

var circleShares = map[string]float64{"full circle": 1, "three-quarter circle": 0.75, "half circle": 0.5, "quarter circle": 0.25}

// circleAngle reads how much of a circle, in radians: a word, or "circle of 200 degrees".
func (p *parser) circleAngle() (float64, bool) {
	w := p.takeAny(circleWords...)
	if w == "" {
		return 0, false
	}
	if s, ok := circleShares[w]; ok {
		return 2 * math.Pi * s, true
	}
	at := p.i
	deg := p.sum()
	p.want("degrees", " and how many of them")
	if deg <= 0 || deg > 360 {
		p.fail(at, "a circle of "+num(deg)+" degrees", "say more than 0, and 360 at most")
	}
	return deg * math.Pi / 180, true
}

// fitted reads "to fit 72" and gives the radius of the seam in an angle of the circle.
func (p *parser) fitted(angle float64) (seam, radius float64) {
	p.want("to fit", " and the length of the seam which it must fit")
	at := p.i
	seam = p.sum()
	if seam <= 0 {
		p.fail(at, "a seam of "+num(seam), "the seam to fit is more than 0")
	}
	return seam, seam / angle
}

// circlePiece makes a piece of a circle from the seam it must fit: "half circle 60 long, to fit 72", of
// which a panel that is not the whole says its own share: ", for length of front waist". The centre
// runs plumb; on the fold it is half of the whole.
func (e *garment) circlePiece(pc *piece, p *parser, angle float64, begin int) {
	long := p.side2("long")
	p.sign(',')
	whole, r := p.fitted(angle)
	share, said := whole, false
	from := p.i
	if p.sign(',') {
		if p.take("for") {
			at := p.i
			share, said = p.sum(), true
			if share <= 0 || share > whole+e.hair() {
				p.fail(at, fmt.Sprintf("a panel for %s of a seam of %s", num(share), num(whole)), "a panel takes a part of the seam")
			}
		} else {
			p.i = from
			p.fail(p.i, p.seen()+" is not said of a circle", "say for, and the part of the seam that this panel takes")
		}
	}
	fold := foldAhead(p.cursor)
	if fold && !said {
		share /= 2
	}
	turn := share / r
	if turn > 2*math.Pi-0.01 {
		p.fail(begin, "a full circle in one piece has no room for its seam", "cut it on the fold, or in panels: for and the part of the seam")
	}
	at := func(radius, a float64) orb.Point { return orb.Point{radius * math.Sin(a), radius * math.Cos(a)} }
	arc := func(radius, a0, sweep float64) curve {
		// In the draft's frame, y down, a growing angle from plumb runs against the sense of x to y.
		return curve{{a: at(radius, a0), b: at(radius, a0+sweep), centre: orb.Point{}, sweep: -sweep}}
	}
	line, col := p.s.lines[0], p.s.cols[0]
	pc.edges = []outlineEdge{
		{name: "waist", c: arc(r, 0, turn), line: line, col: col},
		{name: "side", c: curve{lineSeg(at(r, turn), at(r+long, turn))}, line: line, col: col},
		{name: "hem", c: arc(r+long, turn, -turn), line: line, col: col},
		{name: "centre", c: curve{lineSeg(at(r+long, 0), at(r, 0))}, line: line, col: col, fold: fold},
	}
	pc.worn = pc.edges
}

// foldAhead tells whether the rest of the sentence says that the piece is cut on the fold.
func foldAhead(p cursor) bool {
	for ; p.i < len(p.s.text); p.i++ {
		if p.takeAny(onTheFold...) != "" {
			return true
		}
	}
	return false
}

// Radius reads "half circle to fit 72" and gives the radius of that seam.
func (e *garment) Radius(p *parser) float64 {
	at := p.i
	angle, ok := p.circleAngle()
	if !ok {
		p.fail(at, quote(p.phrase())+" is no share of a circle", nearest(firstWords(p.phrase(), 2), circleWords))
	}
	_, r := p.fitted(angle)
	return r
}
