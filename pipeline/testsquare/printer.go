package testsquare

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/paper"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// A sheet printer needs no order of a test square: the first sheet of every draft has two, and each sheet has a frame
// with its lengths. A calibration is valid for one paper, upright or across, because the feed depends on the paper.

// The sides of the first sheet's test squares, mm.
const (
	firstMM = 100.0
	firstIn = 4 * 25.4
)

// leastWanted is the least length worth measuring, mm: on it a ruler read to half a millimetre shows 0.5 %.
const leastWanted = 100

// largest is the greatest plausible error of a printer: a larger one is a scaling on the way, not the print engine
// (the postings of the American Mathematical Society's typesetting group on laser printers, 1988 to 1990, give 2 % as
// the makers' promise).
const largest = 0.015

// fits are the usual factors of a page that was fitted into the printable area, measured through CUPS.
var fits = []struct {
	ratio float64
	words string
}{{0.953, "an A4 page fitted onto A4"}, {0.891, "an A4 page fitted onto Letter"}}

// OnPaper says which sheet of a printer was measured.
type OnPaper struct {
	// Paper is the paper it was printed on, "" for the printer's usual one.
	Paper string
	// Wanted is the true width and height of what was measured, as "186.0x242.0"; "" is the first sheet's test square.
	Wanted string
	// Unit is the unit of numbers without one, "mm", "cm" or "in".
	Unit string
	// Calibration is the one that the sheet says it was printed with: 0 for none, -1 where nobody said it.
	Calibration int
}

// AboutSheets explains to a person where a printer's test squares are.
const AboutSheets = "A sheet-printer's test squares stand on the first sheet of every draft: 100 mm, and 4 in where readings are inches. The frame of any\n" +
	"sheet, whose lengths stand on it, tells more (--wanted 186.0x242.0). Bottom and top are widths as the sheet is read, left and right\n" +
	"heights; where the paper goes in by its short edge, widths lie across the feed and heights along it."

// Asked is the order whose square was measured: by number, the last that fits, or a printer's sheet.
func (c *Calibrations) Asked(room *config.Workroom, no int, fits func(Order) bool, sheet OnPaper) (Order, error) {
	switch prints := room.Devices[c.Device].Kind.Prints(); {
	case prints && no == 0:
		return c.OnSheet(room, sheet)
	case prints:
		return Order{}, fmt.Errorf("%s is a sheet-printer, and its test squares have no number (--plot)", c.Device)
	case sheet.Paper != "" || sheet.Wanted != "" || sheet.Calibration >= 0:
		return Order{}, fmt.Errorf("%s is no sheet-printer: --paper, --wanted and --calibration are for one", c.Device)
	}
	return c.Order(no, fits)
}

// OnSheet is the order for the squares on a printer's sheets, which nobody has to order.
func (c *Calibrations) OnSheet(room *config.Workroom, of OnPaper) (Order, error) {
	p, err := paperOf(room, c.Device, of.Paper)
	if err != nil {
		return Order{}, err
	}
	o := Order{Device: c.Device, Paper: p.Name}
	unit := pattern.UnitMM(of.Unit)
	o.Width = firstMM
	if of.Unit == "in" {
		o.Width = firstIn
	}
	o.Height = o.Width
	if of.Wanted != "" {
		w, h, _ := strings.Cut(of.Wanted, "x")
		var wrong [2]error
		o.Width, wrong[0] = pattern.ParseLengthIn(strings.TrimSpace(w), unit)
		o.Height, wrong[1] = pattern.ParseLengthIn(strings.TrimSpace(h), unit)
		if wrong[0] != nil || wrong[1] != nil || !(min(o.Width, o.Height) >= leastWanted) {
			return o, fmt.Errorf("--wanted takes a width and a height of %d mm or more, as 186.0x242.0, not %q", leastWanted, of.Wanted)
		}
	}
	if o.Width > p.Width || o.Height > p.Height {
		return o, fmt.Errorf("%.0f by %.0f mm does not fit on %s: say with --wanted how wide and high it should be on the sheet, the width first", o.Width, o.Height, p.Name)
	}
	o.Places = []orb.Point{{}}
	if of.Calibration < 0 {
		return o, c.unsaid(p)
	}
	for i := range c.Entries {
		if e := &c.Entries[i]; e.No == of.Calibration && e.Blade == nil {
			if !e.isOn(p) {
				return o, fmt.Errorf("%s corrects no sheet of %s: say --calibration and the number that stands on the sheet, or with --paper what it was printed on", c.Name(e), p.Name)
			}
			o.InForce, o.Calibration = e.on(p), e.No
			return o, nil
		}
	}
	if of.Calibration > 0 {
		return o, fmt.Errorf("there is no calibration %d of %s; `tracewheel square show %s` lists them", of.Calibration, c.Device, c.Device)
	}
	return o, nil
}

