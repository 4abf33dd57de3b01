package lay

import (
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Sheet is a lay as other programs read it; its JSON names are a surface that stays. Lengths are mm, angles degrees
// counter-clockwise. The strip is 0..Length along x and 0..Width along y; folded cloth is shown opened out.
type Sheet struct {
	Width      float64  `json:"width_mm"`
	Length     float64  `json:"length_mm"`
	Efficiency float64  `json:"efficiency"` // area of the pieces over width times length, 0 to 1
	Placements []Placed `json:"placements"`
	// Cloth, Fold and Buy are told where there are several cloths, a fold, a shop.
	Cloth string  `json:"cloth,omitempty"`
	Fold  string  `json:"fold,omitempty"`
	Buy   float64 `json:"to_buy_mm,omitempty"`
	// Cost is what that costs, where the workroom knows a price.
	Cost float64 `json:"cost,omitempty"`
	// Remnant is the one on which it is laid, Fits are those that would hold it, the smallest first.
	Remnant int64  `json:"remnant,omitempty"`
	Fits    []Fits `json:"fits_remnants,omitempty"`
	// Others are other widths at which the pieces can be laid; Savings what would take less cloth, that which saves most first.
	Others  []AtWidth `json:"at_other_widths,omitempty"`
	Savings []Saves   `json:"savings,omitempty"`
}

// Fits is a remnant that would hold a lay.
type Fits struct {
	Remnant int64   `json:"remnant"`
	Width   float64 `json:"width_mm"`
	Length  float64 `json:"length_mm"`
}

// AtWidth is what is laid and bought at a width.
type AtWidth struct {
	Width  float64 `json:"width_mm"`
	Length float64 `json:"length_mm"`
	Buy    float64 `json:"to_buy_mm"`
}

// Saves is a way for which Less square metres less are bought.
type Saves struct {
	Way    string  `json:"way"`
	Width  float64 `json:"width_mm"`
	Length float64 `json:"length_mm"`
	Buy    float64 `json:"to_buy_mm"`
	Less   float64 `json:"less_m2"`
}

// Placed is one copy of a piece as it lies. Rotation is from how the draft shows it, with y up; a mirrored copy was
// turned over first, left to right. Outline is the placed cut line itself, a ring whose first point is not
// repeated, and Cutouts are the placed lines of its openings alike, in which other pieces may lie. Garment counts from 1
// what is sewn to one another; Size is its size or body.
type Placed struct {
	Piece    string         `json:"piece"`
	Copy     int            `json:"copy"`
	Garment  int            `json:"garment,omitempty"`
	Size     string         `json:"size,omitempty"`
	Rotation float64        `json:"rotation_deg"`
	Mirrored bool           `json:"mirrored"`
	Outline  [][2]float64   `json:"outline_mm"`
	Cutouts  [][][2]float64 `json:"cutouts_mm,omitempty"`
}

// NewSheet makes one of a lay, places to a tenth of a micrometre so that rounding moves nothing into its neighbour.
func NewSheet(l pattern.Lay, ready []pattern.Ready) Sheet {
	s := Sheet{Width: round(l.Material.Width, 4), Length: round(l.LengthUsed, 4), Efficiency: round(l.Efficiency, 6), Placements: []Placed{}}
	if l.Fold != pattern.FoldNone {
		s.Fold = string(l.Fold)
	}
	for _, p := range l.Placements {
		if p.Ready < 0 || p.Ready >= len(ready) {
			continue
		}
		r := &ready[p.Ready]
		m := p.Map
		if r.Place != (geom.Affine{}) {
			m = m.After(r.Place)
		}
		_, deg, mirrored := inWords(m)
		placed := Placed{Piece: r.Name, Copy: r.Copy, Garment: r.Garment, Size: r.Size, Rotation: round(deg, 6), Mirrored: mirrored}
		placed.Outline = ring(r.Outline, p.Map)
		for _, c := range r.Cutouts() {
			placed.Cutouts = append(placed.Cutouts, ring(c, p.Map))
		}
		s.Placements = append(s.Placements, placed)
	}
	return s
}

func ring(p geom.Path, by geom.Affine) (out [][2]float64) {
	for _, q := range p.Points {
		q = by.Apply(q)
		out = append(out, [2]float64{round(q[0], 4), round(q[1], 4)})
	}
	return out
}

func round(v float64, places int) float64 {
	k := math.Pow(10, float64(places))
	return math.Round(v*k)/k + 0 // never -0
}
