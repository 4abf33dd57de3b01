package pieces

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// circleWords are the shares of a circle that have a name, in parts of the whole.
var circleWords = []string{"full circle", "three-quarter circle", "half circle", "quarter circle", "circle of"}

var circleShares = map[string]float64{"full circle": 1, "three-quarter circle": 0.75, "half circle": 0.5, "quarter circle": 0.25}

// circleAngle reads how much of a circle, in radians: a word, or "circle of 200 degrees"; nil where neither comes.
func circleAngle(p *tree.Parser) tree.Number {
	w := p.TakeAny(circleWords...)
	if w == "" {
		return nil
	}
	if s, ok := circleShares[w]; ok {
		return func() float64 { return 2 * math.Pi * s }
	}
	deg := p.SumWhere(func(v float64) bool { return v > 0 && v <= 360 }, "a circle of %s degrees", "say more than 0, and 360 at most")
	p.Want("degrees", " and how many of them")
	return func() float64 { return deg() * math.Pi / 180 }
}

// readFitted reads "to fit 72", the seam that a circle must fit.
func readFitted(p *tree.Parser) tree.Number {
	if p.Is("for") >= 0 {
		p.Fail(p.At, "the seam into which the whole circle goes is not said", "say it before the panel's part: to fit waist, for length of front waist")
	}
	p.Want("to fit", " and the length of the seam which it must fit")
	return p.SumWhere(tree.MoreThan0, "a seam of %s", "the seam to fit is more than 0")
}

// circlePiece reads a piece of a circle by the seam it must fit: "half circle 60 long, to fit 72", of
// which a panel that is not the whole says its own share: ", for length of front waist".
func (e *Garment) circlePiece(pc *Piece, angle tree.Number, begin int) {
	p := pc.Parser
	long := sideLength(p, "long")
	p.Sign(',')
	whole := readFitted(p)
	var own tree.Number
	ownAt, from := 0, p.At
	if p.Sign(',') {
		if !p.Take("for") {
			p.At = from
			p.Fail(p.At, p.Seen()+" is not said of a circle", "say for, and the part of the seam that this panel takes")
		}
		ownAt = p.At
		own = p.Sum()
	}
	pc.names = []string{"waist", "side", "hem", "centre"}
	pc.shape = func() {
		long, whole := long(), whole()
		r, share := whole/angle(), whole
		if own != nil {
			if share = own(); share <= 0 || share > whole+e.Hair() {
				p.Unfit(ownAt, fmt.Sprintf("a panel for %s of a seam of %s", p.Say(share), p.Say(whole)), "a panel takes a part of the seam")
			}
		} else if pc.OnFold {
			share /= 2
		}
		if pc.Twice {
			if share /= 2; own != nil || angle() < 2*math.Pi-1e-9 {
				p.Refuse(begin, "only a whole full circle is cut on two folds", "say full circle, without for; or cut it on the fold")
			}
		}
		pc.setCircle(r, long, share/r, begin)
	}
}

// onFolds is how a full circle is cut on folds: what is told of a panel there is half of it.
const onFolds = "for a circle without a seam say cut 1 on two folds; or cut two halves, each on the fold, and tell half of the half: full circle 60 long, to fit waist, for 1/4 of waist; cut 2 on the fold"

// setCircle makes the edges of a sector. The centre runs plumb; on the fold it is half of the whole, on two folds a
// quarter.
func (pc *Piece) setCircle(r, long, turn float64, begin int) {
	room := 2 * math.Pi
	if pc.OnFold {
		room /= 2 // its mirror image takes the other half
	}
	if turn > room-0.01 {
		mend := "cut it in panels: for and the part of the seam, as in: full circle 60 long, to fit waist, for half waist; cut 2"
		if pc.OnFold {
			mend = onFolds
		}
		pc.Parser.Refuse(begin, "a full circle in one piece has no room for its seam", mend)
	}
	at := func(radius, a float64) orb.Point { return orb.Point{radius * math.Sin(a), radius * math.Cos(a)} }
	arc := func(radius, a0, sweep float64) curve.Curve {
		// In the draft's frame, y down, a growing angle from plumb runs against the sense of x to y.
		return curve.Curve{{From: at(radius, a0), To: at(radius, a0+sweep), Centre: orb.Point{}, Sweep: -sweep}}
	}
	pc.addEdge("waist", arc(r, 0, turn), false)
	pc.addEdge("side", curve.Curve{curve.LineSeg(at(r, turn), at(r+long, turn))}, pc.Twice)
	pc.addEdge("hem", arc(r+long, turn, -turn), false)
	pc.addEdge("centre", curve.Curve{curve.LineSeg(at(r+long, 0), at(r, 0))}, pc.OnFold)
}

// Radius reads "half circle to fit 72" and gives the radius of that seam.
func (e *Garment) Radius(p *tree.Parser) tree.Number {
	at := p.At
	angle := circleAngle(p)
	if angle == nil {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no share of a circle", sentence.Nearest(sentence.FirstWords(p.Phrase(), 2), circleWords))
	}
	seam := readFitted(p)
	return func() float64 { return seam() / angle() }
}
