package figures

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/pattern"
)

// tapeUnit is what a tape is divided in, and by how much a curve's places are told apart.
type tapeUnit struct {
	name  string
	mm    float64
	parts float64 // of the unit, to which a person chalks
	step  float64
}

// tapeUnits are those of drafts: chalked to 1 mm or an eighth of an inch.
var tapeUnits = map[string]tapeUnit{"in": {"in", 25.4, 8, 2}, "cm": {"cm", 10, 10, 5}, "mm": {"mm", 1, 1, 50}}

// rounded is a length as it is chalked.
func (u tapeUnit) rounded(v float64) float64 {
	const noise = 1e-5 // of a part: the two ends of one line, half-way between two parts, are told alike
	return math.Round(v*u.parts+math.Copysign(noise, v))/u.parts + 0
}

// tape writes a length as finely as a tape is divided: half as much as is chalked, as allowances and notions are told.
func (u tapeUnit) tape(v float64) string {
	u.parts *= 2
	return u.say(v)
}

func (u tapeUnit) say(v float64) string {
	v = u.rounded(v)
	if u.name == "in" {
		return pattern.Inches(v * 25.4)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// fraction writes inches to the nearest sixteenth.
func fraction(v float64) string {
	return pattern.Inches(math.Round(v*16) / 16 * 25.4)
}

// mostGirth is by how much a girth may differ from what is drawn because its places are told to an eighth, in.
const mostGirth = 0.25

// joined is how many times a place of a piece counts in a girth: once for each that is cut, on the fold for both halves. Two on
// the fold may as well be a piece and its lining.
func joined(pc *pieces.Piece) float64 {
	n := float64(pc.Quantity)
	switch {
	case pc.Twice:
		return 4
	case pc.OnFold && n <= 2:
		return 2
	case pc.OnFold:
		return 2 * n
	}
	return n
}

// exactly is a length in thirty-seconds of an inch where an eighth is too coarse: two places of a piece lie apart by what both are rounded,
// and so many times that must not move a girth by more than mostGirth. "" where an eighth will do.
func (u tapeUnit) exactly(v, joined float64) string {
	if u.name != "in" || math.Abs(u.rounded(v)-v)*joined*2 <= mostGirth+1e-6 {
		return ""
	}
	u.parts = 32
	return u.say(v)
}

// place writes how far a place lies, and in brackets how far exactly: "3 7/8 (3 27/32)".
func (m *MarkingOut) place(v float64) string {
	return bracketed(m.say(v), m.unit.exactly(v*m.scale, m.joined))
}

func bracketed(said, exact string) string {
	if exact == "" {
		return said
	}
	if strings.HasPrefix(said, "-") {
		exact = strings.TrimPrefix(exact, "-")
	}
	return said + " (" + exact + ")"
}

// unbracketed is a length as it is told in a picture.
func unbracketed(said string) string {
	said, _, _ = strings.Cut(said, " (")
	return said
}

// inBrackets says what stands in brackets in the lists of a piece; "" where nothing does.
func (p *PieceFigures) inBrackets() string {
	told := ""
	for _, ed := range p.Edges {
		told += ed.Chalk
	}
	for _, r := range slices.Concat(p.Marking.Outline, p.Marking.Inside) {
		told += r.Across + r.Down
	}
	if !strings.Contains(told, "(") {
		return ""
	}
	return fmt.Sprintf("In brackets stands the exact figure, to 1/32: the piece is joined %g times, and what 1/8 rounds would add up to more than 1/4.", p.Marking.joined)
}
