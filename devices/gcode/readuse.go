package gcode

import (
	"cmp"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Unsafe finds what no program for this profile should do: a rapid across at or below the top face of the material, a
// first move that is not straight up, an end with the tool down, anything under the floor or outside the bed. It takes
// the result of Read, so it works for programs from elsewhere too. Where a pen goes up and down by the machine's own
// lines, only the bed is checked.
func Unsafe(t Trace, p devices.Profile) []Fault {
	var out []Fault
	bad := func(m devices.Move, format string, args ...any) {
		out = append(out, Fault{Line: m.Line, Kind: UnsafeMove, Text: fmt.Sprintf(format, args...)})
	}
	floor := cmp.Or(p.Gantry.FloorZ, p.Blade.CutZ)
	const slack = 5e-5 // half a step of four decimals
	heights := p.Kind.Cuts() || len(p.Gantry.PenUp) == 0
	for i, m := range t.Moves {
		low := math.Min(m.FromZ, m.ToZ)
		switch {
		case !heights:
		case i == 0 && (m.From != m.To || m.ToZ <= m.FromZ):
			bad(m, "the first move is not straight up")
		case m.Rapid && m.From != m.To && low <= 0:
			bad(m, "a rapid across at %.3f mm, at or under the top face", low)
		case m.ToZ < floor-slack:
			bad(m, "it goes down to %.3f mm, under the floor of %.3f", m.ToZ, floor)
		}
		if b := arcBox(m); b[0] < -slack || b[1] < -slack || b[3] > p.Width+slack || p.Length > 0 && b[2] > p.Length+slack {
			bad(m, "it leaves the bed of %.0f by %.0f mm", p.Length, p.Width)
		}
	}
	if n := len(t.Moves); heights && n > 0 && t.Moves[n-1].ToZ < p.Blade.SafeZ-slack {
		bad(t.Moves[n-1], "it ends at %.3f mm, below the safe height", t.Moves[n-1].ToZ)
	}
	return out
}

// arcBox is the bounding box of a move seen from above: least x and y, greatest x and y.
func arcBox(m devices.Move) [4]float64 {
	b := [4]float64{
		math.Min(m.From[0], m.To[0]), math.Min(m.From[1], m.To[1]),
		math.Max(m.From[0], m.To[0]), math.Max(m.From[1], m.To[1]),
	}
	if !m.Arc {
		return b
	}
	for _, q := range chordsOf(m, nil) {
		b[0], b[1] = math.Min(b[0], q[0]), math.Min(b[1], q[1])
		b[2], b[3] = math.Max(b[2], q[0]), math.Max(b[3], q[1])
	}
	return b
}

// Drawn is the path of the pivot at or below a height, as lines for pictures. A line begins where the tool was up or
// the height changed. Arcs become chords within geom.FlattenTol.
func Drawn(t Trace, tool devices.Tool, top float64) []devices.Trace {
	var out []devices.Trace
	open := false
	for _, m := range t.Moves {
		if m.FromZ > top || m.ToZ > top {
			open = false
			continue
		}
		if m.From == m.To && !m.Arc {
			open = open && m.FromZ == m.ToZ
			continue
		}
		if !open {
			out = append(out, devices.Trace{Tool: tool, Z: m.ToZ})
			out[len(out)-1].Path.Points = append(out[len(out)-1].Path.Points, m.From)
			open = true
		}
		last := &out[len(out)-1].Path
		if !m.Arc {
			last.Points = append(last.Points, m.To)
			continue
		}
		last.Points = chordsOf(m, last.Points)
	}
	return out
}

// chordsOf appends the points of an arc except the first.
func chordsOf(m devices.Move, dst []orb.Point) []orb.Point {
	u := geom.Sub(m.From, m.Centre)
	v := geom.Left(u)
	if m.Sweep < 0 {
		v = geom.Mul(v, -1)
	}
	return geom.FlattenArc(dst, m.Centre, u, v, 0, math.Abs(m.Sweep), geom.FlattenTol)
}
