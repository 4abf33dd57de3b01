package testsquare

import (
	"fmt"
	"html"
	"math"
	"strings"
	"time"

	"tracewheel/devices/calibration"
)

// Size of the drift picture in its own units, and the margins for words.
const (
	driftWidth, driftHeight                    = 640, 240
	driftLeft, driftRight, driftTop, driftFoot = 64, 16, 12, 52
)

// driftLine is one axis: the error of length without a correction, in per cent, by calibration.
type driftLine struct {
	name, class, dash string
	of                func(e *Calibrated) (percent, sure float64)
}

func driftLines(prints bool) []driftLine {
	x, y := "x, along", "y, across"
	if prints {
		x, y = "widths", "heights"
	}
	return []driftLine{
		{x, "x", "", func(e *Calibrated) (float64, float64) {
			k, sure, _ := e.standing()
			return 100 * (calibration.Inverse(k).ScaleX - 1), 100 * sure
		}},
		{y, "y", "9 4", func(e *Calibrated) (float64, float64) {
			k, _, sure := e.standing()
			return 100 * (calibration.Inverse(k).ScaleY - 1), 100 * sure
		}},
	}
}

// driftPicture is an SVG of the device's error of length without a correction, in per cent, by the day of each
// calibration that was not withdrawn, with its uncertainty (95 % coverage). Lines differ by dash and mark, and take
// their colours from the page's classes x and y. last is the calibration in force; on a printer only those on its
// paper are shown. It is "" without any; a single one is shown against zero, the true size.
func (c *Calibrations) driftPicture(last *Calibrated) string {
	var all []*Calibrated
	for i := range c.Entries {
		if e := &c.Entries[i]; e.Blade == nil && e.Withdrawn == nil && e.onPaper() == last.onPaper() {
			all = append(all, e)
		}
	}
	if len(all) == 0 {
		return ""
	}
	lines := driftLines(last.Paper != "")
	first, span := all[0].At, max(all[len(all)-1].At.Sub(all[0].At), time.Minute)
	most := 0.05
	for _, l := range lines {
		for _, e := range all {
			v, sure := l.of(e)
			most = max(most, math.Abs(v)+sure)
		}
	}
	most *= 1.05
	left := func(e *Calibrated) float64 {
		return driftLeft + 12 + (driftWidth-driftLeft-driftRight-24)*float64(e.At.Sub(first))/float64(span)
	}
	down := func(v float64) float64 {
		return driftTop + (driftHeight-driftTop-driftFoot)*(1-v/most)/2
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="drift" viewBox="0 0 %d %d" role="img" aria-label="How long the device draws%s without any correction, per cent, from %s to %s"><g font-size="14" fill="currentColor">`,
		driftWidth, driftHeight, html.EscapeString(on(last.onPaper())), day(first), day(last.At))
	for _, v := range []float64{most / 1.05, 0, -most / 1.05} {
		fmt.Fprintf(&b, `<path class="rule" d="M%d %.1fH%d" stroke-width="1"/><text x="%d" y="%.1f" text-anchor="end">%s</text>`,
			driftLeft, down(v), driftWidth-driftRight, driftLeft-6, down(v)+5, signedPercent(v))
	}
	fmt.Fprintf(&b, `<text x="%d" y="%d">%s</text><text x="%d" y="%d" text-anchor="end">%s</text></g>`,
		driftLeft, driftHeight-driftFoot+20, day(first), driftWidth-driftRight, driftHeight-driftFoot+20, day(last.At))
	for i, l := range lines {
		shift := float64(6*i - 3) // so that two marks of one day are both visible
		fmt.Fprintf(&b, `<g class="%s" stroke-width="2" fill="none"><polyline stroke-dasharray="%s" points="`, l.class, l.dash)
		for _, e := range all {
			v, _ := l.of(e)
			fmt.Fprintf(&b, "%.1f,%.1f ", left(e)+shift, down(v))
		}
		b.WriteString(`"/>`)
		for _, e := range all {
			v, sure := l.of(e)
			x := left(e) + shift
			fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1f" stroke-width="1"/>%s`, x, down(v+sure), down(v-sure), driftMark(i, x, down(v)))
		}
		x, y := float64(driftLeft+12+200*i), float64(driftHeight-10)
		fmt.Fprintf(&b, `<path stroke-dasharray="%s" d="M%.1f %.1fh36"/>%s</g><text x="%.1f" y="%.1f" font-size="14" fill="currentColor">%s</text>`,
			l.dash, x, y-5, driftMark(i, x+18, y-5), x+44, y, l.name)
	}
	b.WriteString("</svg>")
	return b.String()
}

// driftMark is a ring for the first line, a square for the second.
func driftMark(i int, x, y float64) string {
	if i == 0 {
		return fmt.Sprintf(`<circle class="ground" cx="%.1f" cy="%.1f" r="4"/>`, x, y)
	}
	return fmt.Sprintf(`<rect class="ground" x="%.1f" y="%.1f" width="8" height="8"/>`, x-4, y-4)
}

func signedPercent(v float64) string {
	if v == 0 {
		return "0 %"
	}
	return fmt.Sprintf("%+.2f %%", v)
}
