package lay

import (
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Sheet is a lay as other programs read it; its JSON names are a surface that stays. Lengths are
// mm, angles degrees counter-clockwise; x runs along the material, y across it.
type Sheet struct {
	Width      float64  `json:"width_mm"`
	Length     float64  `json:"length_mm"`
	Efficiency float64  `json:"efficiency"` // area of the pieces over width times length, 0 to 1
	Placements []Placed `json:"placements"`
}

// Placed is one copy of a piece. It brings the piece as drawn to the material: turned over first
// where Mirrored (x becomes -x), then turned about the origin by Rotation, then moved by X and Y.
type Placed struct {
	Piece    string  `json:"piece"`
	Copy     int     `json:"copy"`
	X        float64 `json:"x_mm"`
	Y        float64 `json:"y_mm"`
	Rotation float64 `json:"rotation_deg"`
	Mirrored bool    `json:"mirrored"`
}

// NewSheet makes one of a lay, to a thousandth of a millimetre. Pieces that found no place are not
// in it.
func NewSheet(l pattern.Lay, ready []pattern.Ready) Sheet {
	s := Sheet{Width: round(l.Material.Width, 3), Length: round(l.LengthUsed, 3), Efficiency: round(l.Efficiency, 6), Placements: []Placed{}}
	for _, p := range l.Placements {
		if p.Ready < 0 || p.Ready >= len(ready) {
			continue
		}
		r := &ready[p.Ready]
		m := p.Map
		if r.Place != (geom.Affine{}) {
			m = m.After(r.Place)
		}
		at, deg, mirrored := inWords(m)
		s.Placements = append(s.Placements, Placed{Piece: r.Name, Copy: r.Copy,
			X: round(at[0], 3), Y: round(at[1], 3), Rotation: round(deg, 6), Mirrored: mirrored})
	}
	return s
}

func round(v float64, places int) float64 {
	k := math.Pow(10, float64(places))
	return math.Round(v*k)/k + 0 // never -0
}
