// Package testsquare keeps what was measured of a workroom's devices. It takes orders of test squares and of ladders
// of blade offsets, and the technician's readings in a form; it gives the recorded calibrations and the Setting that a
// job is made with. Package making turns an order into bytes.
package testsquare

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// An order is handled as any draft: it is dropped into the device's folder, becomes a job in ledger and store, and on
// a cutter waits for a person's release. Only reading, checking and laying are skipped, because a square must be drawn
// where and as it will be measured, never turned or moved.
const ending = ".square.json"

// Wish is what `square plot` is asked for, mm.
type Wish struct {
	Width, Height float64
	Count         int
	// Long is the length of lines along both edges of a roll, 0 for none.
	Long float64
	// Ladder are blade offsets to try on a drag knife, instead of squares.
	Ladder []float64
}

// NewWish reads a wish: the side, or two separated by a comma, how many, the length of long lines and a ladder of
// blade offsets, both "" for none. A bare number is mm.
func NewWish(size string, count int, long, blade string) (Wish, error) {
	sides, err := Lengths(size, 1)
	if err != nil {
		return Wish{}, err
	}
	if len(sides) > 2 || count < 1 {
		return Wish{}, errors.New("one side or two are wanted (size), and one square or more (count)")
	}
	w := Wish{Width: sides[0], Height: sides[len(sides)-1], Count: count}
	if long != "" {
		all, err := Lengths(long, 1)
		if err != nil {
			return w, err
		}
		if len(all) != 1 {
			return w, fmt.Errorf("one length is wanted, not %s", long)
		}
		w.Long = all[0]
	}
	if blade != "" {
		w.Ladder, err = Lengths(blade, 1)
	}
	return w, err
}

// Length reads one length, mm; unit is the unit of a bare number, mm.
func Length(text string, unit float64) (float64, error) {
	all, err := Lengths(text, unit)
	if err == nil && len(all) != 1 {
		err = errors.New("one length is wanted, not " + text)
	}
	if err != nil {
		return 0, err
	}
	return all[0], nil
}

// Lengths reads lengths separated by commas, mm; unit is the unit of a bare number, mm.
func Lengths(list string, unit float64) ([]float64, error) {
	var out []float64
	for _, part := range strings.Split(list, ",") {
		v, err := pattern.ParseLengthIn(part, unit)
		if err == nil && !(v > 0) {
			err = fmt.Errorf("%q is no length to draw or read", part)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// Plot orders a test square of a device: the order is recorded, then dropped into the device's folder. A crash between
// the two leaves an order without a job. It gives the order and the file.
func Plot(room *config.Workroom, device string, wish Wish, now time.Time) (Order, string, error) {
	c, err := Load(room, device)
	if err != nil {
		return Order{}, "", err
	}
	plot, err := plan(room, device, wish)
	if err != nil {
		return Order{}, "", err
	}
	o, err := c.order(Order{Device: device, At: now.UTC().Truncate(time.Second), Plot: plot})
	if err != nil {
		return o, "", err
	}
	data, err := json.MarshalIndent(o, "", " ")
	if err != nil {
		return o, "", err
	}
	dir := filepath.Join(room.Path(room.Folders.Inbox), device)
	if err := store.MakeDirs(store.Disk{}, dir, store.Private); err != nil {
		return o, "", store.WithAdvice(err)
	}
	file := filepath.Join(dir, o.fileName())
	_, err = store.SaveFile(store.Disk{}, file, bytes.NewReader(append(data, '\n')), 0o644)
	return o, file, err
}

func plan(room *config.Workroom, device string, wish Wish) (calibration.Plot, error) {
	p, m := room.On(device, "")
	if p.Kind.Prints() {
		return calibration.Plot{}, fmt.Errorf("%s is a %s, and the first sheet of every draft has test squares: print one, measure them, then: tracewheel square record %s", device, p.Kind, device)
	}
	lies := pattern.MaterialOn("", p, m)
	var plot calibration.Plot
	reachX := lies.Length
	if p.Language != devices.GCode && reachX == 0 && p.Length > 0 {
		reachX = p.Length // a square is not divided between sheets
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
		if x+LadderLeft+2*lies.Margin > reachX && reachX > 0 || y+2*lies.Margin > lies.Width {
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
		// Beyond the squares along the roll, so that the lines do not cross them.
		last := plot.Places[len(plot.Places)-1]
		edge := lies.Margin + 5
		plot.Long, plot.LongApart = wish.Long, lies.Width-2*edge
		plot.LongAt = orb.Point{last[0] + plot.Width + 2*lies.Margin, edge}
	}
	return plot, err
}

// IsOrder reports whether a name is that of a test square's order.
func IsOrder(name string) bool { return strings.HasSuffix(name, ending) }

// Called is what a person calls the order of a file name, "" for other files.
func Called(name string) string {
	no, is := strings.CutPrefix(strings.TrimSuffix(name, ending), "test-square-")
	if _, err := strconv.Atoi(no); !is || err != nil || !IsOrder(name) {
		return ""
	}
	return "test square " + no
}

// ReadOrder reads an order from a device's folder.
func ReadOrder(source []byte, device string) (Order, error) {
	var o Order
	d := json.NewDecoder(bytes.NewReader(source))
	d.DisallowUnknownFields()
	if err := d.Decode(&o); err != nil {
		return o, fmt.Errorf("this is no order of a test square: %w", err)
	}
	switch {
	case o.Device != device:
		return o, fmt.Errorf("this test square is for %q and was dropped for %q", o.Device, device)
	case len(o.Ladder) == 0 && (len(o.Places) == 0 || !(o.Width > 0) || !(o.Height > 0)):
		return o, fmt.Errorf("test square %d has no size or no place", o.No)
	}
	return o, nil
}

// LadderLeft is the space before the first rung for the stroke that aligns the blade, mm.
const LadderLeft = 30

// Order is a test square that was ordered: the file in the device's folder, kept beside the calibrations too. It holds
// the correction with which the square is drawn, so that a calibration recorded later changes neither the square nor
// the meaning of its readings.
type Order struct {
	No     int       `json:"test_square"`
	Device string    `json:"device"`
	At     time.Time `json:"ordered"`
	calibration.Plot
	InForce devices.Correction `json:"drawn_with"`
	// Calibration is the number of the calibration in force, 0 without one.
	Calibration int `json:"calibration,omitempty"`
	// Paper is the paper of a printer's sheet; such an order is not sent.
	Paper string `json:"paper,omitempty"`
}

// String says which square is recorded, so that nobody enters the readings of another.
func (o Order) String() string {
	if o.Paper != "" {
		return fmt.Sprintf("what should be %v mm wide and %v mm high on a sheet of %s on %s, printed %s; measure widths across the sheet as it is read", geom.Rounded(o.Width, 1), geom.Rounded(o.Height, 1), o.Device, o.Paper, with(o.Calibration))
	}
	return fmt.Sprintf("test square %d of %s, sent for on %s, drawn %s", o.No, o.Device, o.At.Local().Format("2006-01-02 15:04"), with(o.Calibration))
}

// fileName is the name of the order's file.
func (o Order) fileName() string { return fmt.Sprintf("test-square-%d%s", o.No, ending) }
