package hpgl

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// frame maps the numbers in the bytes to places: P1 and P2, user units, rotation and window.
type frame struct {
	p1, p2 orb.Point
	scaled bool
	// user maps user units to plotter units while scaling is on.
	origin, min, factor orb.Point
	quarter             int // of RO
	window              *[2]orb.Point
	pointsSet           bool // IP was sent
}

// defaultFrame has P1 and P2 at the corners of the page, or at those of a 7470A (manual, 2-3).
func (m *machine) defaultFrame() frame {
	f := frame{p1: orb.Point{250, 279}, p2: orb.Point{10250, 7479}}
	if m.opt.PageLength > 0 && m.opt.PageWidth > 0 {
		f.p1 = orb.Point{0, 0}
		f.p2 = orb.Point{m.opt.PageLength / m.opt.Unit, m.opt.PageWidth / m.opt.Unit}
	}
	return f
}

// scalePoint maps a pair of numbers to plotter units, without the rotation.
func (m *machine) scalePoint(v orb.Point) orb.Point {
	if m.scaled {
		return orb.Point{
			m.frame.origin[0] + (v[0]-m.min[0])*m.factor[0],
			m.frame.origin[1] + (v[1]-m.min[1])*m.factor[1],
		}
	}
	return orb.Point{m.whole(v[0]), m.whole(v[1])}
}

// whole converts a number to plotter units: HP-GL rounds fractions down (7470A manual, 3-4), HP-GL/2 to the nearest
// (PCL 5 reference, 17-10).
func (m *machine) whole(v float64) float64 {
	if m.hpgl2 {
		return math.Round(v)
	}
	return math.Floor(v)
}

// absolute maps a pair to plotter units, rotated.
func (m *machine) absolute(v orb.Point) orb.Point { return m.turn(m.scalePoint(v)) }

// delta maps a relative pair.
func (m *machine) delta(v orb.Point) orb.Point {
	if m.scaled {
		v = orb.Point{v[0] * m.factor[0], v[1] * m.factor[1]}
	} else {
		v = orb.Point{m.whole(v[0]), m.whole(v[1])}
	}
	return geom.Rotate(float64(m.quarter) * math.Pi / 2).Apply(v)
}

// turn applies RO. HP-GL/2 rotates about the corner and shifts, so that the origin is a corner of the page again (PCL
// 5 reference, 19-34).
func (m *machine) turn(p orb.Point) orb.Point {
	if m.quarter == 0 {
		return p
	}
	p = geom.Rotate(float64(m.quarter) * math.Pi / 2).Apply(p)
	length, width := m.opt.PageLength/m.opt.Unit, m.opt.PageWidth/m.opt.Unit
	if m.opt.CentreOrigin {
		return p
	}
	switch m.quarter {
	case 1:
		return orb.Point{p[0] + length, p[1]}
	case 2:
		return orb.Point{p[0] + length, p[1] + width}
	}
	return orb.Point{p[0], p[1] + width}
}

// size is the mean scale of user units, for radii.
func (m *machine) size() orb.Point {
	if m.scaled {
		return m.factor
	}
	return orb.Point{1, 1}
}

func (m *machine) scalingPoints(in instruction) {
	switch a := in.args; len(a) {
	case 0:
		m.p1, m.p2 = m.defaultFrame().p1, m.defaultFrame().p2
	case 2:
		m.p2 = geom.Add(m.p2, geom.Sub(orb.Point{a[0], a[1]}, m.p1))
		m.p1 = orb.Point{a[0], a[1]}
	case 4:
		m.p1, m.p2 = orb.Point{a[0], a[1]}, orb.Point{a[2], a[3]}
	default:
		m.count(in)
		return
	}
	m.pointsSet = true
	if m.scaled {
		m.fault("IP after SC: send SC again after it, devices differ in what they keep")
	}
}

// percentPoints does IR: P1 and P2 in percent of the page.
func (m *machine) percentPoints(in instruction) {
	page := m.defaultFrame()
	span := geom.Sub(page.p2, page.p1)
	in.args = append([]float64(nil), in.args...)
	for i := range in.args {
		in.args[i] = page.p1[i%2] + span[i%2]*in.args[i]/100
	}
	m.scalingPoints(in)
}

