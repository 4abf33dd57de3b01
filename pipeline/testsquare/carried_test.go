package testsquare

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
)

// TestSameSheetTwice: one printed sheet is recorded again. Once a calibration exists, a person must say which one the
// sheet carries; then the correction is the same as before, which undoes the printer's error: 0.4 % of 200 mm is 0.8
// mm.
func TestSameSheetTwice(t *testing.T) {
	room := printerRoom(t)
	const device = "office-printer"
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	read := func(of OnPaper) (*Calibrations, *Form, calibration.Result, error) {
		t.Helper()
		c, err := Load(room, device)
		if err != nil {
			t.Fatal(err)
		}
		o, err := c.Asked(room, 0, nil, of)
		if err != nil {
			return c, nil, calibration.Result{}, err
		}
		f := NewForm(o, 0.1, 0, "mm")
		f.Kept = c
		measureOn(t, f, geom.Affine{A: 0.996, D: 1.004})
		r, err := f.Solve()
		return c, f, r, err
	}
	force := func() devices.Correction { return SettingOn(room, device, "", now).Correction }
	sheet := OnPaper{Wanted: "180x200", Calibration: -1}
	c, f, r, err := read(sheet)
	if err != nil || len(r.Doubts) > 0 {
		t.Fatalf("the first time: %v %v", err, r.Doubts)
	}
	if _, err := f.Keep(c, r, now); err != nil {
		t.Fatal(err)
	}
	once := force()
	if once.ScaleX < 1.0035 || once.ScaleX > 1.0045 {
		t.Fatalf("%+v does not undo 0.4 %%", once)
	}
	if c, _, _, err = read(sheet); !errors.Is(err, ErrUnsaid) || !strings.Contains(err.Error(), "--calibration 0 for none") || len(c.Entries) != 1 {
		t.Fatalf("nobody said what the sheet carries: %v", err)
	}
	if _, _, _, err = read(OnPaper{Paper: "letter", Wanted: "180x200", Calibration: -1}); err != nil {
		t.Errorf("another paper, never measured: %v", err)
	}
	sheet.Calibration = 1
	if _, _, r, err = read(sheet); err != nil || !strings.Contains(fmt.Sprint(r.Doubts), "the readings of calibration 1 again") {
		t.Errorf("the same readings as of a sheet with calibration 1: %v %v", err, r.Doubts)
	}
	sheet.Calibration = 0
	c, f, r, err = read(sheet)
	if err != nil || strings.Contains(fmt.Sprint(r.Doubts), "again") {
		t.Fatalf("the same sheet again: %v %v", err, r.Doubts)
	}
	if _, err := f.Keep(c, r, now); err != nil {
		t.Fatal(err)
	}
	if again := force(); again != once {
		t.Errorf("recorded twice: %+v, once: %+v", again, once)
	}
	if _, err := c.Withdraw("Ada", WithdrawAll, "", now); err != nil {
		t.Fatal(err)
	}
	sheet.Calibration = -1
	if _, _, _, err = read(sheet); !errors.Is(err, ErrUnsaid) {
		t.Errorf("its sheets lie about although it was withdrawn: %v", err)
	}
}

// TestSheetAsked: a person at the terminal is asked until the answer is a number; without a terminal it is an error.
func TestSheetAsked(t *testing.T) {
	room := printerRoom(t)
	c, err := Load(room, "office-printer")
	if err != nil {
		t.Fatal(err)
	}
	answers := []string{"one", "-1", "0"}
	a := Asker{Say: func(string, ...any) {}, Out: io.Discard, Ask: func(string) (string, error) {
		if len(answers) == 0 {
			return "", io.EOF
		}
		defer func() { answers = answers[1:] }()
		return answers[0], nil
	}}
	order := func(there bool) (Order, error) { return a.Order(c, room, 0, nil, OnPaper{Calibration: -1}, there) }
	if o, err := order(true); err != nil || o.Calibration != 0 || len(answers) != 3 {
		t.Errorf("no calibration yet: %+v, %v, %d answers left", o, err, len(answers))
	}
	e := Calibrated{No: 1, Paper: "a4"}
	e.Result.Correction.ScaleX = 1.003
	c.Entries = append(c.Entries, e)
	if _, err := order(false); !errors.Is(err, ErrUnsaid) || len(answers) != 3 {
		t.Errorf("nobody is there: %v", err)
	}
	if o, err := order(true); err != nil || o.Calibration != 0 || !o.InForce.IsZero() || len(answers) > 0 {
		t.Errorf("%+v, %v, %v left", o, err, answers)
	}
	answers = []string{"1"}
	if o, err := order(true); err != nil || o.Calibration != 1 || o.InForce.ScaleX != 1.003 {
		t.Errorf("%+v, %v", o, err)
	}
	if _, err := order(true); !errors.Is(err, ErrNothing) {
		t.Errorf("nobody answers: %v", err)
	}
}

// TestNoMinusNought: a correction that rounds to zero is told without a minus, to a person and on a first sheet.
func TestNoMinusNought(t *testing.T) {
	e := &Calibrated{No: 1, Paper: "a4"}
	e.Result.Correction = devices.Correction{ScaleX: 1 + 1e-6, ScaleY: 1 + 1e-6, Skew: 1e-7}
	e.Result.ScaleX, e.Result.ScaleY, e.Result.Shear, e.Result.SquareKnown = 1-1e-6, 1-1e-6, -1e-6, true
	p, err := paperOf(printerRoom(t), "office-printer", "a4")
	if err != nil {
		t.Fatal(err)
	}
	if said := strings.Join(e.stated("office-printer", p), " ") + e.What() + e.Text("mm"); strings.Contains(said, "-0.00 ") || strings.Contains(said, "-0.0 ") {
		t.Errorf("a minus before nought: %s", said)
	}
	e.Result.Correction.Skew = -1e-7
	if said := strings.Join(e.stated("office-printer", p), " ") + e.Text("mm"); strings.Contains(said, "-0.00") {
		t.Errorf("a minus before nought: %s", said)
	}
}
