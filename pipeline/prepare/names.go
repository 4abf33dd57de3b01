package prepare

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// nameHeights are the heights of line names, mm.
var nameHeights = []float64{5, 4, 3}

// nameLines writes their names beside the lines that a dressmaker must recognise, where there is room.
func nameLines(r *pattern.Ready, d *labelSpace) {
	for _, l := range r.Lines { // the names added meanwhile are not in it
		words := lineName(l)
		if words == "" || len(l.Path.Points) < 2 {
			continue
		}
		nameLine(r, d, words, l.Path)
	}
}

// lineName is the name to write beside a line, "" for most.
func lineName(l pattern.Line) string {
	switch k := look.KindOf(l.Role, l.Label); k {
	case look.Fold, look.Slit, look.Loop, look.Stripe, look.Plaid:
		return string(k)
	case look.Placement:
		return "lay to here"
	case look.Gathers, look.Ease, look.Buttonhole, look.BustPoint:
		return string(look.Of(k).Words)
	case look.PleatFold, look.Mark, look.LengthenHere, look.Quality:
		return l.Label
	case look.Grain:
		if len(l.Path.Points) == 2 && !l.Path.Closed { // the line, not its arrow heads
			return "grain"
		}
	}
	return ""
}

// nameLine finds a place for the words near the line's middle, else nearer to its ends, on either side.
func nameLine(r *pattern.Ready, d *labelSpace, words string, line geom.Path) {
	length := line.Length()
	for _, h := range nameHeights {
		b := newBlock([]string{words}, h)
		for _, t := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
			at, along := line.At(t * length)
			c, n := d.in(at), d.turn.Vector(geom.Left(along))
			off := clear + 0.5 + (math.Abs(n[0])*b.width+math.Abs(n[1])*b.height)/2
			for _, side := range []float64{off, -off} {
				if q := geom.Add(c, geom.Mul(n, side)); d.free(q, b.width, b.height, true) {
					b.write(r, d.out(q, b))
					return
				}
			}
		}
	}
}

// Letters beside a piece: their height, and their distance from it, mm.
const (
	besideLetters = 4.0
	besideGap     = 3.0
)

// besideOutline writes the heading of a too small piece below it or on its right, whichever makes the smaller square.
func besideOutline(r *pattern.Ready, lines []string) {
	box := r.Outline.Bound()
	w, h := span(box)
	var best block
	var put orb.Point
	least := math.Inf(1)
	for _, form := range forms(lines) {
		b := newBlock(form, besideLetters)
		below, right := math.Max(math.Max(w, b.width), h+besideGap+b.height), math.Max(w+besideGap+b.width, math.Max(h, b.height))
		if below < least {
			best, put, least = b, orb.Point{box.Min[0], box.Min[1] - besideGap - b.height}, below
		}
		if right < least {
			best, put, least = b, orb.Point{box.Max[0] + besideGap, box.Center()[1] - b.height/2}, right
		}
	}
	best.write(r, geom.Translate(put[0], put[1]))
}
