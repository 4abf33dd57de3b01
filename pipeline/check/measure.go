package check

import (
	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// Figures are a piece's measures as it is drawn - a half stays a half - on its cut line where there
// is one, else on its sew line. Lengths are mm, the area mm2.
type Figures struct {
	Area, Perimeter float64
	Width, Height   float64 // along x and y of the draft
	Notches         int
	// AllowanceMin and AllowanceMax are the least and greatest distance from the sew line to the cut
	// line, what lies on the fold left out; nil where the allowance cannot be measured, which is
	// where one of the lines is missing, open or crosses itself. MinAt and MaxAt are where on the
	// sew line; where many places share the figure, one of them.
	AllowanceMin, AllowanceMax *float64
	MinAt, MaxAt               orb.Point
}

// Measure takes a piece's figures. A piece without any line has none but its notches.
func Measure(p *pattern.Piece) Figures {
	f := Figures{Notches: len(p.Notches)}
	s := newSubject(p, 0, Limits{}, words{})
	if s.outline == nil {
		f.measureOpen(p)
		return f
	}
	f.Perimeter = s.outline.Length()
	if s.outline.Closed {
		f.Area = s.outline.Area()
	}
	f.Width, f.Height = span(s.outline.Bound())
	if w := s.profile(); w != nil && w.max.d >= w.min.d {
		lo, hi := w.min.d, w.max.d
		f.AllowanceMin, f.AllowanceMax = &lo, &hi
		f.MinAt, f.MaxAt = w.min.at, w.max.at
	}
	return f
}

// measureOpen takes what can be taken of sew lines that do not close.
func (f *Figures) measureOpen(p *pattern.Piece) {
	var box orb.MultiPoint
	for _, line := range p.Sew {
		f.Perimeter += line.Length()
		box = append(box, line.Points...)
	}
	if len(box) > 0 {
		f.Width, f.Height = span(box.Bound())
	}
}
