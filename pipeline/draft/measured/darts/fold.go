package darts

import (
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/tree"
)

// Fold is a line that is folded and stitched on whole cloth and not cut: a dart from an edge to a point, whose legs may
// be curved, or a row of them. Its two legs are each other's mirror image in the fold.
type Fold struct {
	Line int // where the draft tells it
	// Legs are the two stitching lines, toward the centre first, from where the cloth begins to be taken to where no more
	// is taken.
	Legs [2]curve.Curve
	// Holes are drill marks, in the fold, so that they are sewn in.
	Holes []orb.Point
}

// Outline is the line round what is taken, in chords, closed.
func (f Fold) Outline() geom.Path {
	line := geom.Path{Points: []orb.Point{f.Legs[0].Start()}}
	for _, g := range append(slices.Clone(f.Legs[0]), f.Legs[1].Reversed()...) {
		if g.From != line.Points[len(line.Points)-1] { // the other leg's end, where the mouth lies
			line.Points = append(line.Points, g.From)
		}
		line.Points = g.Flatten(line.Points, 1e-3)
	}
	line.Closed = true
	return line
}

// AddMouth gives the ring the mouth of a fold that is stitched and not cut, and tells its number for the stretch of the
// outline that lies between the legs' ends. About is where lines through the ends of the legs, the way these run there,
// meet. Press is the side to which it is pressed, "" for the usual one.
func (s *Ring) AddMouth(p *tree.Parser, name, press string, about orb.Point) int {
	t := &drawnDart{dartSentence: &dartSentence{name: name, Sentence: p.Sentence, parser: p, folded: press}, cap: -1}
	s.Mouths = append(s.Mouths, &mouth{dart: t, Name: name, about: about, p: about, made: true, stitched: true})
	return len(s.Mouths)
}

// Beyond tells of a mouth that is wider inside the piece than at the edge: its legs meet beyond the edge.
func (m Dart) Beyond() bool {
	return geom.Dot(geom.Sub(m.Apex, geom.Lerp(m.LegA, m.LegB, 0.5)), geom.Left(m.In))*m.turn < 0
}
