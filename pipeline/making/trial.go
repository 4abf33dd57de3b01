package making

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/pattern"
)

// toolUp makes a program of a job's moves alone: the whole job for `dry`, once round its bounds for `bounds`. The bytes
// are read back, and one drawn line or one move below the safe height refuses them.
func (m *Maker) toolUp(pl Planned, on Setup, up string) (Encoded, Judged, error) {
	p := on.Profile
	if p.Language == devices.GCode {
		motions, _, err := knife.Compensate(pl.Strokes, p)
		if err != nil {
			return Encoded{}, notEncoded(err), nil
		}
		out, j := motionsUp(motions, p, up)
		return out, j, nil
	}
	p.Plot.ToolUp = true
	strokes := pl.Strokes
	if up == control.ToolUpBounds {
		var b bounds
		for _, s := range strokes {
			b.add(s.Path.Points...)
		}
		strokes = []devices.Stroke{{Tool: devices.Pen, Role: "check", Piece: -1, Name: "bounds", Path: b.path()}}
	}
	prog, err := hpgl.Encode(strokes, p)
	if err != nil {
		return Encoded{}, notEncoded(err), nil
	}
	read, err := hpgl.Read(prog.Bytes(), hpgl.OptionsFor(p))
	if err != nil {
		return Encoded{}, Judged{}, err
	}
	var j Judged
	if n := len(read.Traces) + len(read.Labels); n > 0 {
		j = refused(notUp(fmt.Sprintf("%d lines would be drawn", n)))
	}
	undrawn(&prog)
	j.Notes = []string{staysUp, paperWords(p)}
	return Encoded{Program: prog}, j, nil
}

// paperWords say what a trial does with the paper.
func paperWords(p devices.Profile) string {
	switch {
	case p.Plot.Long == hpgl.LongFrames || p.Plot.Long == hpgl.LongSheets:
		return "no paper is moved on: all " + p.Plot.Long + " are gone over on the one that lies there"
	case p.Length == 0:
		return "no paper is used, but a roll runs to and fro with the head: see that it is free to"
	}
	return "no paper is used"
}

func notUp(why string) pattern.Finding {
	return pattern.NewFinding(pattern.RuleNotDrawn, "the tool would not stay up: "+why, "this is a fault of the program; keep the file and report it")
}

// staysUp is part of the note on every trial.
const staysUp = "the tool stays up"

// undrawn marks the program's blocks as drawing nothing.
func undrawn(p *devices.Program) {
	p.DrawnMM = 0
	for i := range p.Blocks {
		p.Blocks[i].DrawnMM, p.Blocks[i].Down = 0, false
	}
}

// motionsUp makes motions into a program at the safe height.
func motionsUp(motions []devices.Motion, p devices.Profile, up string) (Encoded, Judged) {
	high := lifted(motions)
	if up == control.ToolUpBounds {
		high = roundBounds(high, p)
	}
	prog, err := gcode.Encode(high, p)
	if err != nil {
		return Encoded{}, notEncoded(err)
	}
	prog.Chained = false // a blade in the air has no heading to keep
	trace, j := readBack(prog, p, "file")
	for _, m := range trace.Moves {
		if m.From != m.To && min(m.FromZ, m.ToZ) < p.Blade.SafeZ-1e-3 {
			j.add(refused(notUp(fmt.Sprintf("a move at %.2f mm, below the safe height", min(m.FromZ, m.ToZ)))))
			break
		}
	}
	undrawn(&prog)
	j.Notes = []string{staysUp}
	return Encoded{Program: prog}, j
}

// lifted removes what lowers or raises a tool, so that all moves are at the height to which the program's beginning rises.
func lifted(motions []devices.Motion) []devices.Motion {
	var out []devices.Motion
	for _, m := range motions {
		if m.Kind != devices.Plunge && m.Kind != devices.Raise {
			out = append(out, m)
		}
	}
	return out
}

// roundBounds is a move once round the box of all of the pivot's moves, at the cutting feed.
func roundBounds(motions []devices.Motion, p devices.Profile) []devices.Motion {
	var b bounds
	var at orb.Point
	for _, m := range motions {
		b.add(m.To)
		if m.Kind == devices.CutArc || m.Kind == devices.Swivel {
			b.add(arcPoints(at, m)...)
		}
		at = m.To
	}
	corners := b.path().Points
	out := []devices.Motion{{Kind: devices.Travel, To: corners[0], Stroke: -1, Piece: -1, Note: "bounds"}}
	for _, i := range []int{1, 2, 3, 0} {
		out = append(out, devices.Motion{Kind: devices.AlignStart, To: corners[i], Feed: p.Gantry.FeedCut, Stroke: -1, Piece: -1})
	}
	return out
}

func arcPoints(at orb.Point, m devices.Motion) []orb.Point {
	u := geom.Sub(at, m.Centre)
	v := geom.Sub(m.To, m.Centre)
	sweep, left := math.Atan2(geom.Cross(u, v), geom.Dot(u, v)), geom.Left(u)
	if !m.CCW {
		sweep, left = -sweep, geom.Mul(left, -1)
	}
	if sweep < 0 {
		sweep += 2 * math.Pi
	}
	return geom.FlattenArc(nil, m.Centre, u, left, 0, sweep, 0.01)
}

// bounds is a box that grows.
type bounds struct {
	box   orb.Bound
	begun bool
}

func (b *bounds) add(pts ...orb.Point) {
	for _, p := range pts {
		if !b.begun {
			b.box, b.begun = orb.Bound{Min: p, Max: p}, true
		}
		b.box = b.box.Extend(p)
	}
}

func (b *bounds) path() geom.Path {
	lo, hi := b.box.Min, b.box.Max
	return geom.Path{Closed: true, Corners: []bool{true, true, true, true},
		Points: []orb.Point{lo, {hi[0], lo[1]}, hi, {lo[0], hi[1]}}}
}
