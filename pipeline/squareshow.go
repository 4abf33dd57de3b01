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

// SquareText tells a result for people: the table with its residuals, then hints and doubts.
func SquareText(r calibration.Result) string {
	var b strings.Builder
	fmt.Fprintf(&b, "drawn to wanted: %s\n", r)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "square\tside\twanted\tread\tbeside the fit\t")
	for _, f := range r.Residuals {
		fmt.Fprintf(t, "%d\t%s\t%.1f\t%.2f\t%+.2f\t\n", f.Square+1, f.Side, f.Nominal, f.Read, f.Off())
	}
	_ = t.Flush() // into memory
	if r.Roll != nil {
		fmt.Fprintf(&b, "roll: creep %+.3f %%, askew by %.3f degrees, lines %.1f mm further apart at their end\n",
			100*r.Roll.Creep, calibration.Degrees(r.Roll.Turn), r.Roll.Spread)
	}
	for _, h := range r.Hints {
		fmt.Fprintf(&b, "hint: %s\n", h)
	}
	for _, d := range r.Doubts {
		fmt.Fprintf(&b, "doubt: %s\n", d)
	}
	fmt.Fprintf(&b, "correction: x %.6f, y %.6f, skew %+.6f\n", r.Correction.ScaleX, r.Correction.ScaleY, r.Correction.Skew)
	return b.String()
}
