// Package calibration finds by how much a device draws too large, too small or out of square, from a test square that
// was measured with a ruler. It takes the readings and gives the correction with its uncertainty.
package calibration

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// A drawn square is modelled as a parallelogram with sides kx w and ky h whose corners are out of square by the shear
// g. A ruler reads the two lengths directly, and two diagonals whose squares are (kx w)^2 + (ky h)^2 +- 2 kx w ky h
// sin g. The three numbers are fitted to all readings by least squares.

// Side is a measure of a square. Bottom runs along x at the least y; Rising is the diagonal from the lower left corner
// to the upper right one, Falling the other.
type Side string

// The measures of a square, and of the long lines of a roll: the length of both lines, and their distance at both
// ends.
const (
	Bottom  Side = "bottom"
	Right   Side = "right"
	Top     Side = "top"
	Left    Side = "left"
	Rising  Side = "rising"
	Falling Side = "falling"

	LowLine    Side = "low-line"
	HighLine   Side = "high-line"
	StartApart Side = "start-apart"
	EndApart   Side = "end-apart"
)

// SquareSides are the six measures of a square and LongSides the four of the long lines, in the order in which a
// person goes round with a ruler.
var (
	SquareSides = []Side{Bottom, Right, Top, Left, Rising, Falling}
	LongSides   = []Side{LowLine, HighLine, StartApart, EndApart}
)

// Words say where a side is measured, "" where its name is enough.
func (s Side) Words() string {
	return map[Side]string{
		Rising: "lower left corner to upper right", Falling: "upper left corner to lower right",
		LowLine: "the long line on the side of the squares' bottoms", HighLine: "the long line on the side of their tops",
		StartApart: "from one long line to the other where they begin, near the squares", EndApart: "and where they end",
	}[s]
}

// Square is one test square, lengths in mm. Width is along the device's x, Height along its y.
type Square struct {
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
	// At is its lower left corner on the device.
	At orb.Point `json:"at"`
	// Readings of each side, several where it was measured several times.
	Readings map[Side][]float64 `json:"readings"`
}

// Nominal is the true length of a side of the square.
func (s Square) Nominal(side Side) float64 {
	switch side {
	case Bottom, Top:
		return s.Width
	case Left, Right:
		return s.Height
	}
	return math.Hypot(s.Width, s.Height)
}

// LongLine is a pair of lines of one length along a roll, one at each edge, mm.
type LongLine struct {
	Length float64 `json:"length"`
	Apart  float64 `json:"apart"`
	// Graduation is the distance between two marks of the tape.
	Graduation float64            `json:"graduation"`
	Readings   map[Side][]float64 `json:"readings"`
}

// Nominal is the true length of a measure of the long lines.
func (l LongLine) Nominal(side Side) float64 {
	if side == LowLine || side == HighLine {
		return l.Length
	}
	return l.Apart
}

// Measured is all readings of one plot.
type Measured struct {
	Squares []Square  `json:"squares"`
	Long    *LongLine `json:"long"`
	// Graduation is the distance between two marks of the ruler, mm; readings are to the nearest mark.
	Graduation float64 `json:"graduation"`
	// InForce is the correction with which the squares were drawn.
	InForce devices.Correction `json:"in_force"`
}

// Result is what follows from the readings. Scales are drawn to wanted, 1 for true.
type Result struct {
	ScaleX float64 `json:"scale_x"`
	ScaleY float64 `json:"scale_y"`
	// Shear is by how many radians the lower left corner is less than square.
	Shear float64 `json:"shear"`
	// SquareKnown is false where no diagonal was read, so that Shear is taken as 0.
	SquareKnown bool `json:"square_known"`
	// X, Y and Square are the uncertainties of the three (relative, relative, radians).
	X      Uncertainty `json:"x"`
	Y      Uncertainty `json:"y"`
	Square Uncertainty `json:"square"`
	// Scatter is the standard deviation of the readings about the fit, mm.
	Scatter   float64    `json:"scatter"`
	Residuals []Residual `json:"residuals"`
	// Correction is the new correction: that of this plot composed with the one in force.
	Correction devices.Correction `json:"correction"`
	// Doubts must be confirmed by the technician before the result is used; Hints are for information.
	Doubts []string `json:"doubts"`
	Hints  []string `json:"hints"`
	// Roll is the result of the long lines.
	Roll *Roll `json:"roll,omitempty"`
}

// Uncertainty is the uncertainty of a number.
type Uncertainty struct {
	// Standard is the standard uncertainty; Wide has 95 % coverage.
	Standard float64 `json:"standard"`
	Wide     float64 `json:"wide"`
}

