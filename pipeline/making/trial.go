package making

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife"
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
		var all []orb.Point
		for _, s := range strokes {
			all = append(all, s.Path.Points...)
		}
		strokes = []devices.Stroke{{Tool: devices.Pen, Role: "check", Piece: -1, Name: "bounds", Path: devices.BoundsOf(all)}}
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
	prog.ToolUp()
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

// motionsUp makes motions into a program at the safe height.
func motionsUp(motions []devices.Motion, p devices.Profile, up string) (Encoded, Judged) {
	high := devices.Lifted(motions)
	if up == control.ToolUpBounds {
		high = devices.RoundBounds(high, p.Gantry.FeedCut)
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
	prog.ToolUp()
	j.Notes = []string{staysUp}
	return Encoded{Program: prog}, j
}
