package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const (
	// signMM is the length up to which a mark is a sign of one place, as of a button: its middle counts.
	signMM = 6.5
	// unsaidWidth is how far in mm from a sew line the cut line may lie where nobody says a width: common practice.
	unsaidWidth = 25
)

// markOutside finds marks and drill holes that reach outside the cut line: they are made on no cloth, or on a
// neighbour's. A mark in the allowance is meant to lie there. On a half piece a mark may reach over the fold, since it is
// opened out with the piece, but does not lie beyond it. A buttonhole stays clear of the seams, and a slit does not part the piece.
func markOutside(s *subject) []pattern.Finding {
	if !s.sound {
		return nil
	}
	var out []pattern.Finding
	look := func(name string, stretch, places []orb.Point) (found bool) {
		worst, at, beyond := plateau, orb.Point{}, 0
		for _, q := range places {
			d := s.beyondCut(q)
			if d > plateau {
				beyond++
			}
			if d > worst {
				worst, at = d, q
			}
		}
		if beyond == 0 {
			q, across := s.acrossFold(places)
			if !across {
				return false
			}
			f := s.at(pattern.RuleMarkOutside, q, fmt.Sprintf("%s lies beyond the fold, where the half as it is drawn has no cloth", name),
				"draw it on the side of the half: the fold mirrors it to the other")
			f.Stretch = stretch
			out = append(out, f)
			return true
		}
		says, mend := "reaches", "move it inside or make it shorter, or move the edge out"
		if beyond == len(places) {
			says, mend = "lies", "move it inside, or give it to the piece it belongs to"
		}
		f := s.at(pattern.RuleMarkOutside, at, fmt.Sprintf("%s %s outside the piece, %s beyond its cut line at %s", name, says, s.say.length(worst), s.place(at)), mend)
		f.Stretch = stretch
		out = append(out, f)
		return true
	}
	for _, m := range s.p.Marks {
		if m.Role != pattern.RoleMark || len(m.Path.Points) == 0 || m.Label == "pleat arrow" { // which points from fold to fold
			continue
		}
		name, places := "a mark", s.crossed(m.Path)
		if m.Label != "" {
			name = "the " + m.Label
		}
		if m.Path.Length() <= signMM {
			places = []orb.Point{m.Path.Bound().Center()}
		}
		stretch := append([]orb.Point(nil), m.Path.Points...)
		if look(name, stretch, places) {
			continue
		}
		text, mend, at := "", "", m.Path.Points[0]
		switch m.Label {
		case "buttonhole":
			text, mend, at, _ = s.buttonholeFault(s.sewnLine(), name, m.Path)
		case "slit":
			text, mend = s.slitFault(s.sewnLine(), name, m.Path)
		}
		if text != "" {
			f := s.at(pattern.RuleMarkOutside, at, text, mend)
			f.Stretch = stretch
			out = append(out, f)
		}
	}
	for _, d := range s.p.Drills {
		look("a drill hole", nil, []orb.Point{d.At})
	}
	return out
}

// beyondCut is how far in mm a place lies outside the cut line, 0 inside it; outside the line that will be built where
// the piece has a sew line alone.
func (s *subject) beyondCut(q orb.Point) float64 {
	d := s.beyondLine(q)
	for _, fold := range s.p.Folds() {
		if d > 0 {
			d = math.Min(d, s.beyondLine(geom.MirrorLine(fold.A, fold.B).Apply(q)))
		}
	}
	return d
}

// acrossFold tells whether all of some places lie outside a half piece, and gives one; they are on its cloth once it is opened
// out.
func (s *subject) acrossFold(places []orb.Point) (at orb.Point, all bool) {
	for _, q := range places {
		if s.beyondLine(q) <= plateau {
			return at, false
		}
	}
	return places[0], true
}

func (s *subject) beyondLine(q orb.Point) float64 {
	if s.outline.Contains(q) {
		return 0
	}
	_, near := s.onOutline.Nearest(q)
	return math.Max(0, near.Dist-s.widthAt(near))
}

// widthAt is the allowance that will be built at a place of the outline: at a corner up to twice the wider of both
// edges' for the tip of a mitre.
func (s *subject) widthAt(near geom.Near) float64 {
	if s.p.Cut != nil {
		if !s.p.CutSaid && s.lim.Allowance != nil && !s.lim.AllowanceIncluded {
			return *s.lim.Allowance
		}
		return 0
	}
	edges := s.p.EdgesOf(s.outline)
	of := func(segment int) float64 {
		on := len(edges) - 1
		for i, e := range edges {
			if e.First <= segment {
				on = i
			}
		}
		e := edges[on]
		if e.Fold {
			return 0
		}
		if e.Allowance != nil {
			return math.Max(e.Allowance.From, e.Allowance.To)
		}
		if w := s.wholeWidth(); w != nil {
			return *w
		}
		return unsaidWidth
	}
	n := s.outline.Segments()
	w := of(near.Segment)
	switch {
	case near.T <= 0:
		return 2 * math.Max(w, of((near.Segment+n-1)%n))
	case near.T >= 1:
		return 2 * math.Max(w, of((near.Segment+1)%n))
	}
	return w
}
