package gcode

import (
	"math"
	"strconv"

	"tracewheel/devices"
	"tracewheel/geom"
)

// motion writes one motion, in as many lines as it needs.
func (e *encoder) motion(i int, m devices.Motion) {
	e.begin(m)
	if !finite(m) {
		e.fault(i, m, "a coordinate is no number")
		return
	}
	e.cut = m.Kind == devices.CutLine || m.Kind == devices.CutArc
	switch m.Kind {
	case devices.Travel:
		e.travel(i, m)
	case devices.Plunge, devices.Raise:
		e.height(i, m)
	case devices.CutLine, devices.AlignStart:
		e.checkPlace(i, m, m.To)
		e.straight(e.adjust.Apply(m.To), m)
	case devices.CutArc, devices.Swivel:
		e.checkRound(i, m)
		e.round(m)
	default:
		e.fault(i, m, "a motion of unknown kind %d", m.Kind)
	}
	e.truly = m.To
}

func finite(m devices.Motion) bool {
	sum := m.To[0] + m.To[1] + m.Centre[0] + m.Centre[1] + m.Z + m.Feed + m.Turn
	return !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// begin sets the stroke and piece of the lines to come, and writes a comment where a piece begins.
func (e *encoder) begin(m devices.Motion) {
	if m.Stroke != e.stroke {
		e.endStroke()
		e.outside = false
	}
	fresh := m.Piece != e.piece && m.Piece >= 0
	e.stroke, e.piece = m.Stroke, m.Piece
	if m.Kind == devices.Travel {
		e.name = m.Note
	}
	if m.Stroke >= 0 {
		e.strokes[m.Stroke] = true
	}
	if m.Piece >= 0 {
		e.pieces[m.Piece] = true
	}
	if fresh && e.p.Gantry.Comments {
		e.line(remark("piece", e.name), 0, devices.Leg{})
	}
}

func (e *encoder) endStroke() {
	if n := len(e.prog.Blocks); n > 0 && e.stroke >= 0 {
		e.prog.Blocks[n-1].EndsStroke = true
	}
}

func (e *encoder) isUp() bool {
	if e.penLines() {
		return e.penUp
	}
	return e.z >= e.p.Blade.SafeZ && (e.penUp || !e.penBeside())
}

func (e *encoder) travel(i int, m devices.Motion) {
	e.checkPlace(i, m, m.To)
	if !e.isUp() {
		e.fault(i, m, "a rapid across to (%.2f, %.2f) with the tool at %.2f mm, below the safe height of %.2f",
			m.To[0], m.To[1], e.z, e.p.Blade.SafeZ)
	}
	to := e.out.spot(e.adjust.Apply(m.To))
	if e.placed && to == e.at {
		return
	}
	leg := e.across(to, e.p.Gantry.FeedTravel) // from the bed's corner at first
	e.at, e.placed = to, true
	e.feed = 0
	e.line("G0"+e.xy(to), 0, leg)
}

func (e *encoder) xy(s spot) string { return " X" + e.out.step(s[0]) + " Y" + e.out.step(s[1]) }

// height writes a plunge or a raise; a raise to the safe height is a rapid.
func (e *encoder) height(i int, m devices.Motion) {
	if e.penLines() || m.Tool == devices.Pen && e.penBeside() {
		if m.Kind == devices.Raise {
			e.pen(e.p.Gantry.PenUp, true)
		} else {
			e.pen(e.p.Gantry.PenDown, false)
		}
		return
	}
	if m.Z < e.floor-1e-9 {
		e.fault(i, m, "height %.3f mm lies under the floor of %.3f; set blade.cut_z or gantry.floor_z", m.Z, e.floor)
	}
	if m.Z >= e.p.Blade.SafeZ {
		e.rise(m.Z)
		return
	}
	if m.Z == e.z {
		return
	}
	leg := e.upright(m.Z, m.Feed)
	e.z = m.Z
	e.line("G1 Z"+e.out.mm(m.Z)+e.feedWord(m.Feed), 0, leg)
}

// rise raises the tool by a rapid.
func (e *encoder) rise(z float64) {
	leg := e.upright(z, e.p.Gantry.FeedTravel) // from the top face at first
	e.z, e.feed = z, 0
	e.line("G0 Z"+e.out.mm(z), 0, leg)
}

// straight writes a feed move to a place as sent. A move to the machine's present place is left out, unless the rotary
// axis turns.
func (e *encoder) straight(to place, m devices.Motion) {
	s := e.out.spot(to)
	axis, turned := e.axis(m)
	if e.placed && s == e.at {
		if turned > 0 {
			e.line("G1"+axis+e.feedWord(m.Feed), 0, devices.Leg{Length: turned, Speed: m.Feed / 60, Stop: true})
		}
		return
	}
	leg := e.across(s, m.Feed)
	e.at, e.placed = s, true
	e.line("G1"+e.xy(s)+axis+e.feedWord(m.Feed), leg.Length, leg)
}

// feedWord is the F of a move where it differs from the one in force.
func (e *encoder) feedWord(feed float64) string {
	f := int64(math.Max(1, math.Floor(feed)))
	if f == e.feed {
		return ""
	}
	e.feed = f
	return " F" + strconv.FormatInt(f, 10)
}

// across is the straight leg from the machine's place, feed in mm/min; upright the leg to a height.
func (e *encoder) across(to spot, feed float64) devices.Leg {
	a, b := e.out.point(e.at), e.out.point(to)
	u := geom.Unit(geom.Sub(b, a))
	dir := [3]float64{u[0], u[1], 0}
	return devices.Leg{Length: geom.Dist(a, b), Speed: feed / 60, In: dir, Out: dir}
}

func (e *encoder) upright(z, feed float64) devices.Leg {
	dir := [3]float64{0, 0, math.Copysign(1, z-e.z)}
	return devices.Leg{Length: math.Abs(z - e.z), Speed: feed / 60, In: dir, Out: dir}
}

// line ends a block, with the length that it draws and its leg of travel.
func (e *encoder) line(text string, drawn float64, leg devices.Leg) {
	if !e.cut || e.stroke < 0 {
		drawn = 0
	}
	e.legs = append(e.legs, leg)
	e.prog.Blocks = append(e.prog.Blocks, devices.Block{
		Bytes: append([]byte(text), '\n'), Stroke: e.stroke, Piece: e.piece, Down: !e.isUp(), DrawnMM: drawn,
	})
}
