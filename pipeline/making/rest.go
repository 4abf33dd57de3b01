package making

import (
	"bytes"
	"context"
	"errors"
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

// errChanged keeps the rest of a cut from being laid beside what is cut already.
var errChanged = errors.New("the workroom file, a measure card or this program has changed since the job was made, and its rest would not fit what is cut already: go on from the start on fresh material, or cancel it and use `again`")

// Rest makes the rest of a job. Its strokes are numbered as in the whole.
func (h *Maker) Rest(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error) {
	req := request(in)
	if s := r.Whole.Setting; s != nil { // whatever was measured since
		h = &Maker{Room: h.Room, setting: func(string) testsquare.Setting { return testsquare.Setting{Setting: *s} }}
	}
	whole, err := h.Make(ctx, req)
	if err != nil {
		return devices.Program{}, err
	}
	if !bytes.Equal(whole.Program.Bytes(), r.Whole.Bytes()) {
		return devices.Program{}, errChanged
	}
	req.FromStroke, req.held = r.Stroke, r.Held
	w, err := h.Make(ctx, req)
	switch {
	case err != nil:
		return devices.Program{}, err
	case w.Refused:
		return devices.Program{}, fmt.Errorf("its rest cannot be made: %s", w.Reason)
	case w.Hold != "":
		return devices.Program{}, fmt.Errorf("its rest would not be cut as drawn: %s", w.Hold)
	}
	return w.renumbered(r.Stroke), nil
}

// renumbered gives the program's strokes their numbers in the whole job. A stroke made in two parts
// ends with the second.
func (w *Work) renumbered(first int) devices.Program {
	p := w.Program
	last := map[int]int{}
	for i := range p.Blocks {
		b := &p.Blocks[i]
		if b.Stroke < 0 {
			continue
		}
		if w.numbers != nil {
			b.Stroke = w.numbers[b.Stroke]
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

// fromStroke leaves out what was made already, for a job that goes on.
func (w *Work) fromStroke() {
	n := w.Request.FromStroke
	if n >= len(w.Strokes) || n <= 0 && w.Request.held == nil {
		return
	}
	w.around, w.Strokes = w.Strokes, w.Strokes[n:]
	var strokes []devices.Stroke
	for i, s := range w.Strokes {
		parts := []devices.Stroke{s}
		if i == 0 && w.Request.held != nil {
			parts = reentered(s, *w.Request.held, w.Profile)
		}
		for _, part := range parts {
			strokes, w.numbers = append(strokes, part), append(w.numbers, n+i)
		}
	}
	w.Strokes = strokes
}

// reentered is what is left of a stroke whose blade was held: from the overlap before that place to
// the end, and over the start as far as a closed line is cut past it. Deeper passes are owed to the
// whole line, so with several the beginning is cut again as well. Short strokes, stabs, nicks, and
// slits drawn out and back are made anew as a whole.
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
		from = at // nothing is cut that could be overlapped
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

// outAndBack tells a line that retraces itself: an open one back at its start, a closed one without
// an inside.
func outAndBack(p geom.Path) bool {
	const same = 0.02 // mm
	if !p.Closed {
		return geom.Dist(p.Points[0], p.Points[len(p.Points)-1]) <= same
	}
	return math.Abs(p.SignedArea()) <= same*p.Length()
}

// uncorrected is the place that a calibration sends to at.
func uncorrected(at orb.Point, c devices.Correction) orb.Point {
	if c.IsZero() {
		return at
	}
	y := at[1] / c.ScaleY
	return orb.Point{(at[0] - c.Skew*y) / c.ScaleX, y}
}
