package hpgl

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// defaultChord is the default angle of one chord of an arc, degrees.
const defaultChord = 5

// minChord bounds the work on one arc: finer chords than half a degree are drawn as half a degree.
const minChord = 0.5

// chords is the number of chords with which a device draws an arc: by the chord angle, rounded to equal chords (7470A
// manual, 3-12), or after CT1 by the greatest deviation.
func (m *machine) chords(sweep, radius, param float64, said bool) int {
	angle := defaultChord * math.Pi / 180
	switch {
	case said && m.ct:
		d := math.Abs(param) * math.Abs(m.size()[0])
		if d > 0 && d < radius {
			angle = 2 * math.Acos(1-d/radius)
		}
	case said && param != 0:
		angle = math.Abs(param) * math.Pi / 180
	}
	angle = math.Min(math.Max(angle, minChord*math.Pi/180), 2*math.Pi/3)
	n := max(1, int(math.Ceil(math.Abs(sweep)/angle-1e-9)))
	// A device cannot tell places apart that are closer than a plotter unit; eight chords keep a tiny circle round.
	// circle round.
	if s := m.size(); n > 8 {
		n = min(n, max(8, int(math.Ceil(math.Abs(sweep)*radius*max(1, math.Abs(s[0]), math.Abs(s[1]))))))
	}
	return n
}

// bezier does BZ and BR: cubic curves from the pen's place, each by two control points and an end; for BR all three
// are relative to the start of the curve (PCL 5 reference, 20-22 to 20-27).
func (m *machine) bezier(in instruction) {
	a := in.args
	if len(a) == 0 || len(a)%6 != 0 {
		m.count(in)
	}
	for ; len(a) >= 6 && !m.full(); a = a[6:] {
		start := orb.Point{m.x, m.y}
		var p [3]orb.Point
		for k := range p {
			v := orb.Point{a[2*k], a[2*k+1]}
			if in.name == "BZ" {
				p[k] = m.absolute(v)
			} else {
				p[k] = geom.Add(start, m.delta(v))
			}
			if !m.inRange(p[k]) {
				m.fault("a curve by %.0f,%.0f is out of range and is left out", p[k][0], p[k][1])
				return
			}
		}
		for _, at := range geom.FlattenCubic(nil, start, p[0], p[1], p[2], bezierTol) {
			m.goTo(at[0], at[1])
		}
	}
}

// bezierTol is how far, in plotter units, a chord may deviate from the curve.
const bezierTol = 0.2

// sweepTo draws an arc about c from the pen's place. Anisotropic scaling makes it an ellipse, so it is rotated in user
// units, in which it is a circle.
func (m *machine) sweepTo(c orb.Point, sweep float64, n int) {
	s := m.size()
	u := geom.Rotate(-float64(m.quarter) * math.Pi / 2).Apply(geom.Sub(orb.Point{m.x, m.y}, c))
	u = orb.Point{u[0] / s[0], u[1] / s[1]}
	for i := 1; i <= n && !m.full(); i++ {
		v := geom.Rotate(sweep * float64(i) / float64(n)).Apply(u)
		v = geom.Rotate(float64(m.quarter) * math.Pi / 2).Apply(orb.Point{v[0] * s[0], v[1] * s[1]})
		m.goTo(c[0]+v[0], c[1]+v[1])
	}
}

// arcAbout does AA and AR: centre, sweep in degrees (counter-clockwise positive), chord.
func (m *machine) arcAbout(in instruction) {
	a := in.args
	if len(a) != 3 && len(a) != 4 {
		m.count(in)
		return
	}
	c := m.absolute(orb.Point{a[0], a[1]})
	if in.name == "AR" {
		c = geom.Add(orb.Point{m.x, m.y}, m.delta(orb.Point{a[0], a[1]}))
	}
	m.arc(c, a[2]*math.Pi/180, a[3:])
}

func (m *machine) arc(c orb.Point, sweep float64, chord []float64) {
	if math.Abs(sweep) > 4*math.Pi {
		m.fault("an arc of %.0f degrees goes round more than twice", sweep*180/math.Pi)
		sweep = math.Mod(sweep, 2*math.Pi)
	}
	if !m.inRange(c) || math.IsNaN(sweep) {
		m.fault("an arc about %.0f,%.0f is out of range and is left out", c[0], c[1])
		return
	}
	param := 0.0
	if len(chord) > 0 {
		param = chord[0]
	}
	radius := geom.Dist(c, orb.Point{m.x, m.y})
	m.sweepTo(c, sweep, m.chords(sweep, radius, param, len(chord) > 0))
}

