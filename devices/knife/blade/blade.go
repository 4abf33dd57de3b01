// Package blade is a simulated trailing blade. It follows a gantry's moves, read back from the bytes
// that would be sent, and says where the tip cuts; it shares no code with the compensation whose
// work it judges.
package blade

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// The model is the pursuit curve of a bicycle's back wheel (Dunbar, Bosman and Nooij, "The Track of
// a Bicycle Back Tire", Mathematics Magazine 74, 2001): the tip moves only along the blade, so that
// with phi the direction in which the pivot moves, theta the blade's heading from tip to pivot, s
// the pivot's way and d the blade offset
//
//	d theta / ds = sin(phi - theta) / d
//
// which on a straight move is tan((theta-phi)/2) = tan((theta0-phi)/2) exp(-s/d).

// Options describe the blade and how it stands at the start.
type Options struct {
	// Offset is the distance from the pivot to the tip in mm. At 0 the tip is the pivot.
	Offset float64
	// Heading is the direction from tip to pivot before the first move, radians.
	Heading float64
	// Top is the height at and under which the tip touches the material, mm; usually 0.
	Top float64
}

// Cut is what the tip does in one go at one height: a single point where it only stabs.
type Cut struct {
	// Path is open and has at least one point.
	Path geom.Path
	// Z is the height it was cut at; where the height changed under way, the shallower one.
	Z float64
	// Line is the program's line that began it.
	Line int
}

// Result is what a program does to the material.
type Result struct {
	Cuts []Cut
	// Heading is how the blade stands at the end, radians.
	Heading float64
	// MaxTurn is the largest turn in radians that the blade made in one place, the tip staying
	// within a tenth of a millimetre; MaxTurnLine is where that was.
	MaxTurn     float64
	MaxTurnLine int
}

// Lowest is the height of the deepest cut, +Inf where there is none.
func Lowest(cuts []Cut) float64 {
	low := math.Inf(1)
	for _, c := range cuts {
		low = math.Min(low, c.Z)
	}
	return low
}

const (
	// sagitta is how far the chords that stand for a round move may leave it, mm.
	sagitta = 5e-5
	// thinned is how far a tip path may leave the points that it was made of, mm.
	thinned = 1e-4
	// straightSteps are the points written for each blade offset of a straight move until the
	// blade has settled.
	straightSteps = 40
	// settled is the angle off the direction of travel, radians, below which a straight move needs
	// no points in between.
	settled = 1e-4
	// still is how far the tip may move in a turn that counts as one on the spot, mm.
	still = 0.1
)

// Simulate runs the moves. Above Options.Top the heading keeps and the tip goes wherever the pivot
// takes it; at or under it the blade turns as the material makes it.
func Simulate(moves []devices.Move, o Options) Result {
	s := sim{opt: o, theta: o.Heading}
	if len(moves) > 0 {
		s.pivot = moves[0].From
	}
	for _, m := range moves {
		s.move(m)
	}
	s.close()
	s.res.Heading = norm(s.theta)
	return s.res
}

type sim struct {
	opt   Options
	pivot orb.Point
	theta float64
	cur   *Cut
	res   Result

	turnFrom  orb.Point // where the present turn on the spot is measured from
	turnTheta float64
}

func (s *sim) tip() orb.Point {
	sin, cos := math.Sincos(s.theta)
	return orb.Point{s.pivot[0] - s.opt.Offset*cos, s.pivot[1] - s.opt.Offset*sin}
}

func (s *sim) move(m devices.Move) {
	if math.Min(m.FromZ, m.ToZ) > s.opt.Top+1e-9 {
		s.close()
		s.pivot = m.To
		return
	}
	if m.From == m.To && !m.Arc {
		s.vertical(m)
		return
	}
	s.at(math.Max(m.FromZ, m.ToZ), m.Line)
	if m.Arc {
		s.arc(m)
	} else {
		s.straight(m.To)
	}
	s.pivot = m.To // free of what the steps rounded
	s.watch(m.Line)
}

// vertical moves leave the heading; going down they stab.
func (s *sim) vertical(m devices.Move) {
	if m.ToZ > s.opt.Top+1e-9 {
		s.close()
		return
	}
	s.at(m.ToZ, m.Line)
}

