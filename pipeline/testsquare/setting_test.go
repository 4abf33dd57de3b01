package testsquare

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/pipeline/pattern"
)

// calibrated records a calibration of a device with a correction along x.
func calibrated(t *testing.T, c *Calibrations, at time.Time, x float64) {
	t.Helper()
	res := calibration.Result{ScaleX: 1, ScaleY: 1, X: calibration.Uncertainty{Wide: 1e-4}, Y: calibration.Uncertainty{Wide: 1e-4},
		Correction: devices.Correction{ScaleX: x, ScaleY: 1}}
	if _, err := c.add(Calibrated{At: at, Result: res}); err != nil {
		t.Fatal(err)
	}
}

func emptyRoom(t *testing.T) *config.Workroom {
	t.Helper()
	room := config.Sample(pattern.RuleNames())
	room.Dir = t.TempDir()
	return room
}

func calibrationsOf(t *testing.T, room *config.Workroom, device string) *Calibrations {
	t.Helper()
	c, err := Load(room, device)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestAged: a job says by which calibration it is corrected, or that its device was never calibrated, or too long ago.
func TestAged(t *testing.T) {
	room, now := emptyRoom(t), time.Now()
	says := func(want string) {
		t.Helper()
		if got := strings.Join(SettingOf(room, "roll-plotter", now).Notes, "; "); !strings.Contains(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
	says("never calibrated")
	c := calibrationsOf(t, room, "roll-plotter")
	calibrated(t, c, now.Add(-40*24*time.Hour), 1.002)
	says("corrected by calibration 1, but roll-plotter was calibrated 40 days ago, which is too long ago")
	calibrated(t, c, now, 1.004)
	says("corrected by calibration 2, of today")
	if k := SettingOf(room, "roll-plotter", now).Correction; k.ScaleX != 1.004 {
		t.Errorf("%+v", k)
	}
	if d := c.Drift(); len(d) != 1 || !strings.Contains(d[0], "x changed by -0.199 %") {
		t.Errorf("%q", d)
	}
	calibrated(t, c, now, 1.004)
	c.Entries = c.Entries[1:]
	if d := c.Drift(); len(d) != 1 || !strings.Contains(d[0], "none that the readings could tell") {
		t.Errorf("%q", d)
	}
	for range 2 {
		if _, err := c.Withdraw("Ada", WithdrawLast, "", now); err != nil {
			t.Fatal(err)
		}
	}
	if k := SettingOf(room, "roll-plotter", now).Correction; k.ScaleX != 1.002 {
		t.Errorf("%+v after both were withdrawn", k)
	}
}

// TestNumbersOnce: with several people plotting or recording at the same time, everything is kept under a number of
// its own.
func TestNumbersOnce(t *testing.T) {
	room := emptyRoom(t)
	const people = 16
	orders, entries := make([]int, people), make([]int, people)
	var all sync.WaitGroup
	for i := range people {
		all.Go(func() {
			o, _, err := Plot(room, "roll-plotter", Wish{Width: 100, Height: 100, Count: 1}, time.Now())
			if err != nil {
				t.Error(err)
			}
			c, err := Load(room, "roll-plotter")
			if err != nil {
				t.Error(err)
				return
			}
			f := NewForm(o, 0.5, 1, "mm")
			e, err := f.Keep(c, calibration.Result{ScaleX: 1, ScaleY: 1}, time.Now())
			if err != nil {
				t.Error(err)
			}
			orders[i], entries[i] = o.No, e.No
		})
	}
	all.Wait()
	c := calibrationsOf(t, room, "roll-plotter")
	if len(c.Orders) != people || len(c.Entries) != people {
		t.Fatalf("%d squares and %d calibrations are kept of %d", len(c.Orders), len(c.Entries), people)
	}
	seen := map[int]bool{}
	for i := range people {
		if seen[orders[i]] || seen[-entries[i]] {
			t.Errorf("numbers %v and %v", orders, entries)
		}
		seen[orders[i]], seen[-entries[i]] = true, true
	}
	drops, err := os.ReadDir(filepath.Join(room.Path(room.Folders.Inbox), "roll-plotter"))
	if err != nil || len(drops) != people {
		t.Errorf("%d files were dropped, %v", len(drops), err)
	}
}
