package pipeline

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

// enlarged is by how much the error of a square is enlarged in its picture, so that the largest corner
// is off by a tenth of the square.
func enlarged(r calibration.Result) float64 {
	worst := max(math.Abs(r.ScaleX-1), math.Abs(r.ScaleY-1), math.Abs(r.Shear), 1e-5)
	return math.Max(1, math.Pow(10, math.Floor(math.Log10(0.1/worst))))
}

// SquarePicture shows the wanted square pale and the drawn one over it, its error enlarged; ext is
// ".svg" or ".png".
func SquarePicture(room *config.Workroom, device string, e Calibrated, ext string) ([]byte, error) {
	if len(e.Measured.Squares) == 0 {
		return nil, errors.New("there is no square to show: nothing but long lines or a blade was measured")
	}
	s, k := e.Measured.Squares[0], enlarged(e.Result)
	r := e.Result
	box := geom.Path{Closed: true, Corners: make([]bool, 4), Points: []orb.Point{{0, 0}, {s.Width, 0}, {s.Width, s.Height}, {0, s.Height}}}
	m := geom.Affine{A: 1 + k*(r.ScaleX-1), C: k * r.Shear, D: 1 + k*(r.ScaleY-1), E: 0.2 * s.Width, F: 0.2 * s.Height}
	v := picture.View{Title: fmt.Sprintf("%s, calibration %d: wanted pale, drawn dark, its error enlarged %.0f times", device, e.No, k),
		Width: 1.4 * s.Height, Length: 1.4 * s.Width,
		Layers: []picture.Layer{
			{Role: pattern.RoleQuality, Paths: []geom.Path{box.Apply(geom.Translate(0.2*s.Width, 0.2*s.Height))}},
			{Role: pattern.RoleCheck, Paths: []geom.Path{box.Apply(m)}},
		}}
	c := picture.Device(v, picture.Options{Inches: room.Units == "in"})
	switch strings.ToLower(ext) {
	case ".svg":
		return c.SVG(), nil
	case ".png":
		return c.PNG(1400)
	}
	return nil, fmt.Errorf("a picture's name ends in .svg or .png, not %q", ext)
}

// SquareToReach says which square and which ruler reach an accuracy in per cent on a device.
func SquareToReach(room *config.Workroom, device string, percent float64) string {
	p, m := room.On(device, "")
	lies := material("", p, m)
	greatest := lies.Width - 2*lies.Margin
	if lies.Length > 0 {
		greatest = math.Min(greatest, lies.Length-2*lies.Margin)
	}
	best, ok := calibration.Wish(calibration.Ways(greatest), percent/100)
	if !ok {
		return fmt.Sprintf("no square that %s has room for reaches %g %% with a ruler down to 0.1 mm", device, percent)
	}
	return fmt.Sprintf("%g %%: a square of %.0f mm read to %g mm is sure to %.3f %% and %.3f degrees (95 of 100)", percent,
		best.Size, best.Graduation, 100*best.Scale, calibration.Degrees(best.Square))
}

// SquareText tells a result for people: what the device does, the readings with their residuals, then
// hints and doubts.
func SquareText(r calibration.Result, inches bool) string {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\tdrawn\ton a metre\tsure to (95 of 100)")
	scale := func(name string, drawn float64, u calibration.Uncertainty) {
		word := "too long"
		if drawn < 1 {
			word = "too short"
		}
		fmt.Fprintf(t, "%s\t%.2f %% %s\t%+.1f mm\t%.2f %%, %.1f mm on a metre\n", name, 100*math.Abs(drawn-1), word, 1000*(drawn-1), 100*u.Wide, 1000*u.Wide)
	}
	scale("x, along", r.ScaleX, r.X)
	scale("y, across", r.ScaleY, r.Y)
	if r.SquareKnown {
		word := "sharp"
		if r.Shear < 0 {
			word = "wide"
		}
		fmt.Fprintf(t, "corners\t%.2f degrees off square, the lower left too %s\t%.1f mm\t%.2f degrees, %.1f mm on a metre\n", calibration.Degrees(math.Abs(r.Shear)), word,
			1000*math.Abs(math.Sin(r.Shear)), calibration.Degrees(r.Square.Wide), 1000*r.Square.Wide)
	}
	_ = t.Flush() // into memory
	residuals(&b, r, inches)
	if r.Roll != nil {
		fmt.Fprintf(&b, "roll: the feed is off by %+.3f %% (sure to %.3f), the lines differ as if askew by %.3f degrees (sure to %.3f), and lie %+.1f mm further apart at their end\n",
			100*r.Roll.Creep, 100*r.Roll.CreepSure, calibration.Degrees(r.Roll.Turn), calibration.Degrees(r.Roll.TurnSure), r.Roll.Spread)
	}
	for _, h := range r.Hints {
		fmt.Fprintf(&b, "hint: %s\n", h)
	}
	for _, d := range r.Doubts {
		fmt.Fprintf(&b, "doubt: %s\n", d)
	}
	fmt.Fprintf(&b, "correction: x %.6f, y %.6f, skew %+.6f (what is sent for 1 of each)\n", r.Correction.ScaleX, r.Correction.ScaleY, r.Correction.Skew)
	return b.String()
}

// residuals is the table of all readings.
func residuals(b *strings.Builder, r calibration.Result, inches bool) {
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
	unit, format := 1.0, "%s\t%s\t%.1f\t%.2f\t%+.2f\t\n"
	name := "mm"
	if inches {
		unit, format, name = 25.4, "%s\t%s\t%.3f\t%.3f\t%+.3f\t\n", "in"
	}
	fmt.Fprintf(t, "square\tside\twanted %s\tread\tbeside the fit\t\n", name)
	for _, f := range r.Residuals {
		square := fmt.Sprint(f.Square + 1)
		if f.Square < 0 {
			square = "-"
		}
		fmt.Fprintf(t, format, square, f.Side, f.Nominal/unit, f.Read/unit, f.Off()/unit)
	}
	_ = t.Flush() // into memory
}