// arcThrough does AT and RT: a point on the arc, the end, chord (PCL 5 reference, 20-16 and 20-48).
func (m *machine) arcThrough(in instruction) {
	a := in.args
	if len(a) != 4 && len(a) != 5 {
		m.count(in)
		return
	}
	start := orb.Point{m.x, m.y}
	mid, end := m.absolute(orb.Point{a[0], a[1]}), m.absolute(orb.Point{a[2], a[3]})
	if in.name == "RT" {
		mid = geom.Add(start, m.delta(orb.Point{a[0], a[1]}))
		end = geom.Add(start, m.delta(orb.Point{a[2], a[3]}))
	}
	if start == end && start != mid { // a full circle with mid opposite
		m.arc(geom.Lerp(start, mid, 0.5), 2*math.Pi, a[4:])
		return
	}
	c, ok := centre(start, mid, end)
	if !ok {
		m.goTo(end[0], end[1])
		return
	}
	from, via, to := direction(c, start), direction(c, mid), direction(c, end)
	sweep := math.Mod(to-from+4*math.Pi, 2*math.Pi)
	if math.Mod(via-from+4*math.Pi, 2*math.Pi) > sweep {
		sweep -= 2 * math.Pi
	}
	m.arc(c, sweep, a[4:])
	m.goTo(end[0], end[1])
}

func direction(c, p orb.Point) float64 { return math.Atan2(p[1]-c[1], p[0]-c[0]) }

// centre is the centre of the circle through three places; ok is false where they lie on a line.
func centre(a, b, c orb.Point) (orb.Point, bool) {
	u, v := geom.Sub(b, a), geom.Sub(c, a)
	d := 2 * geom.Cross(u, v)
	if math.Abs(d) < 1e-9 {
		return orb.Point{}, false
	}
	uu, vv := geom.Dot(u, u), geom.Dot(v, v)
	return geom.Add(a, orb.Point{(v[1]*uu - u[1]*vv) / d, (u[0]*vv - v[0]*uu) / d}), true
}

// circle does CI: the pen goes down for the circle and returns to the centre in its earlier state.
func (m *machine) circle(in instruction) {
	a := in.args
	if len(a) != 1 && len(a) != 2 {
		m.count(in)
		return
	}
	c, down := orb.Point{m.x, m.y}, m.down
	m.lift()
	start := geom.Add(c, m.delta(orb.Point{a[0], 0}))
	m.goTo(start[0], start[1])
	m.lower()
	m.arc(c, 2*math.Pi, a[1:])
	if n := len(m.run); n > 1 {
		m.run[n-1] = m.run[0] // the circle is closed in the device as well
	}
	m.lift()
	m.goTo(c[0], c[1])
	m.restore(down)
}

// rectangle does EA and ER: the edge of a box from the pen's place.
func (m *machine) rectangle(in instruction) {
	if len(in.args) != 2 {
		m.count(in)
		return
	}
	a, down := orb.Point{m.x, m.y}, m.down
	b := m.absolute(orb.Point{in.args[0], in.args[1]})
	if in.name == "ER" {
		b = geom.Add(a, m.delta(orb.Point{in.args[0], in.args[1]}))
	}
	m.lift()
	m.lower()
	for _, p := range []orb.Point{{b[0], a[1]}, b, {a[0], b[1]}, a} {
		m.goTo(p[0], p[1])
	}
	m.restore(down)
}

// polygon collects lines between PM0 and PM2; EP draws their edges.
type polygon struct {
	rings [][]orb.Point
	down  bool // the pen was down at its beginning
}

func (p *polygon) add(at orb.Point) {
	n := len(p.rings) - 1
	p.rings[n] = append(p.rings[n], at)
}

// polygonMode does PM: 0 begins, 1 ends one ring, 2 ends all.
func (m *machine) polygonMode(in instruction) {
	mode := 0
	if len(in.args) > 0 {
		mode = int(in.args[0])
	}
	switch {
	case mode == 0:
		m.endRun()
		m.polygon = &polygon{rings: [][]orb.Point{{{m.x, m.y}}}, down: m.down}
	case m.polygon == nil:
		m.fault("PM%d without PM0", mode)
	case mode == 1:
		m.polygon.rings = append(m.polygon.rings, nil)
	default:
		down := m.polygon.down
		m.buffer, m.polygon = m.polygon.rings, nil
		m.restore(down)
	}
}

// edgePolygon does EP.
func (m *machine) edgePolygon() {
	at, down := orb.Point{m.x, m.y}, m.down
	for _, ring := range m.buffer {
		if m.full() {
			break
		}
		if len(ring) < 2 {
			m.places++ // places that draw nothing take time as well
			continue
		}
		m.lift()
		m.goTo(ring[0][0], ring[0][1])
		m.lower()
		for _, p := range append(ring[1:], ring[0]) {
			m.goTo(p[0], p[1])
		}
	}
	m.lift()
	m.goTo(at[0], at[1])
	m.restore(down)
}
