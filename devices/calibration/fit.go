package calibration

import (
	"errors"
	"math"
)

// fit is the least-squares fit of one plot: unknowns kx, ky and the shear, one row for each reading.
type fit struct {
	rows  []row
	p     [3]float64
	n     int // unknowns in use: 2 where no diagonal was read
	inv   [3][3]float64
	used  Measured
	scale float64 // standard deviation of a reading about the fit, in graduations
}

// row is a reading. Its weight is 1 / graduation; rounds numbers the readings that a ruler rounds alike, because they
// are of one length.
type row struct {
	square, reading int
	side            Side
	w, h            float64 // nominal, of what it belongs to
	read, weight    float64
	rounds          int
	grad            [3]float64
	fitted          float64
}

func newFit(m Measured) *fit {
	f := &fit{p: [3]float64{1, 1, 0}, n: 2, used: m}
	groups := map[[3]float64]int{}
	add := func(square int, side Side, w, h, graduation float64, readings []float64) {
		key := [3]float64{float64(kindOf(side)), w, h}
		if _, ok := groups[key]; !ok {
			groups[key] = len(groups)
		}
		if kindOf(side) >= rising && len(readings) > 0 {
			f.n = 3
		}
		for i, v := range readings {
			f.rows = append(f.rows, row{square: square, reading: i, side: side, w: w, h: h, read: v,
				weight: 1 / graduation, rounds: groups[key]})
		}
	}
	for i, s := range m.Squares {
		for _, side := range SquareSides {
			add(i, side, s.Width, s.Height, m.Graduation, s.Readings[side])
		}
	}
	if l := m.Long; l != nil {
		for _, side := range LongSides {
			add(-1, side, l.Length, l.Apart, l.Graduation, l.Readings[side])
		}
	}
	return f
}

type kind int

const (
	alongX kind = iota
	alongY
	rising
	falling
)

func kindOf(s Side) kind {
	switch s {
	case Bottom, Top, LowLine, HighLine:
		return alongX
	case Left, Right, StartApart, EndApart:
		return alongY
	case Rising:
		return rising
	}
	return falling
}

// predict computes a reading and its gradient from the present unknowns.
func (r *row) predict(p [3]float64) {
	a, b := p[0]*r.w, p[1]*r.h
	switch kindOf(r.side) {
	case alongX:
		r.fitted, r.grad = a, [3]float64{r.w, 0, 0}
		return
	case alongY:
		r.fitted, r.grad = b, [3]float64{0, r.h, 0}
		return
	}
	sign := 1.0
	if r.side == Falling {
		sign = -1
	}
	sin, cos := math.Sincos(p[2])
	d := math.Sqrt(a*a + b*b + 2*sign*a*b*sin)
	r.fitted = d
	r.grad = [3]float64{(a + sign*b*sin) * r.w / d, (b + sign*a*sin) * r.h / d, sign * a * b * cos / d}
}

var errTooFew = errors.New("these readings do not fix both scales: measure at least one side along each axis, and both diagonals for the squareness")

// run iterates the linearised fit; three unknowns so near to 1, 1 and 0 converge in a few rounds.
func (f *fit) run() error {
	for range 20 {
		var a [3][3]float64
		var b [3]float64
		for i := range f.rows {
			r := &f.rows[i]
			r.predict(f.p)
			w2 := r.weight * r.weight
			for j := range f.n {
				b[j] += w2 * r.grad[j] * (r.read - r.fitted)
				for k := range f.n {
					a[j][k] += w2 * r.grad[j] * r.grad[k]
				}
			}
		}
		for j := f.n; j < 3; j++ {
			a[j][j] = 1
		}
		var ok bool
		if f.inv, ok = invert(a); !ok {
			return errTooFew
		}
		moved := 0.0
		for j := range f.n {
			d := 0.0
			for k := range f.n {
				d += f.inv[j][k] * b[k]
			}
			f.p[j] += d
			moved = math.Max(moved, math.Abs(d))
		}
		if moved < 1e-12 {
			break
		}
	}
	for i := range f.rows {
		f.rows[i].predict(f.p)
	}
	return nil
}

// invert gives the inverse of a symmetric 3 by 3 matrix; not ok where it is nearly singular.
func invert(a [3][3]float64) (inv [3][3]float64, ok bool) {
	cof := func(i, j int) float64 {
		r1, r2, c1, c2 := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return a[r1][c1]*a[r2][c2] - a[r1][c2]*a[r2][c1]
	}
	det := a[0][0]*cof(0, 0) + a[0][1]*cof(0, 1) + a[0][2]*cof(0, 2)
	if !(math.Abs(det) > 1e-12*math.Abs(a[0][0]*a[1][1]*a[2][2])) {
		return inv, false
	}
	for i := range 3 {
		for j := range 3 {
			inv[i][j] = cof(j, i) / det
		}
	}
	return inv, true
}

// result adds the uncertainties. A reading to the nearest mark is off by up to half a graduation, uniformly
// distributed: standard uncertainty graduation / sqrt 12 (type B evaluation in the Guide to the Expression of
// Uncertainty in Measurement, JCGM 100:2008, 4.3.7). Readings of one length are rounded alike, so that repeating them
// does not average this out. Scatter beyond it is estimated from the residuals (type A), with Student's factor for few
// readings.
func (f *fit) result() Result {
	r := Result{ScaleX: f.p[0], ScaleY: f.p[1], Shear: f.p[2], SquareKnown: f.n == 3}
	sum := 0.0
	for _, w := range f.rows {
		sum += math.Pow((w.read-w.fitted)*w.weight, 2)
		r.Residuals = append(r.Residuals, Residual{Square: w.square, Side: w.side, Reading: w.reading,
			Nominal: w.nominal(), Read: w.read, Fitted: w.fitted})
	}
	free := len(f.rows) - f.n
	if free > 0 {
		f.scale = math.Sqrt(sum / float64(free))
		r.Scatter = f.scale * f.used.Graduation
	}
	round, scatter := f.spread()
	at := func(j int) Uncertainty {
		s := f.scale * scatter[j]
		return Uncertainty{Standard: math.Hypot(round[j], s), Wide: math.Hypot(2*round[j], studentT(free)*s)}
	}
	r.X, r.Y = at(0), at(1)
	if r.SquareKnown {
		r.Square = at(2)
	}
	return r
}

func (r row) nominal() float64 {
	switch kindOf(r.side) {
	case alongX:
		return r.w
	case alongY:
		return r.h
	}
	return math.Hypot(r.w, r.h)
}

// spread is the standard uncertainty of each unknown from rounding, and from a scatter of one graduation.
func (f *fit) spread() (round, scatter [3]float64) {
	groups := map[int][3]float64{}
	most := 0
	for _, r := range f.rows {
		g := groups[r.rounds]
		for j := range f.n {
			g[j] += r.weight * r.grad[j] // in graduations
		}
		groups[r.rounds] = g
		most = max(most, r.rounds)
	}
	for j := range f.n {
		scatter[j] = math.Sqrt(f.inv[j][j])
		v := 0.0
		for k := 0; k <= most; k++ {
			part := 0.0
			for i := range f.n {
				part += f.inv[j][i] * groups[k][i]
			}
			v += part * part / 12
		}
		round[j] = math.Sqrt(v)
	}
	return round, scatter
}

// studentT is the factor for 95 % coverage with few readings (Student's t, two-sided; table G.2 of JCGM 100:2008).
func studentT(free int) float64 {
	table := []float64{0, 12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23}
	if free < len(table) {
		return table[max(free, 0)]
	}
	return 1.96 + 2.75/float64(free)
}
