package testsquare

import (
	"fmt"
	"math"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
)

// Setting is what was measured of a device, as a job uses it.
type Setting struct {
	devices.Setting
	// Notes are what the job should mention.
	Notes []string
	// Err is set where it cannot be read: nobody should draw by the wrong size then.
	Err error
}

// SettingOf is what counts for a device of a workroom now.
func SettingOf(room *config.Workroom, device string, now time.Time) Setting {
	c, err := Load(room, device)
	if err != nil {
		return Setting{Err: err}
	}
	s := Setting{Setting: devices.Setting{Correction: c.correction()}}
	switch age, fresh := c.age(room, now); {
	case age == "":
		s.Notes = append(s.Notes, fmt.Sprintf("%s was never calibrated: tracewheel square plot %s", device, device))
	case !fresh:
		s.Notes = append(s.Notes, fmt.Sprintf("corrected by calibration %d, but %s was calibrated %s, which is too long ago: tracewheel square plot %s",
			c.InForce().No, device, age, device))
	default:
		s.Notes = append(s.Notes, fmt.Sprintf("corrected by calibration %d, of %s", c.InForce().No, age))
	}
	var note string
	if s.BladeOffset, note = c.blade(room); note != "" {
		s.Notes = append(s.Notes, note)
	}
	return s
}

// age is how long ago the calibration in force was measured, "" for none, and whether it still
// counts as fresh.
func (c *Calibrations) age(room *config.Workroom, now time.Time) (text string, fresh bool) {
	e := c.InForce()
	if e == nil {
		return "", false
	}
	old := now.Sub(e.At)
	switch days := int(old.Hours() / 24); {
	case days < 1:
		text = "today"
	case days == 1:
		text = "1 day ago"
	default:
		text = fmt.Sprintf("%d days ago", days)
	}
	return text, room.Calibration == 0 || old <= room.Calibration.D()
}

// Age is what `devices` prints of a device's calibration, and whether it needs one.
func Age(room *config.Workroom, device string) (text string, needs bool) {
	c, err := Load(room, device)
	if err != nil {
		return "unreadable", true
	}
	switch age, fresh := c.age(room, time.Now()); {
	case age == "":
		return "never", true
	case fresh:
		return age, false
	default:
		return age, true
	}
}

// blade is the offset that the last ladder found, 0 where none counts, and what a job says of it. It
// takes the place of the workroom file's until that is changed: a new blade is written there.
func (c *Calibrations) blade(room *config.Workroom) (offset float64, note string) {
	e := c.lastBlade()
	if e == nil {
		return 0, ""
	}
	has := room.Devices[c.Device].Blade.Offset
	switch {
	case math.Abs(has-*e.Blade) < 1e-9:
		return 0, ""
	case math.Abs(has-e.BladeBefore) < 1e-9:
		return *e.Blade, fmt.Sprintf("blade offset %.2f mm by the blade test of %s, in place of the workroom file's %.2f", *e.Blade, day(e.At), has)
	}
	return 0, fmt.Sprintf("blade offset %.2f mm by the workroom file, which was changed after the blade test of %s had found %.2f", has, day(e.At), *e.Blade)
}
