package testsquare

import (
	"bytes"
	"context"
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

// Calibrated is one recorded calibration: the readings, the resulting correction, and who took them.
type Calibrated struct {
	No       int       `json:"calibration"`
	At       time.Time `json:"at"`
	Who      string    `json:"who"`
	Material string    `json:"material,omitempty"`
	Humidity string    `json:"humidity,omitempty"`
	Note     string    `json:"note,omitempty"`
	// Paper is the paper of a printer's sheet; the calibration is valid for it alone; "" for other devices.
	Paper string `json:"paper,omitempty"`
	// Carried is the calibration with which the measured sheet was printed, 0 for none.
	Carried  int                  `json:"sheet_made_with,omitempty"`
	Plot     int                  `json:"test_square"`
	Measured calibration.Measured `json:"measured"`
	Result   calibration.Result   `json:"result"`
	// Blade is the best offset of a ladder, mm; such an entry holds no correction. BladeBefore is the offset in the
	// workroom file at that time.
	Blade       *float64 `json:"blade_offset_mm,omitempty"`
	BladeBefore float64  `json:"blade_offset_before_mm,omitempty"`
	// Withdrawn is when and by whom it was withdrawn, empty where it was not.
	Withdrawn *Withdrawal `json:"withdrawn,omitempty"`
}

// Withdrawal is when and by whom a calibration was withdrawn.
type Withdrawal struct {
	At  time.Time `json:"at"`
	Who string    `json:"who"`
}

// Calibrations are the recorded calibrations and orders of one device, oldest first.
type Calibrations struct {
	Device  string       `json:"device"`
	Orders  []Order      `json:"test_squares"`
	Entries []Calibrated `json:"calibrations"`

	dir string
}

// Load reads the records of a device; no records are no error.
func Load(room *config.Workroom, device string) (*Calibrations, error) {
	if _, ok := room.Devices[device]; !ok {
		return nil, room.NoDevice(device)
	}
	if !store.PlainName(device) {
		return nil, fmt.Errorf("nothing can be kept under the name %q", device)
	}
	c := &Calibrations{Device: device, dir: filepath.Join(room.Path(room.Folders.Store), "calibration", device)}
	return c, c.load()
}

// load reads all records again.
func (c *Calibrations) load() error {
	c.Orders, c.Entries = nil, nil
	entries, err := os.ReadDir(c.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range entries { // ordered by name, and so by number
		var o Order
		var k Calibrated
		switch {
		case matches(orderName, e.Name()):
			if err := c.read(e.Name(), &o); err != nil {
				return err
			}
			c.Orders = append(c.Orders, o)
		case matches(entryName, e.Name()):
			if err := c.read(e.Name(), &k); err != nil {
				return err
			}
			c.Entries = append(c.Entries, k)
		}
	}
	slices.SortFunc(c.Orders, func(a, b Order) int { return a.No - b.No })
	slices.SortFunc(c.Entries, func(a, b Calibrated) int { return a.No - b.No })
	return nil
}

// lockPatience is how long a command waits for another one; neither takes longer than a few files.
const lockPatience = 10 * time.Second

// withLock reads the records again and changes them under a lock, so that two people who plot or record at the same
// time never get the same number.
func (c *Calibrations) withLock(change func() error) error {
	if err := store.MakeDirs(store.Disk{}, c.dir, store.Private); err != nil {
		return store.WithAdvice(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), lockPatience)
	defer cancel()
	return store.WithLock(ctx, filepath.Join(c.dir, "lock"), func() error {
		if err := c.load(); err != nil {
			return err
		}
		return change()
	})
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

// save writes a record such that a crash leaves the whole file or none.
func (c *Calibrations) save(name string, v any) error {
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	_, err = store.SaveFile(store.Disk{}, filepath.Join(c.dir, name), bytes.NewReader(append(data, '\n')), store.PrivateFile)
	return err
}

// InForce is the last calibration that was not withdrawn, nil for none.
func (c *Calibrations) InForce() *Calibrated {
	return c.last(func(e *Calibrated) bool { return e.Blade == nil })
}

// last is the last entry that fits and was not withdrawn, nil for none.
func (c *Calibrations) last(fits func(*Calibrated) bool) *Calibrated {
	for i := range slices.Backward(c.Entries) {
		if e := &c.Entries[i]; e.Withdrawn == nil && fits(e) {
			return e
		}
	}
	return nil
}

// lastBlade is the last blade offset that was not withdrawn, nil for none.
func (c *Calibrations) lastBlade() *Calibrated {
	return c.last(func(e *Calibrated) bool { return e.Blade != nil })
}

// Order is a test square that was ordered, by its number; 0 is the last that fits.
func (c *Calibrations) Order(no int, fits func(Order) bool) (Order, error) {
	for _, o := range slices.Backward(c.Orders) {
		if no == o.No || no == 0 && fits(o) {
			return o, nil
		}
	}
	if no == 0 {
		return Order{}, fmt.Errorf("no test square of this kind was sent to %s yet: tracewheel square plot %s", c.Device, c.Device)
	}
	return Order{}, fmt.Errorf("there is no test square %d of %s; `tracewheel square show %s` lists them", no, c.Device, c.Device)
}

// order records a new test square under the next number.
func (c *Calibrations) order(o Order) (Order, error) {
	err := c.withLock(func() error {
		o.No = 1
		if n := len(c.Orders); n > 0 {
			o.No = c.Orders[n-1].No + 1
		}
		o.InForce, o.Calibration = devices.Correction{}, 0
		if e := c.InForce(); e != nil {
			o.InForce, o.Calibration = e.Result.Correction, e.No
		}
		if err := c.save(fmt.Sprintf(orderName, o.No), o); err != nil {
			return err
		}
		c.Orders = append(c.Orders, o)
		return nil
	})
	return o, err
}

// add records a new calibration under the next number.
func (c *Calibrations) add(e Calibrated) (Calibrated, error) {
	err := c.withLock(func() error {
		e.No = 1
		if n := len(c.Entries); n > 0 {
			e.No = c.Entries[n-1].No + 1
		}
		if err := c.save(fmt.Sprintf(entryName, e.No), e); err != nil {
			return err
		}
		c.Entries = append(c.Entries, e)
		return nil
	})
	return e, err
}

// Choices for Withdraw.
const (
	WithdrawLast = iota
	WithdrawAll
	WithdrawBlade
)

// Withdraw withdraws the calibration in force, so that the one before it is in force again; or all of them; or the
// last blade offset. on is the printer's paper that is meant, "" where there is only one. It gives the entries that
// were withdrawn.
func (c *Calibrations) Withdraw(who string, what int, on string, now time.Time) (out []Calibrated, err error) {
	next := func() *Calibrated {
		return c.last(func(e *Calibrated) bool { return e.Blade == nil && (on == "" || e.onPaper() == upright(on)) })
	}
	if what == WithdrawBlade {
		next = c.lastBlade
	}
	err = c.withLock(func() error {
		if what == WithdrawLast {
			if err := c.which(on); err != nil {
				return err
			}
		}
		for e := next(); e != nil; e = next() {
			e.Withdrawn = &Withdrawal{At: now.UTC().Truncate(time.Second), Who: who}
			if err := c.save(fmt.Sprintf(entryName, e.No), *e); err != nil {
				e.Withdrawn = nil
				return err
			}
			out = append(out, *e)
			if what != WithdrawAll {
				break
			}
		}
		switch {
		case len(out) > 0:
			return nil
		case what == WithdrawBlade:
			return fmt.Errorf("no blade offset of %s is recorded", c.Device)
		}
		return c.noneOn(on)
	})
	return out, err
}
