package gcode

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// axes moves, where the line has axis words or a motion that needs none.
func (r *reader) axes(b *block) {
	has := false
	for _, c := range []byte{'X', 'Y', 'Z', r.opt.Axis} {
		_, ok := b.value(c)
		has = has || ok
	}
	if b.motion != motionNone {
		r.motion = b.motion
	}
	if b.once == 280 {
		r.goStored(b, has)
		return
	}
	if b.once == 530 && (r.motion != 0 && r.motion != 10 || r.incremental) {
		r.fault(ModalConflict, "G53 goes with G0 or G1 in absolute distances")
		return
	}
	arcWords := false
	for _, c := range []byte("IJKR") {
		_, ok := b.value(c)
		arcWords = arcWords || ok
	}
	switch {
	case !has && !arcWords:
		if b.motion > 0 && b.motion != 800 {
			r.fault(MissingWord, "G%d without a place to go to", b.motion/10)
		}
		return
	case r.motion == motionNone || r.motion == 800:
		r.fault(NoMotionMode, "axis words while no motion is in force")
		return
	}
	if !r.unitsSaid {
		r.hint(UnitsUnstated, "it moves before G20 or G21 says in what units; mm are taken")
		r.unitsSaid = true
	}
	if r.motion > 0 && !r.feedKnown {
		r.fault(NoFeed, "no feed is in force")
		return
	}
	if r.motion <= 10 {
		if arcWords {
			r.fault(UnusedWord, "I, J, K or R with a straight move")
			return
		}
		r.straight(r.target(b), r.rotaryTarget(b))
		return
	}
	r.round(b)
}

// target is the place that the axis words give, mm.
func (r *reader) target(b *block) [3]float64 {
	to := r.pos
	for k, c := range []byte("XYZ") {
		v, ok := b.value(c)
		switch {
		case ok && r.incremental:
			to[k] += v * r.scale
		case ok:
			to[k] = v * r.scale
		}
	}
	return to
}

// rotaryTarget is the target of the rotary axis, degrees.
func (r *reader) rotaryTarget(b *block) float64 {
	v, ok := b.value(r.opt.Axis)
	switch {
	case ok && r.incremental:
		return r.turn + v
	case ok:
		return v
	}
	return r.turn
}

func (r *reader) straight(to [3]float64, turn float64) {
	r.add(devices.Move{}, to, turn)
}

// add appends a move to a place and goes there. The caller has set the shape of an arc.
func (r *reader) add(m devices.Move, to [3]float64, turn float64) {
	m.Line, m.Rapid = r.line, r.motion == 0
	m.From, m.To = orb.Point{r.pos[0], r.pos[1]}, orb.Point{to[0], to[1]}
	m.FromZ, m.ToZ = r.pos[2], to[2]
	m.FromTurn, m.ToTurn = r.turn*math.Pi/180, turn*math.Pi/180
	switch {
	case m.Rapid:
	case r.inverse:
		m.Feed = m.Length() * r.feed
	default:
		m.Feed = r.feed
	}
	r.pos, r.turn = to, turn
	r.t.Moves = append(r.t.Moves, m)
}

// goStored does G28: via the place of the axis words to the stored place, on those axes only.
func (r *reader) goStored(b *block, has bool) {
	was := r.motion
	r.motion = 0
	home := r.pos
	if has {
		r.straight(r.target(b), r.turn)
		home = r.pos
	}
	for k, c := range []byte("XYZ") {
		if _, ok := b.value(c); ok || !has {
			home[k] = r.opt.Stored[k]
		}
	}
	r.straight(home, r.turn)
	r.motion = was
}

// planeAxes are the first and second axis of the plane, the one perpendicular to it, and the words of the centre.
func (r *reader) planeAxes() (p, q, n int, cp, cq, cn byte) {
	switch r.plane {
	case 180:
		return 2, 0, 1, 'K', 'I', 'J'
	case 190:
		return 1, 2, 0, 'J', 'K', 'I'
	}
	return 0, 1, 2, 'I', 'J', 'K'
}

// round does G2 and G3.
func (r *reader) round(b *block) {
	p, q, n, cp, cq, cn := r.planeAxes()
	to := r.target(b)
	from2, to2 := orb.Point{r.pos[p], r.pos[q]}, orb.Point{to[p], to[q]}
	ccw := r.motion == 30
	if _, ok := b.value(cn); ok {
		r.fault(UnusedWord, "%c has no meaning in this plane", cn)
		return
	}
	c, ok := r.arcCentre(b, from2, to2, ccw, cp, cq)
	if !ok {
		return
	}
	sweep := fullSweep(from2, to2, c, ccw)
	turn := r.rotaryTarget(b)
	if r.plane == 170 {
		r.add(devices.Move{Arc: true, Centre: c, Sweep: sweep}, to, turn)
		return
	}
	u := geom.Sub(from2, c)
	v := geom.Left(u)
	if !ccw {
		v = geom.Mul(v, -1)
	}
	pts := geom.FlattenArc(nil, c, u, v, 0, math.Abs(sweep), geom.FlattenTol)
	fromN, fromTurn := r.pos[n], r.turn
	for k, pt := range pts {
		t := float64(k+1) / float64(len(pts))
		at := [3]float64{}
		at[p], at[q], at[n] = pt[0], pt[1], fromN+(to[n]-fromN)*t
		if k == len(pts)-1 {
			at = to
		}
		r.add(devices.Move{}, at, fromTurn+(turn-fromTurn)*t)
	}
}

// fullSweep is the turn from a to b about c, a full turn where they are equal.
func fullSweep(a, b, c orb.Point, ccw bool) float64 {
	s := math.Atan2(b[1]-c[1], b[0]-c[0]) - math.Atan2(a[1]-c[1], a[0]-c[0])
	for ccw && s <= 1e-12 {
		s += 2 * math.Pi
	}
	for !ccw && s >= -1e-12 {
		s -= 2 * math.Pi
	}
	return s
}
