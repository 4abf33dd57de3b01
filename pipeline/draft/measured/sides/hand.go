package sides

import (
	"slices"
	"strings"
	"unicode"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// handDrawn is for which side a piece is as it is drawn, right side up, by its place in Names; said is false where nothing tells.
// Out from the middle to the right, a front is the left one, a back the right one. What has edges of both, as a sleeve's cap, goes
// by which way its front lies. The right side of a lining or a facing lies against the body, so it is for the other side than the
// cloth that is drawn the same way. madeOf names its drawing.
func handDrawn(p *pattern.Piece, madeOf string) (side int, said bool) {
	line := p.EdgeLine()
	if line == nil || len(line.Points) == 0 {
		return 0, true
	}
	frontAt, ofFront := edgesOf(p, line, "front")
	backAt, ofBack := edgesOf(p, line, "back")
	front, back := false, false
	for _, name := range []string{p.Name, madeOf} {
		if front == back {
			front, back = speaksOf(name, "front", "forepart"), speaksOf(name, "back")
		}
	}
	if front == back {
		front, back = ofFront, ofBack
	}
	switch {
	case front && back && ofFront && ofBack:
		side, said = place(frontAt < backAt), true
	case front != back:
		side, said = place(front), true
		at, is := edgesOf(p, line, "centre", "center")
		if f := p.FoldLine(); f != nil {
			at, is = (f.A[0]+f.B[0])/2, true
		}
		if b := line.Bound(); is && at > b.Center()[0]+geom.Tiny { // drawn out to the left
			side = 1 - side
		}
	default:
		return 0, p.SameTurnedOver(*line)
	}
	if speaksOf(p.Name, "lining", "facing") || speaksOf(madeOf, "lining", "facing") || speaksOf(p.Material, "lining") {
		side = 1 - side
	}
	return side, said
}

// ownSide is of which side a piece is, by its place in Names, whose name or drawing says left or right and not both.
func ownSide(name string) (side int, is bool) {
	right, left := speaksOf(name, Names[0]), speaksOf(name, Names[1])
	return place(left), right != left
}

// place is that of the left side among Names, or of the right one.
func place(left bool) int {
	if left {
		return 1
	}
	return 0
}

// speaksOf tells whether a name holds one of some words, also in the plural.
func speaksOf(name string, words ...string) bool {
	return slices.ContainsFunc(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) }), func(w string) bool {
		return slices.Contains(words, strings.TrimSuffix(w, "s"))
	})
}

// edgesOf is where, across, the edges begin and end on the whole whose name or kind holds one of some words; the bool is false for none.
func edgesOf(p *pattern.Piece, line *geom.Path, words ...string) (x float64, is bool) {
	n := 0.0
	for i, e := range p.Edges {
		if speaksOf(e.Name, words...) || speaksOf(e.Kind, words...) {
			x, n = x+line.Points[e.First][0]+line.Points[p.Edges[(i+1)%len(p.Edges)].First][0], n+2
		}
	}
	return x / max(n, 1), n > 0
}