// at makes sure that a cut at the height is under way.
func (s *sim) at(z float64, line int) {
	if s.cur != nil && s.cur.Z == z {
		return
	}
	fresh := s.cur == nil
	s.close()
	s.cur = &Cut{Z: z, Line: line, Path: geom.Path{Points: []orb.Point{s.tip()}}}
	if fresh {
		s.turnFrom, s.turnTheta = s.tip(), s.theta
	}
}

// close ends the cut under way, as the tool goes up or to another height.
func (s *sim) close() {
	if s.cur == nil {
		return
	}
	s.cur.Path.Corners = make([]bool, len(s.cur.Path.Points))
	s.cur.Path = s.cur.Path.Thin(thinned)
	s.cur.Path.Corners = nil
	s.res.Cuts = append(s.res.Cuts, *s.cur)
	s.cur = nil
}

// watch keeps the largest turn on the spot.
func (s *sim) watch(line int) {
	if dist(s.tip(), s.turnFrom) > still {
		s.turnFrom, s.turnTheta = s.tip(), s.theta
		return
	}
	if a := math.Abs(s.theta - s.turnTheta); a > s.res.MaxTurn {
		s.res.MaxTurn, s.res.MaxTurnLine = a, line
	}
}

// straight drags the pivot to a point by the closed form; the steps only serve the picture.
func (s *sim) straight(to orb.Point) {
	dx, dy := to[0]-s.pivot[0], to[1]-s.pivot[1]
	length := math.Hypot(dx, dy)
	if length == 0 {
		return
	}
	d := s.opt.Offset
	if d == 0 {
		s.pivot = to
		s.mark()
		return
	}
	phi := math.Atan2(dy, dx)
	from, start := s.pivot, s.theta
	for i := 1; ; i++ {
		way := float64(i) * d / straightSteps
		if way >= length || math.Abs(norm(s.theta-phi)) < settled {
			break
		}
		s.theta = pursue(start, phi, way/d)
		s.pivot = orb.Point{from[0] + dx*way/length, from[1] + dy*way/length}
		s.mark()
	}
	s.theta = pursue(start, phi, length/d)
	s.pivot = to
	s.mark()
}

// pursue is the exact heading after a straight way of u blade offsets in direction phi. It runs on
// from theta, so that turns add up past a half turn.
func pursue(theta, phi, u float64) float64 {
	off := norm(theta - phi)
	return theta - off + 2*math.Atan2(math.Sin(off/2)*math.Exp(-u), math.Cos(off/2))
}

// arc goes round in chords so short that they are the arc for all that matters here.
func (s *sim) arc(m devices.Move) {
	r := m.Radius()
	if r == 0 {
		return
	}
	a0 := math.Atan2(m.From[1]-m.Centre[1], m.From[0]-m.Centre[0])
	r1 := dist(m.To, m.Centre)
	step := 2 * math.Sqrt(2*sagitta/math.Max(r, sagitta))
	n := int(math.Ceil(math.Abs(m.Sweep)/math.Min(step, 0.05))) + 1
	for i := 1; i <= n; i++ {
		t := float64(i) / float64(n)
		sin, cos := math.Sincos(a0 + m.Sweep*t)
		rt := r + (r1-r)*t
		p := orb.Point{m.Centre[0] + rt*cos, m.Centre[1] + rt*sin}
		way := dist(s.pivot, p)
		if s.opt.Offset > 0 && way > 0 {
			phi := math.Atan2(p[1]-s.pivot[1], p[0]-s.pivot[0])
			s.theta = pursue(s.theta, phi, way/s.opt.Offset)
		}
		s.pivot = p
		s.mark()
	}
}

// mark adds the tip's place to the cut under way.
func (s *sim) mark() {
	t := s.tip()
	pts := s.cur.Path.Points
	if pts[len(pts)-1] != t {
		s.cur.Path.Points = append(pts, t)
	}
}

// norm brings an angle into (-pi, pi].
func norm(a float64) float64 {
	a = math.Remainder(a, 2*math.Pi)
	if a == -math.Pi {
		return math.Pi
	}
	return a
}

func dist(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }
