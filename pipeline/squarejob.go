package pipeline

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// A test square goes the way of every file: an order is dropped into the device's folder, becomes a
// job, is kept in ledger and store, and waits on a cutter for a person's go. Only reading, checking and
// laying are passed over: a square must stand where and as it is measured, never turned or moved.
const squareEnding = ".square.json"

// SquareWish is what is wanted of `square plot`, mm.
type SquareWish struct {
	Width, Height float64
	Count         int
	// Long is the length of lines along both edges of a roll, 0 for none.
	Long float64
	// Ladder are blade offsets to try on a drag knife, instead of squares.
	Ladder []float64
}

// PlotSquare orders a test square of a device: the order is kept, then dropped into its folder. A crash
// between the two leaves an order that nothing comes of. It gives the order and the file.
func PlotSquare(room *config.Workroom, device string, wish SquareWish, now time.Time) (SquareOrder, string, error) {
	c, err := LoadCalibrations(room, device)
	if err != nil {
		return SquareOrder{}, "", err
	}
	plot, err := planSquare(room, device, wish)
	if err != nil {
		return SquareOrder{}, "", err
	}
	o, err := c.order(SquareOrder{Device: device, At: now.UTC().Truncate(time.Second), Plot: plot})
	if err != nil {
		return o, "", err
	}
	data, err := json.MarshalIndent(o, "", " ")
	if err != nil {
		return o, "", err
	}
	dir := filepath.Join(room.Path(room.Folders.Inbox), device)
	if err := store.MakeDirs(store.Disk{}, dir, store.Private); err != nil {
		return o, "", store.Explain(err)
	}
	file := filepath.Join(dir, o.fileName())
	_, err = store.SaveFile(store.Disk{}, file, bytes.NewReader(append(data, '\n')), 0o644)
	return o, file, err
}

func planSquare(room *config.Workroom, device string, wish SquareWish) (calibration.Plot, error) {
	p, m := room.On(device, "")
	lies := material("", p, m)
	var plot calibration.Plot
	reachX := lies.Length
	if p.Language != devices.GCode && reachX == 0 && p.Length > 0 {
		reachX = p.Length // a square is never divided between sheets
	}
	switch {
	case len(wish.Ladder) > 0:
		if p.Kind != devices.DragKnife {
			return plot, fmt.Errorf("%s is a %s, and a ladder of blade offsets is for a drag knife", device, p.Kind)
		}
		if err := calibration.GoodLadder(wish.Ladder); err != nil {
			return plot, err
		}
		x, y := calibration.LadderSize(wish.Ladder)
		if x+ladderLeft+2*lies.Margin > reachX && reachX > 0 || y+2*lies.Margin > lies.Width {
			return plot, fmt.Errorf("%d offsets need %.0f by %.0f mm, which is not there: try fewer", len(wish.Ladder), x, y)
		}
		plot.Ladder = wish.Ladder
		return plot, nil
	case wish.Long > 0 && reachX > 0:
		return plot, fmt.Errorf("long lines show how a roll is fed; %s reaches %.0f mm along, and its squares show all", device, reachX)
	case wish.Long > 0 && p.Kind.Cuts():
		return plot, fmt.Errorf("long lines are drawn with a pen, and %s is a %s", device, p.Kind)
	}
	var err error
	plot.Width, plot.Height = wish.Width, wish.Height
	plot.Places, err = calibration.Places(wish.Count, wish.Width, wish.Height, reachX, lies.Width, lies.Margin)
	if err == nil && wish.Long > 0 {
		// Beyond the squares along the roll, which would lie across the lines.
		last := plot.Places[len(plot.Places)-1]
		edge := lies.Margin + 5
		plot.Long, plot.LongApart = wish.Long, lies.Width-2*edge
		plot.LongAt = orb.Point{last[0] + plot.Width + 2*lies.Margin, edge}
	}
	return plot, err
}

// isSquare tells an order of a test square by its name.
func isSquare(r Request) bool { return strings.HasSuffix(r.Name, squareEnding) }

// isLadder tells an order of blade offsets, which each rung compensates for itself.
func isLadder(r Request) bool {
	o, err := readOrder(r)
	return err == nil && len(o.Ladder) > 0
}

// squareStrokes reads an order and draws it.
func (h *House) squareStrokes(w *Work) error {
	o, err := readOrder(w.Request)
	if err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), fmt.Sprintf("tracewheel square plot %s", w.Request.Device)))
		return nil
	}
	w.order = &o
	w.setting.Correction = o.InForce
	h.on(w, o.Device, "")
	w.Notes = append(w.Notes, fmt.Sprintf("test square %d; measured, tell: tracewheel square record %s", o.No, o.Device))
	if len(o.Ladder) > 0 {
		w.Notes = append(w.Notes, fmt.Sprintf("blade offsets %v mm; as many nicks as the number stand under each square", o.Ladder))
		return nil
	}
	tool, lettered := devices.Pen, w.Profile.HasPen()
	if w.Profile.Kind.Cuts() {
		tool = devices.Knife
	}
	if !lettered {
		w.Notes = append(w.Notes, "nothing is lettered: the nick stands inside the lower left corner, its line along the bottom")
	}
	w.Strokes = o.Draw(tool, lettered, fmt.Sprintf("%s, plot %d", o.Device, o.No))
	w.fromStroke()
	return nil
}

func readOrder(r Request) (SquareOrder, error) {
	var o SquareOrder
	d := json.NewDecoder(bytes.NewReader(r.Source))
	d.DisallowUnknownFields()
	if err := d.Decode(&o); err != nil {
		return o, fmt.Errorf("this is no order of a test square: %w", err)
	}
	switch {
	case o.Device != r.Device:
		return o, fmt.Errorf("this test square is for %q and was dropped for %q", o.Device, r.Device)
	case len(o.Ladder) == 0 && (len(o.Places) == 0 || !(o.Width > 0) || !(o.Height > 0)):
		return o, fmt.Errorf("test square %d has no size or no place", o.No)
	}
	return o, nil
}

// ladderLeft is what is left free before the first rung for the stroke that gives the blade its heading.
const ladderLeft = 30

// ladder cuts each rung with an offset of its own: every one takes a new heading in its own waste.
func (h *House) ladder(w *Work) error {
	margin := w.Material.Margin
	all, skip := []devices.Motion{}, w.Request.FromStroke
	up := w.Request.Answers[control.AnswerToolUp]
	base := 0
	at := orb.Point{margin + ladderLeft, margin}
	for i, offset := range w.order.Ladder {
		strokes := w.order.Rung(i, at)
		if skip >= len(strokes) {
			skip -= len(strokes)
			continue
		}
		strokes, skip = strokes[skip:], 0
		p := w.Profile
		p.Blade.Offset = offset
		p.Blade.Align, p.Blade.AlignAt = 0, w.order.AlignAt(i, at)
		motions, _, err := knife.Compensate(strokes, p)
		if err != nil {
			w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, fmt.Sprintf("offset %.2f mm: %v", offset, err), "try other offsets"))
			return nil
		}
		for _, m := range motions {
			if m.Stroke >= 0 {
				m.Stroke += base
			}
			all = append(all, m)
		}
		base += len(strokes)
		w.Strokes = append(w.Strokes, strokes...)
	}
	if up != "" {
		return h.motionsUp(w, all)
	}
	var err error
	if w.Program, err = gcode.Encode(all, w.Profile); err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, err.Error(), "look at the device's keys in the workroom file"))
		return nil
	}
	w.Notes = append(w.Notes, w.Program.Notes...)
	h.unsafe(w, w.Program)
	return nil
}

// unsafe refuses a program that would not be safe to send.
func (h *House) unsafe(w *Work, prog devices.Program) gcode.Trace {
	opt := gcode.ReadOptions{}
	if a := w.Profile.Gantry.Axis; a != "" {
		opt.Axis = a[0]
	}
	trace := gcode.Read(prog.Bytes(), opt)
	for _, f := range append(trace.Faults, gcode.Unsafe(trace, w.Profile)...) {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, "the program is not safe to send: "+f.Error(), "this is a fault of the program; keep the file and report it"))
	}
	return trace
}