// Residual is one reading and its fitted value, mm.
type Residual struct {
	// Square is the index of the square, -1 for the long lines; Reading the index among the readings of one side.
	Square  int     `json:"square"`
	Side    Side    `json:"side"`
	Reading int     `json:"reading"`
	Nominal float64 `json:"nominal"`
	Read    float64 `json:"read"`
	Fitted  float64 `json:"fitted"`
}

// Off is the reading minus its fitted value.
func (r Residual) Off() float64 { return r.Read - r.Fitted }

// Roll describes a roll's feed, from the long lines.
type Roll struct {
	// Creep is the relative error of the feed: 0.001 is 1 mm too long on a metre.
	Creep float64 `json:"creep"`
	// Turn is the angle in radians by which the two lines differ over their distance: the roll runs askew. A
	// correction cannot mend it.
	Turn float64 `json:"turn"`
	// CreepSure and TurnSure are uncertainties with 95 % coverage, from the tape's graduation.
	CreepSure float64 `json:"creep_sure"`
	TurnSure  float64 `json:"turn_sure"`
	// Spread is by how much the lines are farther apart at their end than at their start, mm.
	Spread float64 `json:"spread"`
}

// Solve checks the readings and fits them. The error names every impossible reading, and refuses a deviation that
// calibration must not correct.
func Solve(m Measured) (Result, error) {
	if err := m.sense(); err != nil {
		return Result{}, err
	}
	f := newFit(m)
	if err := f.run(); err != nil {
		return Result{}, err
	}
	r := f.result()
	r.Correction = Compose(m.InForce, Inverse(r.drawn()))
	r.Roll = m.Long.roll()
	r.judge(m)
	if err := r.refuse(m); err != nil {
		return r, err
	}
	return r, nil
}

// drawn is the map from the wanted to the drawn, up to a rotation of the whole.
func (r Result) drawn() devices.Correction {
	s, c := math.Sincos(r.Shear)
	return devices.Correction{ScaleX: r.ScaleX, Skew: r.ScaleY * s, ScaleY: r.ScaleY * c}
}

// unit replaces the zero correction by the identity.
func unit(c devices.Correction) devices.Correction {
	if c.IsZero() {
		return devices.Correction{ScaleX: 1, ScaleY: 1}
	}
	return c
}

// Compose is the correction that applies inner first and outer after it.
func Compose(outer, inner devices.Correction) devices.Correction {
	a, b := unit(outer), unit(inner)
	return devices.Correction{ScaleX: a.ScaleX * b.ScaleX, ScaleY: a.ScaleY * b.ScaleY,
		Skew: a.ScaleX*b.Skew + a.Skew*b.ScaleY}
}

// Inverse is the inverse of a correction.
func Inverse(c devices.Correction) devices.Correction {
	a := unit(c)
	return devices.Correction{ScaleX: 1 / a.ScaleX, ScaleY: 1 / a.ScaleY, Skew: -a.Skew / (a.ScaleX * a.ScaleY)}
}

// roll evaluates the long lines, nil where readings are missing.
func (l *LongLine) roll() *Roll {
	if l == nil {
		return nil
	}
	low, high := mean(l.Readings[LowLine]), mean(l.Readings[HighLine])
	if low == 0 || high == 0 {
		return nil
	}
	// Each reading is off by up to half a graduation, standard uncertainty graduation / sqrt 12. In the mean of the
	// lines the worst case is that both are rounded alike, in their difference that they are rounded apart.
	read := l.Graduation / math.Sqrt(12)
	r := &Roll{Creep: (low+high)/2/l.Length - 1, CreepSure: 2 * read / l.Length,
		Turn: math.Atan2(high-low, l.Apart), TurnSure: 2 * math.Sqrt2 * read / l.Apart}
	if s, e := mean(l.Readings[StartApart]), mean(l.Readings[EndApart]); s > 0 && e > 0 {
		r.Spread = e - s
	}
	return r
}

func mean(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// Degrees converts an angle to degrees.
func Degrees(rad float64) float64 { return rad * 180 / math.Pi }

// String is the result in one line.
func (r Result) String() string {
	percent := func(k float64) float64 { return geom.Rounded(100*(k-1), 2) }
	s := fmt.Sprintf("x %+.2f %% (sure to %.2f), y %+.2f %% (%.2f)", percent(r.ScaleX), 100*r.X.Wide, percent(r.ScaleY), 100*r.Y.Wide)
	if r.SquareKnown {
		s += fmt.Sprintf(", off square by %.2f degrees (%.2f)", geom.Rounded(Degrees(r.Shear), 2), Degrees(r.Square.Wide))
	}
	return s
}
