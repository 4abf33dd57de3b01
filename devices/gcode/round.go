package gcode

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

const (
	// chordTol is how far chords may deviate from a cut arc for a device without arcs, mm; swivelTol the same for
	// turns about the tip, whose radius is small.
	chordTol, swivelTol = geom.ArcFitTol, 0.001
	// refitTol is how far an arc may deviate from the slightly distorted one that it is fitted to, mm; fineTol is the
	// sampling tolerance for the fit.
	refitTol, fineTol = 0.002, 0.0005
	// largest and least radius written, mm: with a larger one 32-bit controllers lose the centre, and some refuse a
	// smaller one.
	largestRadius, leastRadius = 5000, 0.01
	// mostSweep is the greatest turn of one arc: near a half turn rounding can change the side of the centre, and some
	// controllers take no more.
	mostSweep = 170 * math.Pi / 180
)

// round writes an arc: as it is, as arcs fitted to its corrected shape, or as chords.
func (e *encoder) round(m devices.Motion) {
	sweep := sweepOf(e.truly, m.To, m.Centre, m.CCW)
	from := e.turnNow
	turnsNowhere := m.To != e.truly && math.Abs(sweep) > 2*math.Pi-1e-6 // a full turn whose end is slightly before its start
	if turnsNowhere || geom.Dist(e.truly, m.Centre) < leastRadius {
		e.straight(e.adjust.Apply(m.To), m)
		return
	}
	arcs := e.p.Gantry.Arcs && geom.Dist(e.truly, m.Centre) <= largestRadius
	if arcs && e.p.Correction.Similar() {
		e.arc(e.adjust.Apply(m.To), e.adjust.Apply(m.Centre), sweep, m)
		return
	}
	tol := chordTol
	if m.Kind == devices.Swivel {
		tol = swivelTol
	}
	if arcs {
		tol = fineTol
	}
	path := e.squashed(m, sweep, tol)
	run := geom.Path{Points: path, Corners: make([]bool, len(path))}
	if !arcs {
		e.chords(run, m, from)
		return
	}
	at := path[0]
	done, whole := 0.0, run.Length()
	end := m.Turn
	for _, f := range geom.FitArcs(run, refitTol) {
		done += geom.Dist(at, f.To)
		m.Turn = from + (end-from)*math.Min(1, done/whole)
		if f.Arc {
			e.arc(f.To, f.Centre, sweepOf(at, f.To, f.Centre, f.CCW), m)
		} else {
			e.straight(f.To, m)
		}
		at = f.To
	}
}

// squashed is an arc after the correction, as points as they are sent, the start included.
func (e *encoder) squashed(m devices.Motion, sweep, tol float64) []orb.Point {
	u := geom.Sub(e.truly, m.Centre)
	v := geom.Left(u)
	if sweep < 0 {
		v = geom.Mul(v, -1)
	}
	start := e.adjust.Apply(e.truly)
	path := geom.FlattenArc([]orb.Point{start}, e.adjust.Apply(m.Centre), e.adjust.Vector(u), e.adjust.Vector(v), 0, math.Abs(sweep), tol)
	path[len(path)-1] = e.adjust.Apply(m.To)
	return path
}

func (e *encoder) chords(run geom.Path, m devices.Motion, from float64) {
	end := m.Turn
	n := float64(len(run.Points) - 1)
	for k, pt := range run.Points[1:] {
		m.Turn = from + (end-from)*float64(k+1)/n
		e.straight(pt, m)
	}
}

// arc writes an arc to a place about a centre, both as sent; an arc of about a half turn or more in equal parts.
func (e *encoder) arc(to, c place, sweep float64, m devices.Motion) {
	n := int(math.Ceil(math.Abs(sweep) / mostSweep))
	if n > 1 {
		from, end := e.turnNow, m.Turn
		start := geom.Sub(e.out.point(e.at), c)
		for k := 1; k < n; k++ {
			t := float64(k) / float64(n)
			m.Turn = from + (end-from)*t
			e.part(geom.Add(c, geom.Rotate(sweep*t).Apply(start)), c, sweep/float64(n), m)
		}
		m.Turn = end
		sweep /= float64(n)
	}
	e.part(to, c, sweep, m)
}

