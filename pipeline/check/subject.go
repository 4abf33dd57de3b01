package check

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// draft is a pattern with its pieces made ready for the rules.
type draft struct {
	p      *pattern.Pattern
	lim    Limits
	say    words
	pieces []*subject
}

// subject is one piece, with what several rules ask about worked out once.
type subject struct {
	p     *pattern.Piece
	index int
	lim   Limits
	say   words

	crossings []geom.Crossing
	sound     bool // closed, of some area, not crossing itself
	ccw       bool // the outline runs counter-clockwise
	outline   *geom.Path
	onOutline *geom.Index
	perimeter float64
	starts    []float64 // along the outline, by vertex
	wrapped   *profile
	placed    []notch
	shut      *subject // see closed
}

func newDraft(p *pattern.Pattern, lim Limits) *draft {
	d := &draft{p: p, lim: lim, say: newWords(p, lim.Unit)}
	for i := range p.Pieces {
		d.pieces = append(d.pieces, newSubject(&p.Pieces[i], i, lim, d.say))
	}
	return d
}

func newSubject(p *pattern.Piece, index int, lim Limits, say words) *subject {
	s := &subject{p: p, index: index, lim: lim, say: say, outline: p.Outline()}
	if ring, _, ok := p.Ring(); ok && (s.outline == nil || !s.outline.Closed) {
		s.outline = &ring
	}
	if s.outline == nil || len(s.outline.Points) == 0 {
		s.outline = nil
		return s
	}
	if s.outline.Closed {
		s.crossings = s.outline.SelfCrossings(20)
		s.sound = len(s.crossings) == 0 && s.outline.Area() > 1
	}
	s.ccw = s.outline.SignedArea() > 0
	s.onOutline = geom.NewIndex(*s.outline)
	s.perimeter, s.starts = s.outline.Length(), s.outline.Starts()
	return s
}

// finding starts a finding about the piece.
func (s *subject) finding(rule, message, mend string) pattern.Finding {
	f := pattern.NewFinding(rule, message, mend)
	f.Piece, f.Index = s.p.Name, s.index
	return f
}

// at starts a finding about a place of the piece.
func (s *subject) at(rule string, place orb.Point, message, mend string) pattern.Finding {
	f := s.finding(rule, message, mend)
	f.At = pattern.Place(place)
	return f
}

// place says where on the piece.
func (s *subject) place(at orb.Point) string { return s.say.places.SayOn(s.p, at) }

func one(f pattern.Finding) []pattern.Finding { return []pattern.Finding{f} }

// middle is a place for findings about a piece as a whole: the middle of its box.
func (s *subject) middle() *orb.Point {
	if s.outline != nil {
		return pattern.Place(s.outline.Bound().Center())
	}
	for _, line := range s.p.Sew {
		if len(line.Points) > 0 {
			return pattern.Place(line.Bound().Center())
		}
	}
	return nil
}

// both tells whether cut and sew line are there and the allowance can be measured.
func (s *subject) both() bool {
	return s.sound && s.p.Cut != nil && len(s.p.Sew) > 0
}

// inward is the direction into the piece square to the outline at stretch i.
func (s *subject) inward(i int) orb.Point {
	a, b := s.outline.Segment(i)
	left := geom.Left(geom.Unit(geom.Sub(b, a)))
	if !s.ccw {
		return geom.Mul(left, -1)
	}
	return left
}

// edgeName is what people call the edge, "" where it has no name.
func edgeName(e pattern.Edge) string {
	switch {
	case e.Name != "":
		return e.Name
	case e.Kind != "":
		return e.Kind
	}
	return ""
}

// span is a box's sides in mm.
func span(b orb.Bound) (w, h float64) {
	return math.Max(0, b.Max[0]-b.Min[0]), math.Max(0, b.Max[1]-b.Min[1])
}
