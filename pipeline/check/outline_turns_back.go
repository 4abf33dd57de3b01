package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const (
	// thornAngle is the angle inside a corner, in degrees, below which the outline has turned back.
	thornAngle = 5.0
	// thornLeg is how far from a corner, in mm, its angle is taken, so that no tiny stretch decides it.
	thornLeg = 0.5
	// runGap is how near, in mm, two runs of an outline may lie to one another. Inside the piece that is
	// a tongue too narrow to hold, outside it a slit too narrow to be one; such a run must be longer than
	// the tip of an honest corner or dart, where its sides are as near.
	runGap, tongueRun, slitRun = 0.3, 4.0, 15.0
)

// outlineTurnsBack finds where an outline or a closed sew line runs past its end and turns back: a thorn,
// a tongue or a doubled slit that nobody meant. Darts, whose legs open outward, are none.
func outlineTurnsBack(s *subject) []pattern.Finding {
	var out []pattern.Finding
	if s.sound {
		out = s.turnsBack("outline", s.outline)
	}
	for i := range s.p.Sew {
		if line := &s.p.Sew[i]; line.Closed && s.p.Cut != nil {
			out = append(out, s.turnsBack("sew line", line)...)
		}
	}
	return out
}

func (s *subject) turnsBack(what string, line *geom.Path) []pattern.Finding {
	var out []pattern.Finding
	for _, i := range thorns(line) {
		out = append(out, s.turn(line, i, line.Points[i], fmt.Sprintf("the %s turns back upon itself", what)))
		if len(out) == mostPlaces {
			return out
		}
	}
	if len(out) > 0 {
		return out
	}
	if at, segment, ok := runBesideItself(line); ok {
		out = one(s.turn(line, segment, at, fmt.Sprintf("the %s runs back within %s of itself", what, s.say.length(runGap))))
	}
	return out
}

// turn is a finding at a place of stretch i of a line, named by its edges and its point.
func (s *subject) turn(line *geom.Path, i int, at orb.Point, text string) pattern.Finding {
	edges := s.p.EdgesOf(line)
	k := len(edges) - 1 // the last one runs over the start
	for j := range edges {
		if edges[j].First <= i {
			k = j
		}
	}
	where := s.say.place(at)
	for _, p := range s.p.Points {
		if geom.Dist(p.At, at) <= onLine {
			where = "the point " + p.Text + ", " + where
			break
		}
	}
	name := edgeName(edges[k])
	before := edgeName(edges[(k+len(edges)-1)%len(edges)])
	switch {
	case edges[k].First == i && name != "" && before != "" && name != before:
		where += fmt.Sprintf(", where the %q edge meets the %q edge", before, name)
	case name != "":
		where += fmt.Sprintf(", on the %q edge", name)
	}
	f := s.at(pattern.RuleOutlineTurnsBack, at, text+" at "+where,
		"end the edge where the next one begins; in a measured draft, look whether the point lies where this body needs it")
	f.Edge = name
	return f
}

// thorns lists the vertices of a closed line with hardly any angle inside.
func thorns(line *geom.Path) []int {
	var out []int
	n := len(line.Points)
	ccw := line.SignedArea() > 0
	for i, p := range line.Points {
		back, ahead := p, p
		for k := 1; k < n && geom.Dist(back, p) < thornLeg; k++ {
			back = line.Points[(i+n-k)%n]
		}
		for k := 1; k < n && geom.Dist(ahead, p) < thornLeg; k++ {
			ahead = line.Points[(i+k)%n]
		}
		u, v := geom.Unit(geom.Sub(p, back)), geom.Unit(geom.Sub(ahead, p))
		turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v)) * 180 / math.Pi
		if !ccw {
			turn = -turn
		}
		if turn > 180-thornAngle && (len(out) == 0 || geom.Dist(line.Points[out[len(out)-1]], p) > thornLeg) {
			out = append(out, i)
		}
	}
	return out
}

// runBesideItself looks along a closed line for a run that lies within runGap of another one of it. It
// gives a place of the first such run and its stretch.
func runBesideItself(line *geom.Path) (at orb.Point, segment int, ok bool) {
	ruler := line.Ruler()
	l := ruler.Length()
	step := math.Max(stepMM, l/mostSamples)
	inside := 1.0
	if line.SignedArea() < 0 {
		inside = -1
	}
	for _, side := range []struct{ way, run float64 }{{inside, tongueRun}, {-inside, slitRun}} {
		near := geom.NewIndex(*line).Follow()
		from := -1.0
		for d := 0.0; d < l; d += step {
			p, dir := ruler.At(d)
			_, other := near.Nearest(geom.Add(p, geom.Mul(geom.Left(dir), side.way*runGap/2)))
			along := math.Abs(other.S - d)
			switch beside := other.Dist < runGap/2-geom.Tiny && math.Min(along, l-along) > 2; {
			case !beside:
				from = -1
			case from < 0:
				from = d
			case d-from >= side.run:
				mid, _ := ruler.At((from + d) / 2)
				segment, _ = ruler.Segment((from + d) / 2)
				return mid, segment, true
			}
		}
	}
	return at, 0, false
}
