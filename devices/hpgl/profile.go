// Package hpgl writes and reads HP-GL and HP-GL/2, the languages of pen plotters. It takes strokes or bytes; the
// encoder and the reader share no code, so that each can be checked against the other. Facts come from the HP 7470A
// Interfacing and Programming Manual (07470-90001, 1984) and the HP PCL 5 Printer Language Technical Reference, part
// II (HP-GL/2, chapters 17 to 23).
package hpgl

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"tracewheel/devices"
	"tracewheel/geom"
)

// What is done with a plot that is longer than one page.
const (
	LongPageSize = "page-size" // the device is told the length
	LongFrames   = "frames"    // frame after frame on the same roll
	LongSheets   = "sheets"    // sheet after sheet, changed by a person
	LongRefuse   = "refuse"    // an error that names the greatest length
)

// The limits of the languages, in plotter units: 16 bits in HP-GL (7470A manual, 2-3 and 3-6), 2 to
// the power of 30 in HP-GL/2 (PCL 5 reference, 17-10).
const (
	minHPGL, maxHPGL   = -32768, 32767
	minHPGL2, maxHPGL2 = -(1 << 30), 1<<30 - 1
)

// unitMM is one plotter unit: 0.025 mm in both manuals.
const unitMM = 0.025

// defaultInstruction is the longest instruction in bytes: common practice, because small plotters
// with a buffer of 255 bytes misread longer ones.
const defaultInstruction = 240

// settle fills in the defaults of a profile and reports everything that cannot work. Encode and the checks of a
// profile use it.
func settle(p devices.Profile) (devices.Profile, error) {
	q := &p.Plot
	q.Unit = cmp.Or(q.Unit, unitMM)
	if q.MinCoord == 0 && q.MaxCoord == 0 {
		q.MinCoord, q.MaxCoord = minHPGL, maxHPGL
		if p.Language == devices.HPGL2 {
			q.MinCoord, q.MaxCoord = minHPGL2, maxHPGL2
		}
	}
	q.InstructionBytes = cmp.Or(q.InstructionBytes, defaultInstruction)
	if q.Long == "" {
		q.Long = LongRefuse
		if p.Language == devices.HPGL2 {
			q.Long = LongPageSize
		}
	}
	q.Labels = cmp.Or(q.Labels, "strokes")
	q.FrameLength = cmp.Or(q.FrameLength, p.Length)
	if p.Correction.IsZero() {
		p.Correction = devices.Correction{ScaleX: 1, ScaleY: 1}
	}
	return p, faults(p)
}

func faults(p devices.Profile) error {
	q := p.Plot
	var errs []error
	add := func(bad bool, format string, args ...any) {
		if bad {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	plain := p.Language == devices.HPGL
	add(!plain && p.Language != devices.HPGL2, "language is %q: a plotter takes %q or %q", p.Language, devices.HPGL, devices.HPGL2)
	add(!(q.Unit > 0) || math.IsInf(q.Unit, 0), "plot.unit is %v mm: one plotter unit is longer than nothing, 0.025 mm by the manuals", q.Unit)
	add(q.MinCoord > 0 || q.MaxCoord <= 0, "plot.min_coord %d and plot.max_coord %d must have 0 between them", q.MinCoord, q.MaxCoord)
	add(q.MinCoord < minHPGL2 || q.MaxCoord > maxHPGL2, "plot.min_coord %d and plot.max_coord %d: HP-GL/2 ends at %d and %d", q.MinCoord, q.MaxCoord, minHPGL2, maxHPGL2)
	add(plain && q.Encoded, "plot.encoded: plain HP-GL has no encoded polylines; set language to %q or encoded to false", devices.HPGL2)
	add(q.SevenBit && !q.Encoded, "plot.seven_bit is about encoded polylines only: set plot.encoded as well")
	add(q.InstructionBytes < 48, "plot.instruction_bytes is %d: the shortest useful instruction has 48", q.InstructionBytes)
	add(q.Labels != "strokes" && q.Labels != "text", "plot.labels is %q: it may be %q or %q", q.Labels, "strokes", "text")
	add(q.PageEnd != "" && q.PageEnd != "PG" && q.PageEnd != "AF", "plot.page_end is %q: it may be %q, %q or left out", q.PageEnd, "PG", "AF")
	switch q.Long {
	case LongPageSize, LongRefuse:
	case LongFrames, LongSheets:
		add(q.FrameLength <= 0, "plot.long is %q: plot.frame_length must say how long one is", q.Long)
		add(q.FrameOverlap < 0 || q.FrameOverlap*2 > q.FrameLength, "plot.frame_overlap is %v mm: it must lie between 0 and half of plot.frame_length", q.FrameOverlap)
	default:
		add(true, "plot.long is %q: it may be %q, %q, %q or %q", q.Long, LongPageSize, LongFrames, LongSheets, LongRefuse)
	}
	if q.CentreOrigin && q.Long != LongPageSize {
		length := p.Length
		if q.Long != LongRefuse {
			length = q.FrameLength
		}
		add(length <= 0, "plot.centre_origin: the length of the page must be known, or its centre is unknown")
		half := length / 2 / q.Unit
		add(half > float64(q.MaxCoord) || half > -float64(q.MinCoord), "plot.centre_origin: half of a page of %v mm is %.0f units, more than plot.min_coord and plot.max_coord allow", geom.Rounded(length, 1), half)
	}
	for _, v := range []float64{p.Correction.ScaleX, p.Correction.ScaleY} {
		add(!(v > 0.5 && v < 2), "calibration has a scale of %v: measure the test square again", v)
	}
	return errors.Join(errs...)
}
