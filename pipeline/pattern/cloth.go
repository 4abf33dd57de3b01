package pattern

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"
)

// Nap says which way pieces may lie on cloth whose nap, pile or print has a direction.
type Nap string

// NapNone cloth looks the same either way; on NapGarment all pieces of one garment lie the same way; on NapAll
// all pieces of the lay do.
const (
	NapNone    Nap = "none"
	NapGarment Nap = "garment"
	NapAll     Nap = "all"
)

// Naps are the words for it.
func Naps() []string { return []string{string(NapNone), string(NapGarment), string(NapAll)} }

// Folding says how cloth is folded along its length before pieces are laid on it.
type Folding string

// FoldOnce lays selvedge on selvedge, FoldTwo both selvedges to the middle, FoldPart turns over one selvedge as
// deep as is needed. FoldBest stands for whichever of them takes the least cloth.
const (
	FoldBest Folding = ""
	FoldNone Folding = "none"
	FoldOnce Folding = "once"
	FoldTwo  Folding = "two"
	FoldPart Folding = "part"
)

// Foldings are the words for it, without the best one.
func Foldings() []string {
	return []string{string(FoldNone), string(FoldOnce), string(FoldTwo), string(FoldPart)}
}

// Words say it to a person.
func (f Folding) Words() string {
	switch f {
	case FoldOnce:
		return "folded once, selvedge on selvedge"
	case FoldTwo:
		return "folded twice, both selvedges to the middle"
	case FoldPart:
		return "part folded"
	}
	return "in one layer"
}

// Material is what the pieces are laid on. Lengths in mm; the width runs along y, the length along x.
type Material struct {
	Name  string
	Width float64
	// Length is 0 for a roll.
	Length float64
	// Margin is kept free at every side, Gap between pieces. Selvedge is kept free at both long sides, where
	// it is more than Margin.
	Margin, Gap, Selvedge float64
	// Cloth has a grain, which every grain line must follow; paper has none.
	Cloth bool
	Nap   Nap
	// FaceDown means that the wrong side of the cloth lies up, so that the lay is mirrored.
	FaceDown bool
	// Fold is how cloth is folded. Nothing that lies on a machine is.
	Fold Folding
	// QuarterTurns means that grain lines may lie across the cloth as well as along it; Tilt is by how many
	// degrees a piece may lie off its grain.
	QuarterTurns bool
	Tilt         float64
	// Turns are the turns to try in degrees, counter-clockwise from how the draft shows a piece; they overrule
	// grain and nap. Nil for none said.
	Turns []float64
	// Avoid are places that nothing may reach into: flaws, clips.
	Avoid [][]orb.Point
	// Pages are the sheets or frames on which a device draws it one after the other, none where Step is 0.
	Pages Pages `json:",omitzero"`
}

// Pages follow one another along a plot every Step mm; each bears what lies within Room mm of where it begins.
type Pages struct{ Step, Room float64 }

// OneWay cloth has one direction for all pieces: none may be turned end for end.
func (m Material) OneWay() bool { return m.Nap == NapAll }

// Side is what is kept free at each long side, mm.
func (m Material) Side() float64 { return max(m.Margin, m.Selvedge) }

// Cloth is what a draft says of one of the cloths that it is cut from. Lengths are mm; what it leaves unsaid is 0
// or "".
type Cloth struct {
	Name            string
	Width, Selvedge float64
	// Length is what is at hand, Gap what is kept between pieces, Ends what is bought on top at each end.
	Length, Gap, Ends float64
	Nap               Nap
	Fold              Folding
	QuarterTurns      bool
	// Tilt is by how many degrees a piece may lie off its grain.
	Tilt float64
	// Avoid are the corners of its flaws, x along it and y across.
	Avoid [][]orb.Point
	// Shrinkage is the part of its length that it loses when washed, 0 to 1.
	Shrinkage float64
}

// ClothOf is the cloth that pieces of a material are cut from: that of its name, else the only one or "main"
// where the pieces say none. It is false where the draft says nothing of it.
func (p *Pattern) ClothOf(material string) (Cloth, bool) {
	for _, c := range p.Cloths {
		if c.Name == material || material == "" && (len(p.Cloths) == 1 || strings.EqualFold(c.Name, "main")) {
			return c, true
		}
	}
	return Cloth{}, false
}

// ClothName is what a cloth is called in messages.
func ClothName(material string) string {
	if material == "" {
		return "main"
	}
	return material
}

// ReadNap reads one of the words of Naps.
func ReadNap(word string) (Nap, error) {
	for _, w := range Naps() {
		if w == word {
			return Nap(w), nil
		}
	}
	return "", fmt.Errorf("nap is all, garment or none, not %q", word)
}

// ReadFolding reads one of the words of Foldings; "" is the best one.
func ReadFolding(word string) (Folding, error) {
	for _, w := range append(Foldings(), "") {
		if w == word {
			return Folding(w), nil
		}
	}
	return "", fmt.Errorf("a fold is once, two, part or none, not %q", word)
}
