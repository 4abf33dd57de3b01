package lay

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// kept is a lay as it is stored with its job, in JSON. Lengths are mm.
type kept struct {
	// For is the hash of the pieces and the material of the lay.
	For        string          `json:"for"`
	Fold       pattern.Folding `json:"fold"`
	FoldDepth  float64         `json:"fold_depth_mm,omitempty"`
	Opened     float64         `json:"opened_mm,omitempty"`
	Length     float64         `json:"length_mm"`
	Width      float64         `json:"width_mm"`
	Efficiency float64         `json:"efficiency"`
	Placements []keptPlace     `json:"placements"`
}

// keptPlace is the map from a piece's coordinates to the material, as geom.Affine.
type keptPlace struct {
	Ready int        `json:"ready"`
	Piece string     `json:"piece"`
	Copy  int        `json:"copy"`
	Map   [6]float64 `json:"map"`
}

// ErrOther means that a stored lay is of other pieces, or of another material.
var ErrOther = errors.New("its lay was made for other pieces or another material")

// Keep encodes a lay. The same lay gives the same bytes, and Kept decodes it to the same bits.
func Keep(l pattern.Lay, ready []pattern.Ready, m pattern.Material) ([]byte, error) {
	k := kept{For: madeFor(ready, m), Fold: l.Fold, FoldDepth: l.FoldDepth, Opened: l.Opened, Length: l.LengthUsed,
		Width: l.Material.Width, Efficiency: l.Efficiency}
	for _, p := range l.Placements {
		r, t := &ready[p.Ready], p.Map
		k.Placements = append(k.Placements, keptPlace{p.Ready, r.Name, r.Copy, [6]float64{t.A, t.B, t.C, t.D, t.E, t.F}})
	}
	text, err := json.MarshalIndent(k, "", " ")
	if err != nil {
		return nil, fmt.Errorf("writing a lay down: %w", err)
	}
	return append(text, '\n'), nil
}

// Kept decodes a stored lay of these pieces on this material. It is ErrOther where they are not those of the lay, so
// that nothing is cut by it.
func Kept(data []byte, ready []pattern.Ready, m pattern.Material) (pattern.Lay, error) {
	var k kept
	if err := json.Unmarshal(data, &k); err != nil {
		return pattern.Lay{}, fmt.Errorf("its lay cannot be read: %w", err)
	}
	if k.For == "" || k.For != madeFor(ready, m) {
		return pattern.Lay{}, ErrOther
	}
	l := pattern.Lay{Material: m, Fold: k.Fold, FoldDepth: k.FoldDepth, Opened: k.Opened, LengthUsed: k.Length, Efficiency: k.Efficiency}
	laid := make([]bool, len(ready))
	for _, p := range k.Placements {
		if p.Ready < 0 || p.Ready >= len(ready) || laid[p.Ready] {
			return pattern.Lay{}, fmt.Errorf("its lay has piece %d twice, or more pieces than there are", p.Ready+1)
		}
		laid[p.Ready] = true
		out := pattern.Placement{Ready: p.Ready, Map: geom.Affine{A: p.Map[0], B: p.Map[1], C: p.Map[2], D: p.Map[3], E: p.Map[4], F: p.Map[5]}}
		out.At, out.RotationDeg, out.Mirrored = inWords(out.Map)
		l.Placements = append(l.Placements, out)
	}
	if len(l.Placements) != len(ready) {
		return pattern.Lay{}, fmt.Errorf("its lay has %d of %d pieces", len(l.Placements), len(ready))
	}
	return l, nil
}

// Lengths reads from a stored lay the material that it takes, mm.
func Lengths(data []byte) (length, width float64, err error) {
	var k kept
	err = json.Unmarshal(data, &k)
	return k.Length, k.Width, err
}

// madeFor is the hash of the input of a lay. Of each piece it covers name, copy and lines, to a tenth of a micrometre;
// letters are left out because they contain the job's number. Of the material it leaves out the name, and the sheets
// on which the lay is drawn: a calibration changes them by tenths, and a stored lay stays valid.
func madeFor(ready []pattern.Ready, m pattern.Material) string {
	type piece struct {
		Name, Size            string
		Index, Copy, Garment  int
		Draft                 int `json:",omitempty"`
		Mirrored, Pair        bool
		Outline, Grain, Folds [][2]float64
		Lines                 [][][2]float64
	}
	rounded := func(pts []orb.Point) (out [][2]float64) {
		for _, p := range pts {
			out = append(out, [2]float64{round(p[0], 4), round(p[1], 4)})
		}
		return out
	}
	ends := func(s *pattern.Segment) []orb.Point {
		if s == nil {
			return nil
		}
		return []orb.Point{s.A, s.B}
	}
	all := struct {
		Pieces   []piece
		Material pattern.Material
	}{Material: m}
	all.Material.Name, all.Material.Pages = "", pattern.Pages{}
	for i := range ready {
		r := &ready[i]
		p := piece{Name: r.Name, Size: r.Size, Index: r.Index, Copy: r.Copy, Garment: r.Garment, Draft: r.Draft, Mirrored: r.Mirrored, Pair: r.BothHands,
			Outline: rounded(r.Outline.Points), Grain: rounded(ends(r.Grain)), Folds: rounded(ends(r.OnFold))}
		for _, l := range r.Lines {
			if l.Word == nil {
				p.Lines = append(p.Lines, rounded(l.Path.Points))
			}
		}
		all.Pieces = append(all.Pieces, p)
	}
	text, err := json.Marshal(all)
	if err != nil {
		return "" // numbers that JSON does not have, such as infinity: such a lay is never read back
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
