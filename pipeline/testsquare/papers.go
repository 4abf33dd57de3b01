package testsquare

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/paper"
)

// A printer is calibrated for each paper separately: each paper has one calibration in force, and calibrations of
// different papers are not compared.

// onPaper is a calibration's paper, upright, "" for other devices.
func (e *Calibrated) onPaper() string { return upright(e.Paper) }

func upright(name string) string {
	name, _ = paper.Paper{Name: strings.ToLower(strings.Join(strings.Fields(name), " "))}.Upright()
	return name
}

// on is " on " and a paper, "" for none.
func on(paper string) string {
	if paper == "" {
		return ""
	}
	return " on " + paper
}

// AllInForce are the calibrations in force, by number: at most one of a device, of a printer one for each paper.
func (c *Calibrations) AllInForce() []*Calibrated {
	var out []*Calibrated
	for i := range slices.Backward(c.Entries) {
		e := &c.Entries[i]
		if e.Blade != nil || e.Withdrawn != nil || slices.ContainsFunc(out, func(o *Calibrated) bool { return o.onPaper() == e.onPaper() }) {
			continue
		}
		out = append(out, e)
	}
	slices.Reverse(out)
	return out
}

// papers lists the papers on which calibrations are in force, "" for none.
func (c *Calibrations) papers() string {
	var out []string
	for _, e := range c.AllInForce() {
		if p := e.onPaper(); p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, ", ")
}

// OnlyOn are the calibrations of a printer on one paper, all of them for "".
func (c *Calibrations) OnlyOn(name string) (*Calibrations, error) {
	if name == "" {
		return c, nil
	}
	only := *c
	only.Entries = slices.DeleteFunc(slices.Clone(c.Entries), func(e Calibrated) bool { return e.onPaper() != upright(name) })
	if len(only.Entries) == 0 {
		return nil, c.noneOn(name)
	}
	return &only, nil
}

// noneOn is the error where no calibration of a printer on a paper is in force.
func (c *Calibrations) noneOn(name string) error {
	text := fmt.Sprintf("no calibration of %s%s is in force", c.Device, on(upright(name)))
	if p := c.papers(); p != "" && name != "" {
		text += "; it is calibrated on " + p
	}
	return fmt.Errorf("%s", text)
}

// which refuses a command about the calibration in force where several papers have one.
func (c *Calibrations) which(name string) error {
	if all := c.AllInForce(); name == "" && len(all) > 1 {
		return fmt.Errorf("%s is calibrated on several papers: say which one, with --paper (%s)", c.Device, c.papers())
	}
	return nil
}

// OneInForce is the calibration in force, of a printer with several the one on a paper.
func (c *Calibrations) OneInForce(name string) (*Calibrated, error) {
	if err := c.which(name); err != nil {
		return nil, err
	}
	for _, e := range c.AllInForce() {
		if name == "" || e.onPaper() == upright(name) {
			return e, nil
		}
	}
	return nil, c.noneOn(name)
}

// CountNow says what is in force after calibrations were withdrawn, a line for each paper.
func (c *Calibrations) CountNow(gone []Calibrated) []string {
	var out []string
	for i, e := range gone {
		if e.Blade != nil || slices.ContainsFunc(gone[:i], func(o Calibrated) bool { return o.onPaper() == e.onPaper() }) {
			continue
		}
		now := c.last(func(o *Calibrated) bool { return o.Blade == nil && o.onPaper() == e.onPaper() })
		if now == nil {
			out = append(out, fmt.Sprintf("nothing is corrected%s any more", on(e.onPaper())))
			continue
		}
		out = append(out, fmt.Sprintf("calibration %d is in force again%s", now.No, on(e.onPaper())))
	}
	return out
}

// Name is a calibration with its device and paper.
func (c *Calibrations) Name(e *Calibrated) string {
	return fmt.Sprintf("calibration %d of %s%s", e.No, c.Device, on(e.onPaper()))
}

// standing is a calibration's correction for an upright page, and the uncertainties of its two scales.
func (e *Calibrated) standing() (k devices.Correction, x, y float64) {
	k, x, y = e.Result.Correction, e.Result.X.Wide, e.Result.Y.Wide
	if _, turned := (paper.Paper{Name: e.Paper}).Upright(); turned {
		return calibration.Turned(k), y, x
	}
	return k, x, y
}
