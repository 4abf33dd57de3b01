package testsquare

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tracewheel/config"
	"tracewheel/geom"
)

// isLadder reports whether the form is for a ladder of blade offsets.
func (f *Form) isLadder() bool { return len(f.Order.Ladder) > 0 }

// Rung is the offset of the square with so many nicks under it, mm.
func (f *Form) Rung(nicks int) (float64, error) {
	if nicks < 1 || nicks > len(f.Order.Ladder) {
		return 0, fmt.Errorf("no square of this ladder has %d nicks under it, only 1 to %d", nicks, len(f.Order.Ladder))
	}
	return f.Order.Ladder[nicks-1], nil
}

// KeepBlade records the best offset of a ladder, mm: one of its rungs or a value between two. The next job is cut with
// it.
func (f *Form) KeepBlade(room *config.Workroom, c *Calibrations, offset float64, now time.Time) (Calibrated, error) {
	if !f.isLadder() {
		return Calibrated{}, fmt.Errorf("test square %d is no ladder of blade offsets", f.Order.No)
	}
	low, high := slices.Min(f.Order.Ladder), slices.Max(f.Order.Ladder)
	if !(offset > low-1e-6) || offset > high+1e-6 {
		return Calibrated{}, fmt.Errorf("a blade offset of %v mm lies outside what the ladder tried, %v to %v mm (test square %d): cut one further out, or name another ladder (--plot)", geom.Rounded(offset, 2), geom.Rounded(low, 2), geom.Rounded(high, 2), f.Order.No)
	}
	offset = math.Round(1e4*offset) / 1e4
	return c.add(Calibrated{At: now.UTC().Truncate(time.Second), Who: f.Who, Material: f.Material, Humidity: f.Humidity, Note: f.Note,
		Plot: f.Order.No, Blade: &offset, BladeBefore: room.Devices[c.Device].Blade.Offset})
}

// AtEnd reports whether an offset is the first or the last of the ladder, so that a better one may lie beyond.
func (f *Form) AtEnd(offset float64) bool {
	const same = 1e-3
	return offset < slices.Min(f.Order.Ladder)+same || offset > slices.Max(f.Order.Ladder)-same
}
