package calibration

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"tracewheel/geom"
)

// sense reports every impossible reading.
func (m Measured) sense() error {
	var errs []error
	if !(m.Graduation > 0) || m.Graduation > 10 {
		errs = append(errs, fmt.Errorf("a ruler graduated every %v mm will not do: 0.5 or 1 is usual", m.Graduation))
	}
	if len(m.Squares) == 0 && m.Long == nil {
		errs = append(errs, errors.New("there are no readings"))
	}
	for i, s := range m.Squares {
		where := m.which(i)
		if !(s.Width > 0) || !(s.Height > 0) {
			errs = append(errs, fmt.Errorf("%sits nominal size is %v by %v mm", where, s.Width, s.Height))
			continue
		}
		errs = append(errs, s.sense(where)...)
	}
	if l := m.Long; l != nil {
		if !(l.Length > 0) || !(l.Apart > 0) || !(l.Graduation > 0) {
			errs = append(errs, fmt.Errorf("the long lines need a length, a distance and a graduation, not %v, %v and %v mm", l.Length, l.Apart, l.Graduation))
		} else {
			errs = append(errs, senseOf("", LongSides, l.Readings, l.Nominal)...)
		}
	}
	return errors.Join(errs...)
}

func (s Square) sense(where string) []error {
	if err := s.swapped(where); err != nil {
		return []error{err}
	}
	errs := senseOf(where, SquareSides, s.Readings, s.Nominal)
	if len(errs) > 0 {
		return errs
	}
	if errs = s.opposite(where); len(errs) > 0 {
		return errs
	}
	return s.triangles(where)
}

// opposites are the pairs of sides of equal length, whatever the scale.
var opposites = [][2]Side{{Bottom, Top}, {Left, Right}}

// opposite reports opposite sides that differ more than any machine draws them.
func (s Square) opposite(where string) []error {
	var errs []error
	for _, pair := range opposites {
		if a, b := mean(s.Readings[pair[0]]), mean(s.Readings[pair[1]]); s.unlike(pair, 0.01*math.Max(a, b)) {
			errs = append(errs, s.bent(where, pair))
		}
	}
	return errs
}

// unlike reports whether two sides were read and differ by more than so many mm.
func (s Square) unlike(pair [2]Side, most float64) bool {
	a, b := mean(s.Readings[pair[0]]), mean(s.Readings[pair[1]])
	return a > 0 && b > 0 && math.Abs(a-b) > most+1e-9
}

// bent says that opposite sides differ, so that no scale follows from them.
func (s Square) bent(where string, pair [2]Side) error {
	a, b := mean(s.Readings[pair[0]]), mean(s.Readings[pair[1]])
	return fmt.Errorf("%s%s and %s read %v and %v mm, and no scale makes opposite sides differ: it lay bent or slipped under the ruler, or one of them is misread; lay it flat and read both again", where, pair[0], pair[1], geom.Rounded(a, 2), geom.Rounded(b, 2))
}

// bent reports opposite sides that differ by more than the ruler's marks explain.
func (m Measured) bent() []error {
	var errs []error
	for i, s := range m.Squares {
		for _, pair := range opposites {
			if s.unlike(pair, m.Graduation) {
				errs = append(errs, s.bent(m.which(i), pair))
			}
		}
	}
	return errs
}

// which begins a sentence about one of several squares.
func (m Measured) which(i int) string {
	if len(m.Squares) < 2 {
		return ""
	}
	return fmt.Sprintf("square %d: ", i+1)
}

// near compares to 3 %: far more than a machine's error, far less than a mistaken reading's.
func near(a, b float64) bool { return math.Abs(a-b) < 0.03*math.Abs(b) }

// swapped finds a side entered as a diagonal, or width as height.
func (s Square) swapped(where string) error {
	side, diag := math.Max(mean(s.Readings[Bottom]), mean(s.Readings[Right])), s.Nominal(Rising)
	for _, d := range []Side{Rising, Falling} {
		for _, e := range []Side{Bottom, Right, Top, Left} {
			if near(mean(s.Readings[e]), diag) && near(mean(s.Readings[d]), s.Nominal(e)) {
				return fmt.Errorf("%sthe readings of %s and %s look swapped: %v and %v mm", where, e, d, geom.Rounded(mean(s.Readings[e]), 1), geom.Rounded(mean(s.Readings[d]), 1))
			}
		}
	}
	if !near(s.Width, s.Height) && side > 0 && near(mean(s.Readings[Bottom]), s.Height) && near(mean(s.Readings[Right]), s.Width) {
		return fmt.Errorf("%swidth and height look swapped: the bottom should be near %.0f mm and the right side near %.0f", where, s.Width, s.Height)
	}
	return nil
}

