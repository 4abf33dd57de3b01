package calibration

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tracewheel/devices"
	"tracewheel/geom"
)

// The bounds of what calibration may correct (common practice): above doubtful a person is asked, above hopeless there is
// another fault.
const (
	doubtful = 0.005
	hopeless = 0.02
	// little is a relative error that a ruler read to half a millimetre does not show on a square of 500 mm.
	little = 0.001
	// fine is the uncertainty below which readings alone show a device to be true: 1 mm on 500 mm.
	fine = 0.002
	// evenly is the ratio of the residuals of two opposite sides below which neither is more likely the misread one.
	evenly = 1.25
	// badReader is the residual, in graduations, above which a reading is bad.
	badReader = 3
)

// judge fills in doubts and hints.
func (r *Result) judge(m Measured) {
	for _, a := range r.axes() {
		if h := usualCause(a.scale); h != "" {
			r.Hints = append(r.Hints, fmt.Sprintf("%s is drawn at %.4f of its size: %s", a.name, a.scale, h))
		}
		if e := math.Abs(a.scale - 1); e > doubtful && e <= hopeless {
			r.Doubts = append(r.Doubts, fmt.Sprintf("%s is off by %.2f %%, and more than 0.5 %% is seldom the machine alone: look at the ruler, the paper and the device's unit first", a.name, 100*(a.scale-1)))
		}
	}
	if s := math.Abs(r.Shear); s > doubtful && s <= hopeless {
		r.Doubts = append(r.Doubts, fmt.Sprintf("the corners are off square by %.2f degrees", Degrees(r.Shear)))
	}
	_, open := r.unsure()
	if bent := m.bent(); len(open) > 0 && len(bent) > 0 {
		open = nil
		for _, err := range bent {
			open = append(open, err.Error())
		}
	}
	r.Doubts = append(r.Doubts, open...)
	r.corners()
	r.readTo(m)
	r.places(m)
	if r.Roll != nil && math.Abs(r.Roll.Turn) > max(0.001, r.Roll.TurnSure) {
		r.Hints = append(r.Hints, fmt.Sprintf("the roll runs askew by %.3f degrees: load it straight, no correction mends that", Degrees(r.Roll.Turn)))
	}
	if len(r.Doubts) == 0 && math.Abs(r.ScaleX-1) <= r.X.Wide && math.Abs(r.ScaleY-1) <= r.Y.Wide && r.SquareKnown && math.Abs(r.Shear) <= r.Square.Wide {
		r.Hints = append(r.Hints, fmt.Sprintf("these readings cannot tell the square from a true one: they are sure to %.2f %% only, and a larger square or a finer ruler would tell more", 100*max(r.X.Wide, r.Y.Wide)))
	}
}

// unequal is the shear at which the diagonals of a square of 500 mm differ by 1 mm, the usual limit (common practice).
const unequal = 1 / (500 * math.Sqrt2)

// corners adds the doubts and hints about squareness.
func (r *Result) corners() {
	switch {
	case !r.SquareKnown:
		r.Hints = append(r.Hints, "no diagonal was read, so nothing is known of the squareness")
	case math.Abs(r.Shear) > max(unequal, r.Square.Wide):
		r.Hints = append(r.Hints, fmt.Sprintf("the diagonals differ by more than 2 thousandths of the square's side (by %.1f): see that it lay flat and unstretched and that gantry, belts or rollers run square; the correction makes up for the rest",
			1000*math.Sqrt2*math.Abs(math.Sin(r.Shear))))
	}
}

// readTo warns where the readings look coarser than the stated graduation, since the uncertainty is then larger than
// computed. By chance six readings to the half mark are all whole once in 64 times.
func (r *Result) readTo(m Measured) {
	const enough = 6
	n := 0
	for _, f := range r.Residuals {
		if f.Square < 0 {
			continue
		}
		if twice := f.Read / (2 * m.Graduation); math.Abs(twice-math.Round(twice)) > 1e-6 {
			return
		}
		n++
	}
	if n >= enough {
		r.Hints = append(r.Hints, fmt.Sprintf("every reading is a multiple of %g mm: if that is all that the ruler was read to, say so (--ruler %gmm), for nothing is as sure then", 2*m.Graduation, 2*m.Graduation))
	}
}

// places warns where squares at several places differ by more than the uncertainty: one correction mends only their
// common error.
func (r *Result) places(m Measured) {
	if len(m.Squares) < 2 {
		return
	}
	for i, s := range m.Squares {
		f := newFit(Measured{Squares: []Square{s}, Graduation: m.Graduation})
		if f.run() != nil {
			continue
		}
		one := f.result()
		tell := func(axis string, off, sure float64) {
			if math.Abs(off) > sure {
				r.Hints = append(r.Hints, fmt.Sprintf("square %d is drawn %+.2f %% in %s beside all of them together: the device is not the same everywhere, and one correction mends only the mean", i+1, 100*off, axis))
			}
		}
		tell("x", one.ScaleX-r.ScaleX, one.X.Wide+r.X.Wide)
		tell("y", one.ScaleY-r.ScaleY, one.Y.Wide+r.Y.Wide)
	}
}

type axis struct {
	name  string
	scale float64
}

func (r Result) axes() []axis { return []axis{{"x", r.ScaleX}, {"y", r.ScaleY}} }

