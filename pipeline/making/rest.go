package making

import (
	"bytes"
	"cmp"
	"context"
	"fmt"

	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/testsquare"
)

// Rest makes the program of the rest of a job. Its strokes have the numbers of the whole.
func (m *Maker) Rest(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error) {
	if s := r.Whole.Setting; s != nil { // by the measurements of the first program, not by later ones
		m = &Maker{Room: m.Room, setting: func(_, _ string) testsquare.Setting { return testsquare.Setting{Setting: *s} }}
	}
	whole, err := m.Make(ctx, in)
	if err != nil {
		return devices.Program{}, err
	}
	if !bytes.Equal(whole.Program.Bytes(), r.Whole.Bytes()) { // otherwise its rest would be cut beside what is cut already
		why := r.Whole.Changed(whole.Program)
		if now := cmp.Or(whole.Reason, whole.Hold); now != "" {
			why += "; its draft would not be made any more: " + now
		}
		return devices.Program{}, fmt.Errorf("%s, and its rest would not fit what is cut already: go on from the start on fresh material, or cancel it and use `again`", why)
	}
	w, err := m.make(ctx, in, r)
	switch {
	case err != nil:
		return devices.Program{}, err
	case w.Refused:
		return devices.Program{}, fmt.Errorf("its rest cannot be made: %s", w.Reason)
	case w.Hold != "":
		return devices.Program{}, fmt.Errorf("its rest would not be cut as drawn: %s", w.Hold)
	}
	made, _ := w.Made() // sheets have no strokes
	return made.renumbered(w.Program, r.Stroke), nil
}

// renumbered gives the program's strokes their numbers in the whole job. A stroke made in two parts
// ends with the second.
func (pl *Planned) renumbered(p devices.Program, first int) devices.Program {
	last := map[int]int{}
	for i := range p.Blocks {
		b := &p.Blocks[i]
		if b.Stroke < 0 {
			continue
		}
		if pl.numbers != nil {
			b.Stroke = pl.numbers[b.Stroke]
		} else {
			b.Stroke += first
		}
		if b.EndsStroke {
			if before, twice := last[b.Stroke]; twice {
				p.Blocks[before].EndsStroke = false
			}
			last[b.Stroke] = i
		}
	}
	return p
}

// leaveOut removes the strokes that are made already, for a job that goes on.
func (pl *Planned) leaveOut(rest job.Rest, p devices.Profile) {
	n := rest.Stroke
	if n >= len(pl.Strokes) || n <= 0 && rest.Held == nil {
		return
	}
	pl.around, pl.Strokes = pl.Strokes, pl.Strokes[n:]
	var strokes []devices.Stroke
	for i, s := range pl.Strokes {
		parts := []devices.Stroke{s}
		if i == 0 && rest.Held != nil {
			h := rest.Held
			parts = knife.Reentry(s, knife.Held{At: h.At, Dir: h.Dir, Tip: h.Tip, Above: h.Above}, p)
		}
		for _, part := range parts {
			strokes, pl.numbers = append(strokes, part), append(pl.numbers, n+i)
		}
	}
	pl.Strokes = strokes
}
