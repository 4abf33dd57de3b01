package calibration

// Way is a square and a ruler, and the uncertainties of the three numbers with them (95 % coverage).
type Way struct {
	Size, Graduation float64 // mm
	Scale            float64 // relative
	Square           float64 // radians
}

// usual are the squares and rulers of a kind of workroom, in mm (common practice).
type usual struct{ sizes, graduations []float64 }

var (
	metric   = usual{[]float64{50, 100, 200, 300, 500, 1000, 2000}, []float64{1, 0.5, 0.2, 0.1}}
	imperial = usual{inches(2, 4, 8, 12, 20, 40, 80), inches(1.0/16, 1.0/32, 1.0/64, 1.0/100)}
)

func inches(in ...float64) []float64 {
	for i := range in {
		in[i] *= 25.4
	}
	return in
}

// Ways lists the uncertainty of each usual square up to the greatest size, in mm, with each usual ruler, of mm or of
// inches, the easiest first: coarse rulers before fine ones, small squares before large ones. It assumes that each
// side is read once and without scatter.
func Ways(greatest float64, inch bool) []Way {
	kind := metric
	if inch {
		kind = imperial
	}
	var out []Way
	for _, g := range kind.graduations {
		for _, s := range kind.sizes {
			if s <= greatest {
				out = append(out, reach(s, g))
			}
		}
	}
	return out
}

// Wish is the first way whose scale has at most the wished uncertainty, relative; not ok where there is none.
func Wish(ways []Way, scale float64) (Way, bool) {
	for _, w := range ways {
		if w.Scale <= scale {
			return w, true
		}
	}
	return Way{}, false
}

func reach(size, graduation float64) Way {
	s := Square{Width: size, Height: size, Readings: map[Side][]float64{}}
	for _, side := range SquareSides {
		s.Readings[side] = []float64{s.Nominal(side)}
	}
	f := newFit(Measured{Squares: []Square{s}, Graduation: graduation})
	if f.run() != nil {
		return Way{}
	}
	r := f.result()
	return Way{Size: size, Graduation: graduation, Scale: max(r.X.Wide, r.Y.Wide), Square: r.Square.Wide}
}