// refuse is the error for what calibration must not correct, and for readings from which no correction follows.
func (r Result) refuse(m Measured) error {
	errs := r.contradictions(m)
	for _, a := range r.axes() {
		if e := a.scale - 1; math.Abs(e) > hopeless {
			text := fmt.Sprintf("%s is off by %.1f %%, and more than 2 %% is too much to correct by calibration: look for wrong units, a page-fit setting or a slipped belt", a.name, 100*e)
			if h := usualCause(a.scale); h != "" {
				text += "; " + h
			}
			errs = append(errs, errors.New(text))
		}
	}
	if math.Abs(r.Shear) > hopeless {
		errs = append(errs, fmt.Errorf("the corners are off square by %.2f degrees, and that is too much to correct by calibration: look at belts and gantry", Degrees(r.Shear)))
	}
	if len(errs) == 0 {
		if errs, _ = r.unsure(); len(errs) > 0 {
			if bent := m.bent(); len(bent) > 0 { // their uncertainty comes from that
				errs = bent
			}
		}
	}
	if len(errs) == 0 {
		errs = append(errs, whole(r.Correction)...)
	}
	return errors.Join(errs...)
}

// whole refuses a correction that became too large in several small steps.
func whole(c devices.Correction) []error {
	var errs []error
	for _, a := range []axis{{"x", c.ScaleX}, {"y", c.ScaleY}} {
		if math.Abs(a.scale-1) > hopeless {
			errs = append(errs, fmt.Errorf("with what is in force already, %s would be corrected by %.4f, and 0.98 to 1.02 is all that calibration should do: see to the machine", a.name, a.scale))
		}
	}
	return errs
}

// usualCause names the usual cause of a ratio of drawn to wanted, "" where it is near none (common practice).
func usualCause(ratio float64) string {
	is := func(of, share float64) bool {
		return math.Abs(ratio/of-1) < share || math.Abs(ratio*of-1) < share
	}
	switch {
	case is(25.4, 0.02):
		return "about 25.4, so somewhere inches and millimetres are mixed up"
	case is(1.016, 0.0016):
		return "about 1.016, the ratio of plotter units of 0.025 mm and of a thousandth of an inch; look at the device's unit"
	case ratio >= 0.94 && ratio <= 0.97, 1/ratio >= 0.94 && 1/ratio <= 0.97:
		return "within 0.94 to 0.97 or its inverse, as a setting that fits a plot to the page makes it"
	}
	return ""
}

// contradictions names the readings with too large residuals, or reports that the readings of a whole square
// contradict each other. Only the diagonals tell which of two opposite sides is misread; without them both are named.
func (r Result) contradictions(m Measured) []error {
	var errs []error
	for i, s := range m.Squares {
		read, bad := 0, []Residual(nil)
		for _, f := range r.Residuals {
			if f.Square != i {
				continue
			}
			read++
			if math.Abs(f.Off()) > math.Max(badReader*m.Graduation, little*f.Nominal) {
				bad = append(bad, f)
			}
		}
		if 2*len(bad) > read {
			errs = append(errs, s.contradiction(i))
			continue
		}
		off := func(side Side) (most float64) { // the largest residual of a bad side
			for _, f := range bad {
				if f.Side == side {
					most = max(most, math.Abs(f.Off()))
				}
			}
			return most
		}
		told := map[Side]bool{}
		for _, p := range opposites {
			a, b := off(p[0]), off(p[1])
			if s.unlike(p, m.Graduation) && max(a, b) > 0 && (!r.SquareKnown || max(a, b) < evenly*min(a, b)) {
				errs = append(errs, s.bent(m.which(i), p))
				told[p[0]], told[p[1]] = true, true
			}
		}
		for _, f := range bad {
			if !told[f.Side] {
				errs = append(errs, fmt.Errorf("square %d, %s: %v mm lies %v mm beside what the other readings say; read it again", i+1, f.Side, geom.Rounded(f.Read, 2), geom.Rounded(f.Off(), 2)))
			}
		}
	}
	return errs
}

// contradiction describes how the readings of a square contradict each other: the squares of a parallelogram's two
// diagonals add up to those of its four sides.
func (s Square) contradiction(i int) error {
	across := func(a, b Side) float64 { return mean(slices.Concat(s.Readings[a], s.Readings[b])) }
	w, h, d := across(Bottom, Top), across(Left, Right), across(Rising, Falling)
	if w == 0 || h == 0 || d == 0 {
		return fmt.Errorf("square %d: its readings contradict each other; read all of them again", i+1)
	}
	return fmt.Errorf("square %d: its readings contradict each other: sides of %v and %v mm have diagonals of about %v mm, and %v mm was read; read sides and diagonals again, all with one ruler",
		i+1, geom.Rounded(w, 1), geom.Rounded(h, 1), geom.Rounded(math.Hypot(w, h), 1), geom.Rounded(d, 1))
}

// unsure finds results whose uncertainty is larger than their value. They are refused where the correction would be
// more than a little, else they are a doubt, unless the readings are fine enough to show a true device.
func (r Result) unsure() (refused []error, doubts []string) {
	const mend = "a larger square, a finer ruler or each side read several times tells more"
	tell := func(off, sure float64, words string) {
		switch {
		case sure < off:
		case off > little:
			refused = append(refused, fmt.Errorf("%s, so that a correction may do harm: %s", words, mend))
		case sure > fine:
			doubts = append(doubts, fmt.Sprintf("%s, so that they cannot tell whether it is true, and the calibration before may be the better one: %s", words, mend))
		}
	}
	for i, a := range r.axes() {
		sure := []Uncertainty{r.X, r.Y}[i].Wide
		tell(math.Abs(a.scale-1), sure, fmt.Sprintf("%s is off by %.2f %% and these readings are sure to %.2f %% only", a.name, 100*(a.scale-1), 100*sure))
	}
	if sure := r.Square.Wide; r.SquareKnown {
		tell(math.Abs(r.Shear), sure, fmt.Sprintf("the corners are off square by %.2f degrees and these readings are sure to %.2f only", Degrees(r.Shear), Degrees(sure)))
	}
	return refused, doubts
}
