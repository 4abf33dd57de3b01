package picture

import (
	"bytes"
	"html"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Shown is what a page has to know of a picture that SVG wrote: how to measure in it, and where its findings, pieces and
// strokes are.
type Shown struct {
	Wide, High float64
	// Scale and ScaleTo are as those of a Canvas; Scale is 0 in a picture of an older program.
	Scale, ScaleTo float64
	// Findings are the middles of the rings, by the findings' numbers.
	Findings map[int]orb.Point
	// Pieces can be pointed at, in the order in which they lie on one another.
	Pieces []ShownPiece
	// Strokes are the lines of the strokes of a machine, in their order, each as the data of an SVG path.
	Strokes []string
}

// ShownPiece is the outline of a piece, as the data of an SVG path, and what a person calls it.
type ShownPiece struct {
	Number  int
	Name, D string
}

// The writer has each shape on a line of its own, and its data before all that a reader of pictures wants.
var (
	headOf    = regexp.MustCompile(`^<svg [^>]*viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*>`)
	scaleOf   = regexp.MustCompile(` data-scale="([\d.]+)"(?: data-scale-to="([\d.]+)")?`)
	findingOf = regexp.MustCompile(`^<path data-finding="(\d+)" data-at="([-\d.]+) ([-\d.]+)"`)
	pieceOf   = regexp.MustCompile(`^<path data-number="(\d+)" data-piece="([^"]*)"[^>]* d="([-\d.MLZ ]*)"`)
	strokeOf  = regexp.MustCompile(`^<path data-stroke="(\d+)"[^>]* d="([-\d.MLZ ]*)"`)
)

// Read reads a picture that SVG wrote. A field of which the picture says nothing stays empty.
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
			for n := int(number(m[1])) - 1; len(s.Strokes) < n; { // strokes without a line
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
	v, _ := strconv.ParseFloat(string(text), 64) // "" is nought
	return v
}
