package lay

import (
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Sheet is a lay for other programs; its JSON names must not change. Lengths are mm, angles degrees counter-clockwise.
// The strip is 0..Length along x and 0..Width along y; folded cloth is shown opened out.
type Sheet struct {
	Width      float64  `json:"width_mm"`
	Length     float64  `json:"length_mm"`
	Efficiency float64  `json:"efficiency"` // area of the pieces over width times length, 0 to 1
	Placements []Placed `json:"placements"`
	// Cloth, Fold and Buy are set where there are several cloths, a fold, a shop.
	Cloth string  `json:"cloth,omitempty"`
	Fold  string  `json:"fold,omitempty"`
	Buy   float64 `json:"to_buy_mm,omitempty"`
	// Cost is the price of Buy, where the workroom has one.
	Cost float64 `json:"cost,omitempty"`
	// Remnant is the remnant on which it is laid, Fits are those that would hold it, the smallest first.
	Remnant int64  `json:"remnant,omitempty"`
	Fits    []Fits `json:"fits_remnants,omitempty"`
	// Others are other widths at which the pieces can be laid; Savings what would take less cloth, the greatest saving
	// first.
	Others  []AtWidth `json:"at_other_widths,omitempty"`
	Savings []Saves   `json:"savings,omitempty"`
}

// Fits is a remnant that would hold a lay.
type Fits struct {
	Remnant int64   `json:"remnant"`
	Width   float64 `json:"width_mm"`
	Length  float64 `json:"length_mm"`
}

// AtWidth is the length laid and bought at a width.
type AtWidth struct {
	Width  float64 `json:"width_mm"`
	Length float64 `json:"length_mm"`
	Buy    float64 `json:"to_buy_mm"`
}

// Saves is a way with which Less square metres less are bought.
type Saves struct {
	Way    string  `json:"way"`
	Width  float64 `json:"width_mm"`
	Length float64 `json:"length_mm"`
	Buy    float64 `json:"to_buy_mm"`
	Less   float64 `json:"less_m2"`
}

// Placed is one copy of a piece at its place. Rotation is relative to the draft, with y up; a mirrored copy was turned
// over first, left to right. Outline is the placed cut line, a ring whose first point is not repeated, and Cutouts are
// the placed openings, in which other pieces may lie. Garment numbers from 1 the pieces that are sewn together; Size
// is the size or body.
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

// NewSheet makes a Sheet of a lay, coordinates to a tenth of a micrometre so that rounding causes no overlap.
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
