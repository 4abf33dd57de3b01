package pipeline

import (
	"fmt"
	"math"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
)

// correctionOf is the calibration in force for a device of a workroom; the zero one where none is.
// One that cannot be read counts as none, which agedOf says on every job.
func correctionOf(room *config.Workroom, device string) devices.Correction {
	c, err := LoadCalibrations(room, device)
	if err != nil {
		return devices.Correction{}
	}
	return c.Correction()
}

// agedOf says what a job should mention of its device's calibration, "" for nothing.
func agedOf(room *config.Workroom, device string) string {
	c, err := LoadCalibrations(room, device)
	if err != nil {
		return fmt.Sprintf("drawn without calibration: %v", err)
	}
	text := ""
	age, fresh := c.age(room, time.Now())
	switch {
	case age == "":
		text = fmt.Sprintf("%s was never calibrated: tracewheel square plot %s", device, device)
	case !fresh:
		text = fmt.Sprintf("%s was calibrated %s, which is too long ago: tracewheel square plot %s", device, age, device)
	}
	if blade := c.bladeNote(room); blade != "" {
		if text != "" {
			text += "; "
		}
		text += blade
	}
	return text
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

// calibrationWords is what `devices` prints of a device's calibration, and whether it needs one.
func calibrationWords(room *config.Workroom, device string) (text string, needs bool) {
	c, err := LoadCalibrations(room, device)
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

// bladeNote tells where the workroom file has another blade offset than the last ladder found. The
// file alone counts: a blade is changed more often than a ladder is cut.
func (c *Calibrations) bladeNote(room *config.Workroom) string {
	for i := len(c.Entries) - 1; i >= 0; i-- {
		e := c.Entries[i]
		if e.Blade == nil || e.Withdrawn != nil {
			continue
		}
		if has := room.Devices[c.Device].Blade.Offset; math.Abs(has-*e.Blade) > 0.005 {
			return fmt.Sprintf("the blade test of %s found an offset of %.2f mm and the workroom file says %.2f: write devices.%s.blade.offset: %.2f",
				day(e.At), *e.Blade, has, c.Device, *e.Blade)
		}
		return ""
	}
	return ""
}
