package testsquare

import (
	"fmt"
	"math"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/geom"
)

// Setting is what a job uses of a device's measurements.
type Setting struct {
	devices.Setting
	// Notes are notes for the job's report.
	Notes []string
	// Measured is what a printer's first sheet says about it, one line each.
	Measured []string
	// Carried is the calibration that a printer's sheets carry, 0 for none.
	Carried int
	// Err is set where it cannot be read: then nothing should be drawn, since its size would be wrong.
	Err error
}

// SettingOf is the present setting of a device, for a printer on its usual paper.
func SettingOf(room *config.Workroom, device string, now time.Time) Setting {
	return SettingOn(room, device, "", now)
}

// SettingOn is the present setting on a printer's paper, "" for the usual one.
func SettingOn(room *config.Workroom, device, onPaper string, now time.Time) Setting {
	c, err := Load(room, device)
	if err != nil {
		return Setting{Err: err}
	}
	if room.Devices[device].Kind.Prints() {
		return c.printing(room, onPaper, now)
	}
	e := c.InForce()
	var s Setting
	if e != nil {
		s.Correction = e.Result.Correction
	}
	switch age, fresh := e.age(room, now); {
	case age == "":
		s.Notes = append(s.Notes, fmt.Sprintf("%s was never calibrated: tracewheel square plot %s", device, device))
	case !fresh:
		s.Notes = append(s.Notes, fmt.Sprintf("corrected by calibration %d, but %s was calibrated %s, which is too long ago: tracewheel square plot %s",
			e.No, device, age, device))
	default:
		s.Notes = append(s.Notes, fmt.Sprintf("corrected by calibration %d, of %s", e.No, age))
	}
	var note string
	if s.BladeOffset, note = c.blade(room); note != "" {
		s.Notes = append(s.Notes, note)
	}
	return s
}

// printing is the setting of a printer. Calibrations of other papers do not count.
func (c *Calibrations) printing(room *config.Workroom, onPaper string, now time.Time) Setting {
	p, err := paperOf(room, c.Device, onPaper)
	if err != nil {
		return Setting{Err: err}
	}
	e := c.InForceOn(p)
	age, fresh := e.age(room, now)
	if e == nil {
		return Setting{Notes: []string{fmt.Sprintf("%s was never measured on %s, so its sheets are as true as it prints: measure a first sheet's squares, then: tracewheel square record %s", c.Device, p.Name, c.Device)}}
	}
	s := Setting{Setting: devices.Setting{Correction: e.on(p)}, Measured: e.stated(c.Device, p), Carried: e.No}
	s.Notes = []string{fmt.Sprintf("corrected by calibration %d of %s, measured on %s %s", e.No, c.Device, e.Paper, age)}
	if !fresh {
		s.Notes[0] += fmt.Sprintf(", which is too long ago: measure a first sheet's squares, then: tracewheel square record %s", c.Device)
	}
	return s
}

// age is how long ago a calibration was measured, "" for none, and whether it is still fresh.
func (e *Calibrated) age(room *config.Workroom, now time.Time) (text string, fresh bool) {
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
	e := c.InForce()
	if room.Devices[device].Kind.Prints() {
		p, err := paperOf(room, device, "")
		if err != nil {
			return "unreadable", true
		}
		e = c.InForceOn(p)
	}
	switch age, fresh := e.age(room, time.Now()); {
	case age == "":
		return "never", true
	case fresh:
		return age, false
	default:
		return age, true
	}
}

// blade is the offset that the last ladder found, 0 where none counts, and the note about it. It replaces the workroom
// file's offset until that is changed, since a new blade is entered there.
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
		return *e.Blade, fmt.Sprintf("blade offset %v mm by the blade test of %s, in place of the workroom file's %v", geom.Rounded(*e.Blade, 2), day(e.At), geom.Rounded(has, 2))
	}
	return 0, fmt.Sprintf("blade offset %v mm by the workroom file, which was changed after the blade test of %s had found %v", geom.Rounded(has, 2), day(e.At), geom.Rounded(*e.Blade, 2))
}
