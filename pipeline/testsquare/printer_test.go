package testsquare

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func printerRoom(t *testing.T) *config.Workroom {
	t.Helper()
	room := config.Sample(pattern.RuleNames())
	room.Dir = t.TempDir()
	return room
}

// measureOn enters what a ruler reads on a rectangle that a printer distorted by m.
func measureOn(t *testing.T, f *Form, m geom.Affine) {
	t.Helper()
	w, h := f.Order.Width, f.Order.Height
	at := func(x, y float64) orb.Point { return m.Apply(orb.Point{x, y}) }
	read := func(a, b orb.Point) string { return fmt.Sprintf("%.1fmm", math.Hypot(a[0]-b[0], a[1]-b[1])) }
	for side, ends := range map[calibration.Side][2]orb.Point{
		calibration.Bottom: {at(0, 0), at(w, 0)}, calibration.Top: {at(0, h), at(w, h)}, calibration.Left: {at(0, 0), at(0, h)},
		calibration.Right: {at(w, 0), at(w, h)}, calibration.Rising: {at(0, 0), at(w, h)}, calibration.Falling: {at(0, h), at(w, 0)}} {
		if err := f.Answer(1, side, read(ends[0], ends[1])); err != nil {
			t.Fatal(err)
		}
	}
}

// TestPrinterKeptForEachPaper: readings of a frame correct the sheets of its paper upright and across, a second
// calibration corrects the rest of the error, and another paper is not changed.
func TestPrinterKeptForEachPaper(t *testing.T) {
	room := printerRoom(t)
	const device = "office-printer"
	prints := geom.Affine{A: 0.9958, B: 0, C: -0.0031, D: 1.0046} // narrow, long, askew
	quarter := geom.Rotate(math.Pi / 2)
	back, _ := quarter.Inverse()
	across := quarter.After(prints).After(back)
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	record := func(of OnPaper, printer geom.Affine) {
		t.Helper()
		c, err := Load(room, device)
		if err != nil {
			t.Fatal(err)
		}
		o, err := c.Asked(room, 0, nil, of)
		if err != nil {
			t.Fatal(err)
		}
		f := NewForm(o, 0.1, 0, "mm")
		file, _ := Prints(o.InForce).Inverse() // the sheet was corrected by the calibration in force
		measureOn(t, f, printer.After(file))
		r, err := f.Solve()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Keep(c, r, now); err != nil {
			t.Fatal(err)
		}
	}
	// off is the greatest error of length on a metre in any direction, mm, and of a right angle, mm on a metre.
	off := func(paper string, printer geom.Affine) float64 {
		t.Helper()
		s := SettingOn(room, device, paper, now)
		if s.Err != nil {
			t.Fatal(s.Err)
		}
		file, _ := Prints(s.Correction).Inverse()
		m := printer.After(file)
		return 1000 * max(math.Abs(math.Hypot(m.A, m.B)-1), math.Abs(math.Hypot(m.C, m.D)-1), math.Abs(m.A*m.C+m.B*m.D))
	}
	if got := off("a4", prints); got < 4 {
		t.Fatalf("before: %.2f mm", got)
	}
	record(OnPaper{Wanted: "186x242", Calibration: -1}, prints)
	for _, c := range []struct {
		paper   string
		printer geom.Affine
	}{{"", prints}, {"a4", prints}, {"a4 portrait", prints}, {"a4 landscape", across}} {
		if got := off(c.paper, c.printer); got > 0.7 { // a tenth of a millimetre on 186 mm
			t.Errorf("on %q it is off by %.2f mm on a metre", c.paper, got)
		}
	}
	if s := SettingOn(room, device, "letter", now); !s.Correction.IsZero() || s.Measured != nil || !strings.Contains(s.Notes[0], "never measured on letter") {
		t.Errorf("on letter: %+v", s)
	}
	drifted := geom.Affine{A: 0.9999, C: 0, D: 1.0009}.After(prints)
	quarterDrifted := quarter.After(drifted).After(back)
	record(OnPaper{Paper: "a4 landscape", Wanted: "242x186", Calibration: 1}, quarterDrifted)
	if got := off("a4", drifted); got > 0.7 {
		t.Errorf("measured again across: off by %.2f mm on a metre", got)
	}
	s := SettingOn(room, device, "a4", now)
	if said := strings.Join(s.Measured, " "); !strings.Contains(said, "calibration 2 of office-printer") || !strings.Contains(said, "2 March 2026 on a4 landscape") || !strings.Contains(said, "widths -0.4") || !strings.Contains(said, "heights +0.5") {
		t.Errorf("the first sheet says %q", said)
	}
	// A sheet that was printed before the first calibration, measured now.
	record(OnPaper{Wanted: "186x242", Calibration: 0}, prints)
	if got := off("a4", prints); got > 0.7 {
		t.Errorf("a sheet without correction, measured: off by %.2f mm on a metre", got)
	}
	if s := SettingOn(room, device, "a4", now.Add(90*24*time.Hour)); !strings.Contains(s.Notes[0], "too long ago") || s.Correction.IsZero() {
		t.Errorf("after 90 days: %+v", s.Notes)
	}
}

