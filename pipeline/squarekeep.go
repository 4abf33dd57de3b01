package pipeline

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/pipeline/store"
)

// SquareOrder is a test square that was sent for: the file that is dropped into the device's folder,
// kept beside the calibrations too. It carries the correction with which the square is drawn, so that
// a calibration recorded meanwhile changes neither the square nor what is made of its measures.
type SquareOrder struct {
	No     int       `json:"test_square"`
	Device string    `json:"device"`
	At     time.Time `json:"ordered"`
	calibration.Plot
	InForce devices.Correction `json:"drawn_with"`
}

// Calibrated is one calibration as it is kept: what was read, what came of it, and by whom.
type Calibrated struct {
	No       int                  `json:"calibration"`
	At       time.Time            `json:"at"`
	Who      string               `json:"who"`
	Material string               `json:"material,omitempty"`
	Humidity string               `json:"humidity,omitempty"`
	Note     string               `json:"note,omitempty"`
	Plot     int                  `json:"test_square"`
	Measured calibration.Measured `json:"measured"`
	Result   calibration.Result   `json:"result"`
	// Blade is the best offset of a ladder, mm; such an entry holds no correction.
	Blade *float64 `json:"blade_offset_mm,omitempty"`
	// Withdrawn is when and by whom it was taken back, empty where it was not.
	Withdrawn *Withdrawal `json:"withdrawn,omitempty"`
}

// Withdrawal says when a calibration was taken back and by whom.
type Withdrawal struct {
	At  time.Time `json:"at"`
	Who string    `json:"who"`
}

// Calibrations are all that is kept of one device, oldest first.
type Calibrations struct {
	Device  string        `json:"device"`
	Orders  []SquareOrder `json:"test_squares"`
	Entries []Calibrated  `json:"calibrations"`

	dir string
}

// LoadCalibrations reads what is kept of a device; none is no error.
func LoadCalibrations(room *config.Workroom, device string) (*Calibrations, error) {
	if _, ok := room.Devices[device]; !ok {
		return nil, fmt.Errorf("there is no device %q in the workroom; it has %s", device, list(room.DeviceNames()))
	}
	if !store.PlainName(device) {
		return nil, fmt.Errorf("nothing can be kept under the name %q", device)
	}
	c := &Calibrations{Device: device, dir: filepath.Join(room.Path(room.Folders.Store), "calibration", device)}
	entries, err := os.ReadDir(c.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return c, nil
	}
	if err != nil {
		return nil, err
	}
	for _, e := range entries { // in the order of their names, which is that of their numbers
		var o SquareOrder
		var k Calibrated
		switch {
		case matches(orderName, e.Name()):
			if err := c.read(e.Name(), &o); err != nil {
				return nil, err
			}
			c.Orders = append(c.Orders, o)
		case matches(entryName, e.Name()):
			if err := c.read(e.Name(), &k); err != nil {
				return nil, err
			}
			c.Entries = append(c.Entries, k)
		}
	}
	slices.SortFunc(c.Orders, func(a, b SquareOrder) int { return a.No - b.No })
	slices.SortFunc(c.Entries, func(a, b Calibrated) int { return a.No - b.No })
	return c, nil
}

const (
	orderName = "square-%04d.json"
	entryName = "calibration-%04d.json"
)

func matches(pattern, name string) bool {
	var n int
	_, err := fmt.Sscanf(name, pattern, &n)
	return err == nil && fmt.Sprintf(pattern, n) == name
}

func (c *Calibrations) read(name string, into any) error {
	data, err := os.ReadFile(filepath.Join(c.dir, name))
	if err == nil {
		err = json.Unmarshal(data, into)
	}
	if err != nil {
		return fmt.Errorf("the calibrations of %s cannot be read (%s): %w; bring the file back from a backup, or move it away", c.Device, name, err)
	}
	return nil
}

// save writes a file of the device's calibrations so that a crash leaves the whole of it or nothing.
func (c *Calibrations) save(name string, v any) error {
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	if err := store.MakeDirs(store.Disk{}, c.dir, 0o755); err != nil {
		return store.Explain(err)
	}
	_, err = store.SaveFile(store.Disk{}, filepath.Join(c.dir, name), bytes.NewReader(append(data, '\n')))
	return err
}

// InForce is the last calibration that was not taken back, nil for none.
func (c *Calibrations) InForce() *Calibrated {
	for i := range slices.Backward(c.Entries) {
		if e := &c.Entries[i]; e.Withdrawn == nil && e.Blade == nil {
			return e
		}
	}
	return nil
}

// Correction is the one in force, the zero one where there is none.
func (c *Calibrations) Correction() devices.Correction {
	if e := c.InForce(); e != nil {
		return e.Result.Correction
	}
	return devices.Correction{}
}

// Order is a test square that was sent for; 0 is the last.
func (c *Calibrations) Order(no int) (SquareOrder, error) {
	for _, o := range slices.Backward(c.Orders) {
		if no == 0 || o.No == no {
			return o, nil
		}
	}
	if no == 0 {
		return SquareOrder{}, fmt.Errorf("no test square was sent to %s yet: tracewheel square plot %s", c.Device, c.Device)
	}
	return SquareOrder{}, fmt.Errorf("there is no test square %d of %s; `tracewheel square show %s` lists them", no, c.Device, c.Device)
}

// add keeps a new calibration under the next number.
func (c *Calibrations) add(e Calibrated) (Calibrated, error) {
	e.No = 1
	if n := len(c.Entries); n > 0 {
		e.No = c.Entries[n-1].No + 1
	}
	if err := c.save(fmt.Sprintf(entryName, e.No), e); err != nil {
		return e, err
	}
	c.Entries = append(c.Entries, e)
	return e, nil
}

// Withdraw takes the calibration in force back, so that the one before it counts again; all takes
// every one back. It gives those taken back.
func (c *Calibrations) Withdraw(who string, all bool, now time.Time) ([]Calibrated, error) {
	var out []Calibrated
	for e := c.InForce(); e != nil; e = c.InForce() {
		e.Withdrawn = &Withdrawal{At: now.UTC().Truncate(time.Second), Who: who}
		if err := c.save(fmt.Sprintf(entryName, e.No), *e); err != nil {
			e.Withdrawn = nil
			return out, err
		}
		out = append(out, *e)
		if !all {
			break
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no calibration of %s is in force", c.Device)
	}
	return out, nil
}

// Drift compares each calibration with the one before: what the device needed then and needs now. It
// tells of changes that are larger than both were sure.
func (c *Calibrations) Drift() []string {
	var out []string
	var last *Calibrated
	for i := range c.Entries {
		e := &c.Entries[i]
		if e.Blade != nil || e.Withdrawn != nil {
			continue
		}
		if last != nil {
			out = append(out, drift(*last, *e)...)
		}
		last = e
	}
	return out
}

func drift(a, b Calibrated) []string {
	var out []string
	tell := func(name string, from, to, sureA, sureB float64) {
		change, sure := to/from-1, sureA+sureB
		if change > sure || change < -sure {
			out = append(out, fmt.Sprintf("from %s to %s %s changed by %+.3f %% (both sure to %.3f %%)",
				day(a.At), day(b.At), name, 100*change, 100*sure))
		}
	}
	tell("x", 1/a.Result.Correction.ScaleX, 1/b.Result.Correction.ScaleX, a.Result.X.Wide, b.Result.X.Wide)
	tell("y", 1/a.Result.Correction.ScaleY, 1/b.Result.Correction.ScaleY, a.Result.Y.Wide, b.Result.Y.Wide)
	return out
}

func day(t time.Time) string { return t.Local().Format("2006-01-02") }
