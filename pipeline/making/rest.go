package making

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/geom"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
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
			parts = reentered(s, *rest.Held, p)
		}
		for _, part := range parts {
			strokes, pl.numbers = append(strokes, part), append(pl.numbers, n+i)
		}
	}
	pl.Strokes = strokes
}

// reentered gives what is left of a stroke whose blade was held: from the overlap before that place to the end, and past
// the start as far as a closed line is overcut. Each deeper pass needs the whole line, so with several passes the
// beginning is cut again as well. Short strokes, stabs, nicks, and slits drawn out and back are made again as a whole.
func reentered(s devices.Stroke, held ledger.Place, p devices.Profile) []devices.Stroke {
	whole := []devices.Stroke{s}
	overlap, length := p.Blade.ReentryOverlap, s.Path.Length()
	if s.Tool != devices.Knife || s.Role == "drill" || s.Role == "notch" || length < 4*overlap || outAndBack(s.Path) {
		return whole
	}
	d := 0.0
	if p.Kind == devices.DragKnife && !held.Tip {
		d = p.Blade.Offset
	}
	at, ok := knife.TipAlong(s.Path, d, uncorrected(held.At, p.Correction), held.Dir)
	from := at - overlap
	if held.Above {
		from = at // nothing is cut yet that could be overlapped
	}
	if !ok || from <= 0 {
		return whole
	}
	part := func(s0, s1 float64) devices.Stroke {
		out := s
		out.Path, out.Fixed = s.Path.Sub(s0, s1), true
		return out
	}
	end := length
	if s.Path.Closed {
		end += p.Blade.Overcut
	}
	parts := []devices.Stroke{part(from, end)}
	if p.Blade.Passes > 1 {
		parts = append(parts, part(0, at+overlap))
	}
	return parts
}

// outAndBack tells whether a line retraces itself: an open one that ends at its start, or a closed one without an inside.
func outAndBack(p geom.Path) bool {
	const same = 0.02 // mm
	if !p.Closed {
		return geom.Dist(p.Points[0], p.Points[len(p.Points)-1]) <= same
	}
	return math.Abs(p.SignedArea()) <= same*p.Length()
}

// uncorrected is the place that a calibration turns into at.
func uncorrected(at orb.Point, c devices.Correction) orb.Point {
	if c.IsZero() {
		return at
	}
	y := at[1] / c.ScaleY
	return orb.Point{(at[0] - c.Skew*y) / c.ScaleX, y}
}