// Slip says what is wrong with the readings of one side of a square, -1 for the long lines, before the readings are
// complete; "" for nothing.
func (m Measured) Slip(square int, side Side) (v float64, text string) {
	sides, readings, nominal := LongSides, map[Side][]float64(nil), (func(Side) float64)(nil)
	if square < 0 {
		readings, nominal = m.Long.Readings, m.Long.Nominal
	} else {
		sides, readings, nominal = SquareSides, m.Squares[square].Readings, m.Squares[square].Nominal
	}
	for _, v := range readings[side] {
		if text := slip(v, nominal(side), readingsAlong(sides, readings, side)); text != "" {
			return v, text
		}
	}
	return 0, ""
}

// senseOf checks each reading by itself and beside the others of its kind.
func senseOf(where string, sides []Side, readings map[Side][]float64, nominal func(Side) float64) []error {
	var errs []error
	known := 0
	for _, side := range sides {
		if _, ok := readings[side]; ok {
			known++
		}
		for _, v := range readings[side] {
			if text := slip(v, nominal(side), readingsAlong(sides, readings, side)); text != "" {
				errs = append(errs, fmt.Errorf("%s%s reads %v mm: %s", where, side, v, text))
			}
		}
	}
	if known < len(readings) {
		for side := range readings {
			if !slices.Contains(sides, side) {
				errs = append(errs, fmt.Errorf("%sthere is no side %q", where, side))
			}
		}
		slices.SortFunc(errs, func(a, b error) int { return cmp.Compare(a.Error(), b.Error()) })
	}
	return errs
}

// readingsAlong are all readings along the same axis, or of the same diagonal; the scales of the two axes may differ.
func readingsAlong(sides []Side, readings map[Side][]float64, side Side) []float64 {
	var out []float64
	for _, s := range sides {
		if kindOf(s) == kindOf(side) {
			out = append(out, readings[s]...)
		}
	}
	return out
}

// slip says what is wrong with one reading beside its nominal length and other readings of the same length, mm; "" for
// nothing.
func slip(v, nominal float64, others []float64) string {
	off := math.Abs(v - nominal)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0) || v <= 0:
		return "that is no length"
	case near(v*25.4, nominal):
		return fmt.Sprintf("that is the size in inches; write %v mm, or say that all are in inches", geom.Rounded(v*25.4, 1))
	case near(v/25.4, nominal):
		return "that is 25.4 times too much, as if millimetres had been taken for inches"
	case near(v*10, nominal) || near(v/10, nominal):
		return fmt.Sprintf("a slip of ten; %.0f mm are wanted, are these centimetres?", nominal)
	}
	for _, f := range others {
		for _, ten := range []float64{10, 100} {
			if math.Abs(f-nominal) < off && math.Abs(math.Abs(v-f)-ten) < 0.02*ten+1 && nominal > 5*ten {
				return fmt.Sprintf("a slip of ten? it lies %v mm from %v, which should be as long", geom.Rounded(v-f, 1), f)
			}
		}
	}
	if !(off <= 0.1*nominal) {
		return fmt.Sprintf("that is nowhere near the %v mm it should be", geom.Rounded(nominal, 1))
	}
	return ""
}

// triangles finds three measures that violate the triangle inequality.
func (s Square) triangles(where string) []error {
	var errs []error
	for _, t := range [][3]Side{{Bottom, Right, Rising}, {Top, Left, Rising}, {Bottom, Left, Falling}, {Top, Right, Falling}} {
		a, b, d := mean(s.Readings[t[0]]), mean(s.Readings[t[1]]), mean(s.Readings[t[2]])
		if a == 0 || b == 0 || d == 0 {
			continue
		}
		if d >= a+b || d <= math.Abs(a-b) {
			errs = append(errs, fmt.Errorf("%s%s %v, %s %v and %s %v mm make no triangle: one of them is misread", where, t[0], geom.Rounded(a, 1), t[1], geom.Rounded(b, 1), t[2], geom.Rounded(d, 1)))
		}
	}
	return errs
}
