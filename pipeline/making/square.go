package making

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/testsquare"
)

// makeSquare makes the program of an order of a test square. Each rung of a ladder is compensated on its own.
func (m *Maker) makeSquare(ctx context.Context, w *Work, s testsquare.Setting, rest job.Rest) error {
	o, err := testsquare.ReadOrder(w.Request.Source, w.Request.Device)
	if err != nil {
		w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), fmt.Sprintf("tracewheel square plot %s", w.Request.Device))))
		return nil
	}
	s.Correction = o.InForce
	of := Made{Setup: m.setup(o.Device, "", s)}
	notes := []string{fmt.Sprintf("test square %d; measured, tell: tracewheel square record %s", o.No, o.Device)}
	if len(o.Ladder) > 0 {
		w.add(Judged{Notes: append(notes, fmt.Sprintf("blade offsets %v mm; as many nicks as the number stand under each square", o.Ladder))})
		var en Encoded
		var j Judged
		of.Strokes, en, j = m.ladder(o, of.Setup, rest.Stroke, w.Request.Answers[answers.ToolUp])
		w.keep(of, en, j)
		return nil
	}
	tool, lettered := devices.Pen, of.Profile.HasPen()
	if of.Profile.Kind.Cuts() {
		tool = devices.Knife
	}
	if !lettered {
		notes = append(notes, "nothing is lettered: the nick stands inside the lower left corner, its line along the bottom")
	}
	of.Strokes = o.Draw(tool, lettered, fmt.Sprintf("%s, plot %d", o.Device, o.No))
	of.leaveOut(rest, of.Profile)
	w.add(Judged{Notes: notes})
	return m.makeProgram(ctx, w, of)
}

// ladder cuts each rung with an offset of its own; each takes a new heading in its own waste. skip is the number of
// strokes that are made already; up is the trial that is wanted, "" for a cut.
func (m *Maker) ladder(o testsquare.Order, on Setup, skip int, up string) (made []devices.Stroke, out Encoded, j Judged) {
	margin := on.Material.Margin
	all := []devices.Motion{}
	base := 0
	at := orb.Point{margin + testsquare.LadderLeft, margin}
	for i, offset := range o.Ladder {
		strokes := o.Rung(i, at)
		if skip >= len(strokes) {
			skip -= len(strokes)
			continue
		}
		strokes, skip = strokes[skip:], 0
		p := on.Profile
		p.Blade.Offset = offset
		p.Blade.Align, p.Blade.AlignAt = 0, o.AlignAt(i, at)
		motions, _, err := knife.Compensate(strokes, p)
		if err != nil {
			return made, out, refused(pattern.NewFinding(pattern.RuleNotDrawn, fmt.Sprintf("offset %.2f mm: %v", offset, err), "try other offsets"))
		}
		for _, m := range motions {
			if m.Stroke >= 0 {
				m.Stroke += base
			}
			all = append(all, m)
		}
		base += len(strokes)
		made = append(made, strokes...)
	}
	if up != "" {
		out, j = motionsUp(all, on.Profile, up)
		return made, out, j
	}
	var err error
	if out.Program, err = gcode.Encode(all, on.Profile); err != nil {
		return made, out, notEncoded(err)
	}
	j.Notes = out.Program.Notes
	_, unsafe := readBack(out.Program, on.Profile, "file")
	j.add(unsafe)
	return made, out, j
}

// notEncoded refuses a draft that an encoder refused as a whole.
func notEncoded(err error) Judged {
	return refused(pattern.NewFinding(pattern.RuleNotDrawn, err.Error(), "look at the device's keys in the workroom file"))
}