// part writes an arc of less than a half turn, or a line where rounding leaves no usable arc: equal rounded ends would
// be read as a full circle.
func (e *encoder) part(to, c place, sweep float64, m devices.Motion) {
	s, t := e.at, e.out.spot(to)
	if s == t {
		e.straight(to, m)
		return
	}
	ij, ok := e.centre(s, t, c, sweep)
	if !ok {
		e.straight(to, m)
		return
	}
	word := "G2"
	if sweep > 0 {
		word = "G3"
	}
	axis, _ := e.axis(m)
	leg := e.turning(t, ij, sweep, m.Feed)
	e.at = t
	e.line(word+e.xy(t)+" I"+e.out.step(ij[0])+" J"+e.out.step(ij[1])+axis+e.feedWord(m.Feed), leg.Length, leg)
}

// turning is the leg round a centre at offset ij from the machine's place.
func (e *encoder) turning(to, ij spot, sweep, feed float64) devices.Leg {
	a, b := e.out.point(e.at), e.out.point(to)
	out := geom.Mul(e.out.point(ij), -1) // from the centre to the start
	r := math.Hypot(out[0], out[1])
	along := func(radius orb.Point) [3]float64 {
		u := geom.Unit(geom.Mul(geom.Left(radius), sweep))
		return [3]float64{u[0], u[1], 0}
	}
	return devices.Leg{Length: r * math.Abs(sweep), Speed: feed / 60, Radius: r,
		In: along(out), Out: along(geom.Add(out, geom.Sub(b, a)))}
}

// centre is the arc's centre from its start, in grid steps, for which the radii at both rounded ends agree best. The
// centre is moved onto the bisector of the rounded chord, which leaves a difference of 1.41 steps at most; of the grid
// points round it the one whose radii differ least is taken.
func (e *encoder) centre(s, t spot, c place, sweep float64) (ij spot, ok bool) {
	a, b := e.out.point(s), e.out.point(t)
	c = geom.ArcCentre(a, b, c)
	r := geom.Dist(a, c)
	half := geom.Dist(a, b) / 2
	if r < leastRadius || half*half/(2*r) < 0.5/e.out.grid {
		return ij, false
	}
	ij = e.out.spot(geom.Sub(c, a))
	best := math.Inf(1)
	for dx := int64(-1); dx <= 1; dx++ {
		for dy := int64(-1); dy <= 1; dy++ {
			k := spot{ij[0] + dx, ij[1] + dy}
			gap := math.Abs(radiusGap(k, spot{t[0] - s[0], t[1] - s[1]}))
			score := gap + 0.3*math.Hypot(float64(dx), float64(dy))
			if score < best {
				best, c = score, place{float64(k[0]), float64(k[1])}
			}
		}
	}
	ij = spot{int64(c[0]), int64(c[1])}
	centre := geom.Add(a, e.out.point(ij))
	written := sweepOf(a, b, centre, sweep > 0)
	return ij, math.Abs(written-sweep) < math.Pi/2
}

// radiusGap is how much longer the radius at the end is than at the start, in grid steps; ij and end are relative to
// the start.
func radiusGap(ij, end spot) float64 {
	x, y := float64(ij[0]), float64(ij[1])
	return math.Hypot(float64(end[0])-x, float64(end[1])-y) - math.Hypot(x, y)
}

// sweepOf is the turn about c from a to b in the given direction; equal places are a full turn.
func sweepOf(a, b, c place, ccw bool) float64 {
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	s := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	switch {
	case ccw && s <= 0:
		s += 2 * math.Pi
	case !ccw && s >= 0:
		s -= 2 * math.Pi
	}
	return s
}

// axis is the word for the rotary axis of a tangential knife, and its turn in degrees.
func (e *encoder) axis(m devices.Motion) (word string, degrees float64) {
	if e.p.Kind != devices.TangentialKnife {
		return "", 0
	}
	was, is := e.out.steps(e.turnNow*180/math.Pi), e.out.steps(m.Turn*180/math.Pi)
	e.turnNow = m.Turn
	if was == is {
		return "", 0
	}
	letter := cmp.Or(e.p.Gantry.Axis, "A")
	return " " + letter + e.out.step(is), math.Abs(float64(is-was)) / e.out.grid
}