// paperOf is a printer's paper, "" for its usual one.
func paperOf(room *config.Workroom, device, name string) (paper.Paper, error) {
	s := room.Devices[device].Sheets
	if name == "" {
		return paper.Parse(s.Paper, s.Free())
	}
	return paper.Parse(name, -1)
}

// InForceOn is the last calibration on a paper that was not withdrawn, nil for none.
func (c *Calibrations) InForceOn(p paper.Paper) *Calibrated {
	return c.last(func(e *Calibrated) bool { return e.isOn(p) })
}

// isOn reports whether a calibration is valid for a paper.
func (e *Calibrated) isOn(p paper.Paper) bool {
	return e.Blade == nil && e.onPaper() == upright(p.Name)
}

// on is a calibration's correction for a page on its paper.
func (e *Calibrated) on(p paper.Paper) devices.Correction {
	_, was := paper.Paper{Name: e.Paper}.Upright()
	if _, is := p.Upright(); is != was {
		return calibration.Turned(e.Result.Correction)
	}
	return e.Result.Correction
}

// Prints maps a place in a file to the place where a printer corrected by c prints it, about the middle of the page.
func Prints(c devices.Correction) geom.Affine { return calibration.Drawn(c) }

// stated is what the first sheet says about a correction.
func (e *Calibrated) stated(device string, p paper.Paper) []string {
	d := calibration.Drawn(e.on(p))
	percent := func(k float64) string { return fmt.Sprintf("%+.2f %%", geom.Rounded(100*(k-1), 2)) }
	skew := geom.Rounded(calibration.Degrees(math.Atan2(d.C, d.D)), 2)
	return []string{
		fmt.Sprintf("Corrected by calibration %d of %s,", e.No, device),
		fmt.Sprintf("measured on %s on %s:", e.At.UTC().Format("2 January 2006"), e.Paper),
		fmt.Sprintf("widths %s, heights %s, askew %.2f degrees.", percent(d.A), percent(math.Hypot(d.C, d.D)), skew),
		"On this printer and this paper alone.",
	}
}

// Fitted is the error for readings of a page that was scaled on its way to the printer, which no further reading
// mends; nil for other devices.
func (f *Form) Fitted() error {
	if f.Order.Paper == "" {
		return nil
	}
	for _, axis := range []struct {
		name  string
		sides []calibration.Side
	}{{"widths", []calibration.Side{calibration.Bottom, calibration.Top}}, {"heights", []calibration.Side{calibration.Left, calibration.Right}}} {
		sum, n := 0.0, 0.0
		for _, s := range f.measured.Squares {
			for _, side := range axis.sides {
				for _, v := range s.Readings[side] {
					sum, n = sum+v/s.Nominal(side), n+1
				}
			}
		}
		ratio := sum / n
		if n == 0 || math.Abs(ratio-1) <= largest || math.Abs(ratio-1) > 0.5 { // a larger deviation is a mistaken reading
			continue
		}
		looks := ""
		for _, fit := range fits {
			if math.Abs(ratio-fit.ratio) < 0.006 {
				looks = ", as of " + fit.words
			}
		}
		return fmt.Errorf("the %s are printed at %.1f %% of their size%s, and more than %.1f %% off is a scaling and no error of the printer: print at 100 %% (\"actual size\", no \"fit to page\"), then measure again",
			axis.name, 100*ratio, looks, 100*largest)
	}
	return nil
}

// small refuses a correction that became too large in several steps.
func small(c devices.Correction) error {
	for _, k := range []float64{c.ScaleX, c.ScaleY} {
		if math.Abs(k-1) > largest {
			return fmt.Errorf("with what is in force already, sizes would be corrected by %.2f %%, and %.1f %% is all that is a printer's own error: print at 100 %%, or take the calibrations back (tracewheel square withdraw) and measure again", 100*(k-1), 100*largest)
		}
	}
	return nil
}

// printer replaces x and y in the words about a result: a person who holds a sheet does not know them.
var printer = strings.NewReplacer("x, along", "widths", "y, across", "heights", "correction factors: x ", "correction factors: widths ", ", y ", ", heights ", "x is ", "the width is ", "y is ", "the height is ")