// TestFittedPagesAreRefused: the factors were measured through CUPS with a 100 mm line on an A4 page (95.31 and 89.12 mm).
func TestFittedPagesAreRefused(t *testing.T) {
	room := printerRoom(t)
	c, err := Load(room, "office-printer")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []struct {
		x, y float64
		want string
	}{{0.9531, 0.9531, "95.3 % of their size, as of an A4 page fitted onto A4"}, {0.8912, 0.8912, "89.1 % of their size, as of an A4 page fitted onto Letter"},
		{0.96, 0.96, "96.0 %"}, {1, 0.984, "the heights are printed at 98.4 %"}, {1.016, 1, "the widths"}, {1.014, 0.986, ""}, {0.996, 1.004, ""}} {
		o, err := c.OnSheet(room, OnPaper{Calibration: -1})
		if err != nil || o.Width != 100 || o.Height != 100 {
			t.Fatalf("%+v, %v", o, err)
		}
		f := NewForm(o, 0.1, 0, "mm")
		measureOn(t, f, geom.Affine{A: k.x, D: k.y})
		for _, q := range f.Questions() {
			if text := f.Slip(q); text != "" {
				t.Errorf("%v: %s is called a slip: %s", k, q.Side, text)
			}
		}
		_, err = f.Solve()
		switch {
		case k.want == "" && err != nil:
			t.Errorf("%v: %v", k, err)
		case k.want != "" && (err == nil || !strings.Contains(err.Error(), k.want) || !strings.Contains(err.Error(), "print at 100 %")):
			t.Errorf("%v: %v", k, err)
		}
	}
	for _, wanted := range []string{"186", "50x242", "300x242", "x"} {
		if _, err := c.OnSheet(room, OnPaper{Wanted: wanted, Calibration: -1}); err == nil {
			t.Errorf("--wanted %q is taken", wanted)
		}
	}
	if _, err := c.OnSheet(room, OnPaper{Calibration: 7}); err == nil || !strings.Contains(err.Error(), "no calibration 7") {
		t.Errorf("calibration 7: %v", err)
	}
}

// TestTwoPapersOfAPrinter: each paper has its own calibration in force and its own drift, also where a sheet of it was
// read across; the calibration of one paper is never told as a change of another, and each is withdrawn by itself.
func TestTwoPapersOfAPrinter(t *testing.T) {
	room := printerRoom(t)
	c := calibrationsOf(t, room, "office-printer")
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	add := func(on string, x, y float64) {
		t.Helper()
		r := Result{Correction: devices.Correction{ScaleX: x, ScaleY: y}}
		r.X.Wide, r.Y.Wide = 0.0005, 0.0005
		if _, err := c.add(Calibrated{At: now, Who: "Ada", Paper: on, Result: r}); err != nil {
			t.Fatal(err)
		}
	}
	add("a4", 1.004, 1)
	add("letter", 0.992, 1)
	add("a4 landscape", 1, 1.004) // the same printer's feed, the sheet read across
	if got := c.Drift(); len(got) != 1 || got[0] != "on a4: none that the readings could tell" {
		t.Errorf("%q", got)
	}
	add("letter", 0.996, 1)
	if got := c.Drift(); len(got) != 2 || !strings.HasPrefix(got[1], "on letter: ") || !strings.Contains(got[1], "widths changed by -0.402 %") {
		t.Errorf("%q", got)
	}
	standing := func() string {
		var out []string
		for _, s := range c.Standing("mm") {
			out = append(out, s.Heading)
			if s.Drift != "" && !strings.Contains(s.Drift, "How long the device draws on "+s.On+" without") {
				t.Errorf("the picture does not say of which paper: %.200s", s.Drift)
			}
		}
		return strings.Join(out, "; ")
	}
	if got := standing(); !strings.Contains(got, "calibration 3 in force on a4, ") || !strings.Contains(got, "calibration 4 in force on letter, ") {
		t.Error(got)
	}
	if _, err := c.Withdraw("Ada", WithdrawLast, "", now); err == nil || !strings.Contains(err.Error(), "(a4, letter)") {
		t.Errorf("of no paper: %v", err)
	}
	gone, err := c.Withdraw("Ada", WithdrawLast, "A4", now)
	if err != nil || len(gone) != 1 || gone[0].No != 3 {
		t.Fatalf("%+v %v", gone, err)
	}
	if got := c.CountNow(gone); len(got) != 1 || got[0] != "calibration 1 is in force again on a4" {
		t.Errorf("%q", got)
	}
	if got := standing(); !strings.Contains(got, "calibration 1 in force on a4, ") || !strings.Contains(got, "calibration 4 in force on letter, ") {
		t.Error(got)
	}
}

// TestBentSheet: a sheet whose left and right sides differ is reported as bent, slipped or misread, not as a wrong
// height, whatever the ruler; and messages about a sheet do not say x or y.
func TestBentSheet(t *testing.T) {
	c := calibrationsOf(t, printerRoom(t), "office-printer")
	for _, of := range []struct {
		sides, want string
		ruler       float64
	}{
		{"100,100,100,100.8", "left and right read 100.8 and 100 mm, and no scale makes opposite sides differ", 0.1},
		{"100,100,100,100.8", "left and right read 100.8 and 100 mm, and no scale makes opposite sides differ", 0.5},
		{"100.3,100,100.3,100", "the width is off by 0.30 % and these readings are sure to", 1},
	} {
		o, err := c.OnSheet(printerRoom(t), OnPaper{})
		if err != nil {
			t.Fatal(err)
		}
		f := NewForm(o, of.ruler, 0, "mm")
		if err := f.Sides(of.sides); err != nil {
			t.Fatal(err)
		}
		_, err = f.Solve()
		if got := fmt.Sprint(err); !strings.Contains(got, of.want) || strings.Contains(got, "x is") || strings.Contains(got, "y is") || strings.Contains(of.want, "differ") && strings.Contains(got, "off by") {
			t.Errorf("%s to %v mm: %v", of.sides, of.ruler, err)
		}
	}
}
