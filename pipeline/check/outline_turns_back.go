package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

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
	// tongueTurn is the least turn, in degrees, at the point of a tongue, and tongueSlim how often its width goes
	// into its length at least.
	tongueTurn, tongueSlim = 135.0, 2.0
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
		return one(s.turn(line, segment, at, fmt.Sprintf("the %s runs back within %s of itself", what, s.say.length(runGap))))
	}
	for _, g := range s.tongues(line) {
		out = append(out, s.turn(line, g.tip, line.Points[g.tip], fmt.Sprintf("the %s runs %s past the end of an edge and comes back as a tongue up to %s wide",
			what, s.say.length(g.long), s.say.length(g.wide))))
	}
	return out
}

// tongue is where an edge begins with a straight run to a point, turns sharply and comes back past its own end:
// wider than a thorn, and nothing that an edge is meant to do. Stretches that turn at a name of their own are none.
type tongue struct {
	tip        int // vertex of the line
	long, wide float64
}

func (s *subject) tongues(line *geom.Path) []tongue {
	edges := s.p.EdgesOf(line)
	n := len(line.Points)
	if len(edges) < 2 {
		return nil // one edge all round has no end to run past
	}
	var out []tongue
	for k, e := range edges {
		last := edges[(k+1)%len(edges)].First
		if last <= e.First {
			last += n
		}
		if edgeName(e) == "" {
			continue
		}
		var way []int
		for i := e.First; i <= last; i++ {
			way = append(way, i%n)
		}
		ccw := line.SignedArea() > 0
		for range 2 {
			if g, ok := tongueAt(line, way, ccw); ok {
				out = append(out, g)
			}
			slices.Reverse(way)
			ccw = !ccw
		}
	}
	return out
}

// tongueAt looks for a tongue at the beginning of a way along a line's vertices; left tells that the piece lies to
// the left of it.
func tongueAt(line *geom.Path, way []int, left bool) (tongue, bool) {
	at := func(i int) orb.Point { return line.Points[way[i]] }
	run := 0.0
	for tip := 1; tip+1 < len(way); tip++ {
		run += geom.Dist(at(tip-1), at(tip))
		long := geom.Dist(at(0), at(tip))
		if run > 1.05*long {
			return tongue{}, false
		}
		u, v := geom.Unit(geom.Sub(at(tip), at(tip-1))), geom.Unit(geom.Sub(at(tip+1), at(tip)))
		turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
		if !left {
			turn = -turn
		}
		if turn < tongueTurn*math.Pi/180 || long < tongueRun {
			continue
		}
		axis, wide := geom.Unit(geom.Sub(at(tip), at(0))), 0.0
		for i := tip + 1; i < len(way); i++ {
			off := geom.Sub(at(i), at(0))
			t := geom.Dot(off, axis)
			if t <= -long/2 {
				return tongue{way[tip], long, wide}, true
			}
			if t >= 0 {
				wide = math.Max(wide, math.Abs(geom.Cross(axis, off)))
			}
			if tongueSlim*wide > long {
				break
			}
		}
		return tongue{}, false
	}
	return tongue{}, false
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
	where := s.place(at)
	for _, p := range s.p.Points {
		if where == p.Text {
			where = "the point " + where
			break
		}
	}
	name := edgeName(edges[k])
	before := edgeName(edges[(k+len(edges)-1)%len(edges)])
	switch {
	case edges[k].First == i && name != "" && before != "" && name != before:
		where += fmt.Sprintf(", where the %q edge meets the %q edge", before, name)
	case name != "" && !strings.HasSuffix(where, " along the "+name):
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
