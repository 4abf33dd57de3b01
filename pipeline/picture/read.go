package picture

import (
	"bytes"
	"html"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Shown is what a page needs to know of a picture that SVG wrote: its scale, findings, pieces and strokes.
type Shown struct {
	Wide, High float64
	// Scale and ScaleTo are those of Canvas; Scale is 0 in a picture of an older program.
	Scale, ScaleTo float64
	// Findings are the centres of the rings, by the findings' numbers.
	Findings map[int]orb.Point
	// Pieces can be pointed at, in drawing order.
	Pieces []ShownPiece
	// Strokes are the strokes of a machine, in their order, each as the data of an SVG path.
	Strokes []string
}

// ShownPiece is the outline of a piece, as the data of an SVG path, with its number and name.
type ShownPiece struct {
	Number  int
	Name, D string
}

// SVG writes each shape on a line of its own, with its data attributes before those that draw it.
var (
	headOf    = regexp.MustCompile(`^<svg [^>]*viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*>`)
	scaleOf   = regexp.MustCompile(` data-scale="([\d.]+)"(?: data-scale-to="([\d.]+)")?`)
	findingOf = regexp.MustCompile(`^<path data-finding="(\d+)" data-at="([-\d.]+) ([-\d.]+)"`)
	pieceOf   = regexp.MustCompile(`^<path data-number="(\d+)" data-piece="([^"]*)"[^>]* d="([-\d.MLZ ]*)"`)
	strokeOf  = regexp.MustCompile(`^<path data-stroke="(\d+)"[^>]* d="([-\d.MLZ ]*)"`)
)

// Read reads a picture that SVG wrote. Fields that the picture does not tell stay empty.
func Read(svg []byte) Shown {
	s := Shown{Findings: map[int]orb.Point{}}
	for line := range bytes.Lines(svg) {
		if m := headOf.FindSubmatch(line); m != nil {
			s.Wide, s.High = number(m[1]), number(m[2])
			if m := scaleOf.FindSubmatch(line); m != nil {
				s.Scale, s.ScaleTo = number(m[1]), number(m[2])
			}
			continue
		}
		if !bytes.HasPrefix(line, []byte("<path data-")) {
			continue
		}
		if m := findingOf.FindSubmatch(line); m != nil {
			s.Findings[int(number(m[1]))] = orb.Point{number(m[2]), number(m[3])}
		} else if m := pieceOf.FindSubmatch(line); m != nil {
			s.Pieces = append(s.Pieces, ShownPiece{int(number(m[1])), html.UnescapeString(string(m[2])), string(m[3])})
		} else if m := strokeOf.FindSubmatch(line); m != nil {
			for n := int(number(m[1])) - 1; len(s.Strokes) < n; { // strokes without points
				s.Strokes = append(s.Strokes, "")
			}
			for _, d := range strings.Split(string(m[2]), "M")[1:] {
				s.Strokes = append(s.Strokes, "M"+d)
			}
		}
	}
	return s
}

func number(text []byte) float64 {
	v, _ := strconv.ParseFloat(string(text), 64) // "" is 0
	return v
}