// scale does SC (7470A manual, 2-7; PCL 5 reference, 19-40 to 19-45).
func (m *machine) scale(in instruction) {
	a := in.args
	if len(a) == 0 {
		m.scaled = false
		return
	}
	if len(a) != 4 && len(a) != 5 && len(a) != 7 {
		m.count(in)
		return
	}
	if !m.pointsSet && (m.opt.PageLength == 0 || m.opt.PageWidth == 0) {
		m.event(m.offset, SeverityWarning, "SC without IP: the scale depends on the device and its paper")
	}
	kind := 0
	if len(a) > 4 {
		kind = int(a[4])
	}
	if !m.hpgl2 {
		for i := range a[:4] {
			a[i] = math.Trunc(a[i])
		}
	}
	span := geom.Sub(m.p2, m.p1)
	if kind == 2 {
		m.scaled, m.frame.origin, m.min, m.factor = true, m.p1, orb.Point{a[0], a[2]}, orb.Point{a[1], a[3]}
		return
	}
	if a[1] == a[0] || a[3] == a[2] {
		m.scaled = false
		m.fault("SC with an empty range turns scaling off")
		return
	}
	m.scaled, m.frame.origin, m.min = true, m.p1, orb.Point{a[0], a[2]}
	m.factor = orb.Point{span[0] / (a[1] - a[0]), span[1] / (a[3] - a[2])}
	if kind == 1 {
		m.isotropic(a, span)
	}
}

// isotropic makes both factors equal and divides the spare space as asked, in halves by default.
func (m *machine) isotropic(a []float64, span orb.Point) {
	left, bottom := 50.0, 50.0
	if len(a) == 7 {
		left, bottom = a[5], a[6]
	}
	f := math.Min(math.Abs(m.factor[0]), math.Abs(m.factor[1]))
	spare := orb.Point{math.Abs(span[0]) - f*math.Abs(a[1]-a[0]), math.Abs(span[1]) - f*math.Abs(a[3]-a[2])}
	m.factor = orb.Point{math.Copysign(f, m.factor[0]), math.Copysign(f, m.factor[1])}
	m.frame.origin = geom.Add(m.p1, orb.Point{
		math.Copysign(spare[0]*left/100, span[0]), math.Copysign(spare[1]*bottom/100, span[1]),
	})
}

// setWindow does IW: plotter units in HP-GL, current units in HP-GL/2.
func (m *machine) setWindow(in instruction) {
	a := in.args
	m.endRunKeepingPen()
	switch len(a) {
	case 0:
		m.window = nil
	case 4:
		p, q := orb.Point{a[0], a[1]}, orb.Point{a[2], a[3]}
		if m.hpgl2 {
			p, q = m.absolute(p), m.absolute(q)
		}
		m.window = &[2]orb.Point{
			{math.Min(p[0], q[0]), math.Min(p[1], q[1])},
			{math.Max(p[0], q[0]), math.Max(p[1], q[1])},
		}
	default:
		m.count(in)
	}
}

// endRunKeepingPen ends the current line and starts another at the same place.
func (m *machine) endRunKeepingPen() {
	if m.down {
		m.restore(true)
	}
}

// clip clips a line to the window; the part inside keeps its geometry (7470A manual, 3-6).
func (m *machine) clip(run []orb.Point) [][]orb.Point {
	if m.window == nil {
		return [][]orb.Point{run}
	}
	var out [][]orb.Point
	var open []orb.Point
	cut := false
	flush := func() {
		if len(open) > 0 {
			out = append(out, open)
		}
		open = nil
	}
	if len(run) == 1 {
		run = append(run, run[0])
	}
	for i := 1; i < len(run); i++ {
		t0, t1, ok := m.visible(run[i-1], run[i])
		if !ok || t0 > 0 {
			flush()
			cut = true
		}
		if !ok {
			continue
		}
		if open == nil {
			open = []orb.Point{geom.Lerp(run[i-1], run[i], t0)}
		}
		if end := geom.Lerp(run[i-1], run[i], t1); end != open[len(open)-1] {
			open = append(open, end)
		}
		if t1 < 1 {
			flush()
			cut = true
		}
	}
	flush()
	if cut {
		m.event(m.offset, SeverityNote, "a line ends at the window set by IW")
	}
	return out
}

// visible is the part of the segment a to b inside the window.
func (m *machine) visible(a, b orb.Point) (t0, t1 float64, ok bool) {
	t1 = 1
	for axis := range 2 {
		d := b[axis] - a[axis]
		lo, hi := m.window[0][axis]-a[axis], m.window[1][axis]-a[axis]
		if d == 0 {
			if lo > 0 || hi < 0 {
				return 0, 0, false
			}
			continue
		}
		enter, leave := lo/d, hi/d
		if enter > leave {
			enter, leave = leave, enter
		}
		t0, t1 = math.Max(t0, enter), math.Min(t1, leave)
	}
	return t0, t1, t0 <= t1
}
