package pieces

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// circleWords are the shares of a circle that have a name, in parts of the whole.
var circleWords = []string{"full circle", "three-quarter circle", "half circle", "quarter circle", "circle of"}

var circleShares = map[string]float64{"full circle": 1, "three-quarter circle": 0.75, "half circle": 0.5, "quarter circle": 0.25}

// circleAngle reads how much of a circle, in radians: a word, or "circle of 200 degrees".
func circleAngle(p *tree.Parser) (float64, bool) {
	w := p.TakeAny(circleWords...)
	if w == "" {
		return 0, false
	}
	if s, ok := circleShares[w]; ok {
		return 2 * math.Pi * s, true
	}
	at := p.At
	deg := tree.Now(p, p.Sum())
	p.Want("degrees", " and how many of them")
	if deg <= 0 || deg > 360 {
		p.Fail(at, "a circle of "+sentence.FormatNumber(deg)+" degrees", "say more than 0, and 360 at most")
	}
	return deg * math.Pi / 180, true
}

// readFitted reads "to fit 72", the seam that a circle must fit.
func readFitted(p *tree.Parser) tree.Number {
	p.Want("to fit", " and the length of the seam which it must fit")
	at := p.At
	seam := p.Sum()
	return func() float64 {
		v := seam()
		if v <= 0 {
			p.Unfit(at, "a seam of "+sentence.FormatNumber(v), "the seam to fit is more than 0")
		}
		return v
	}
}

// circlePiece makes a piece of a circle from the seam it must fit: "half circle 60 long, to fit 72", of
// which a panel that is not the whole says its own share: ", for length of front waist". The centre
// runs plumb; on the fold it is half of the whole.
func (e *Garment) circlePiece(pc *Piece, p *tree.Parser, angle float64, begin int) {
	long := sideLength(p, "long")
	p.Sign(',')
	whole := tree.Now(p, readFitted(p))
	r := whole / angle
	share, said := whole, false
	from := p.At
	if p.Sign(',') {
		if p.Take("for") {
			at := p.At
			share, said = tree.Now(p, p.Sum()), true
			if share <= 0 || share > whole+e.Hair() {
				p.FailUnfit(at, fmt.Sprintf("a panel for %s of a seam of %s", sentence.FormatNumber(share), sentence.FormatNumber(whole)), "a panel takes a part of the seam")
			}
		} else {
			p.At = from
			p.Fail(p.At, p.Seen()+" is not said of a circle", "say for, and the part of the seam that this panel takes")
		}
	}
	fold := drafting.FoldAhead(p.Cursor)
	if fold && !said {
		share /= 2
	}
	turn, room := share/r, 2*math.Pi
	if fold {
		room /= 2 // its mirror image takes the other half
	}
	if turn > room-0.01 {
		p.Fail(begin, "a full circle in one piece has no room for its seam", "cut it in panels: for and the part of the seam, as in: full circle 60 long, to fit waist, for half waist; cut 2")
	}
	at := func(radius, a float64) orb.Point { return orb.Point{radius * math.Sin(a), radius * math.Cos(a)} }
	arc := func(radius, a0, sweep float64) curve.Curve {
		// In the draft's frame, y down, a growing angle from plumb runs against the sense of x to y.
		return curve.Curve{{From: at(radius, a0), To: at(radius, a0+sweep), Centre: orb.Point{}, Sweep: -sweep}}
	}
	line, col := p.Sentence.Lines[0], p.Sentence.Columns[0]
	pc.Edges = []curve.Edge{
		{Name: "waist", Curve: arc(r, 0, turn), Line: line, Column: col},
		{Name: "side", Curve: curve.Curve{curve.LineSeg(at(r, turn), at(r+long, turn))}, Line: line, Column: col},
		{Name: "hem", Curve: arc(r+long, turn, -turn), Line: line, Column: col},
		{Name: "centre", Curve: curve.Curve{curve.LineSeg(at(r+long, 0), at(r, 0))}, Line: line, Column: col, Fold: fold},
	}
	pc.Worn = pc.Edges
}

// Radius reads "half circle to fit 72" and gives the radius of that seam.
func (e *Garment) Radius(p *tree.Parser) tree.Number {
	at := p.At
	angle, ok := circleAngle(p)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no share of a circle", sentence.Nearest(sentence.FirstWords(p.Phrase(), 2), circleWords))
	}
	seam := readFitted(p)
	return func() float64 { return seam() / angle }
}
