// Package paper knows the papers of printers: their sizes, what stays free of ink, what a print queue calls them.
package paper

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Paper is a sheet as it lies in the printer. Lengths are mm.
type Paper struct {
	// Name is how a person asks for it: "a4", "letter", "914.4 mm roll".
	Name          string
	Width, Height float64
	// Roll paper has a width alone; its pages are as long as what is on them. Height is then the most that
	// a page may have.
	Roll bool
	// Left, Bottom, Right and Top are what stays free of ink.
	Left, Bottom, Right, Top float64
}

// Longest is the length of a page that every reader takes: 14,400 units of 1/72 in are the limit of one family of
// viewers (PDF Reference 1.6, appendix H).
const Longest = 5080.0

// BothWide and BothHigh are the ink, mm, that A4 and Letter printers alike put on paper, whichever of the two lies in the printer: a page
// of the one size sent to the other is centred and cropped, and printers leave up to 12.7 mm free.
const (
	BothWide = 190.0
	BothHigh = 253.0
)

// A4 and Letter are the papers of most printers, upright.
var (
	A4     = Paper{Name: "a4", Width: 210, Height: 297}
	Letter = Paper{Name: "letter", Width: 215.9, Height: 279.4}
)

// papers are the known sizes, upright: ISO 216, and the North American sizes of ANSI/ASME Y14.1.
var papers = []Paper{
	A4,
	{Name: "a3", Width: 297, Height: 420},
	{Name: "a2", Width: 420, Height: 594},
	{Name: "a1", Width: 594, Height: 841},
	{Name: "a0", Width: 841, Height: 1189},
	Letter,
	{Name: "legal", Width: 215.9, Height: 355.6},
	{Name: "tabloid", Width: 279.4, Height: 431.8},
}

var (
	sizeForm = regexp.MustCompile(`^(\d+(?:\.\d+)?)\s*(mm|cm|in)?\s*[x×]\s*(\d+(?:\.\d+)?)\s*(mm|cm|in)?$`)
	rollForm = regexp.MustCompile(`^(\d+(?:\.\d+)?)\s*(mm|cm|in)?\s*roll$`)
)

// Parse reads what a person calls a paper: "a4", "letter landscape", "36in roll", "610 mm roll", "500x700",
// "24x36in". A number without a unit is mm. Margin is what stays free at every edge, in mm; below 0 is what suits
// the paper: on A4 and Letter all but 190 by 253 mm in the middle, which either paper takes.
func Parse(text string, margin float64) (Paper, error) {
	said := strings.ToLower(strings.Join(strings.Fields(text), " "))
	base, turned := strings.CutSuffix(said, " landscape")
	base = strings.TrimSuffix(base, " portrait")
	p, ok := named(base)
	if !ok {
		return p, fmt.Errorf("the paper %q is not known: say %s, a roll by its width (36in roll, 914mm roll), or a sheet as WIDTHxHEIGHT in mm or in (500x700, 24x36in)", text, Names())
	}
	p.Name = said
	if turned && !p.Roll {
		p.Width, p.Height = p.Height, p.Width
	}
	least := math.Min(p.Width, p.Height)
	switch {
	case p.Width > Longest || p.Height > Longest:
		return p, fmt.Errorf("the paper %q is longer than %.0f mm, the most that a page may have: take a roll, which is divided", text, Longest)
	case margin >= 0:
		p.Left, p.Bottom, p.Right, p.Top = margin, margin, margin, margin
	case base == A4.Name || base == Letter.Name:
		ink := [2]float64{BothWide, BothHigh}
		if turned {
			ink[0], ink[1] = ink[1], ink[0]
		}
		p.Left, p.Bottom = (p.Width-ink[0])/2, (p.Height-ink[1])/2
		p.Right, p.Top = p.Left, p.Bottom
	case least > 560: // of a wide-format printer
		p.Left, p.Bottom, p.Right, p.Top = 10, 10, 10, 10
	default:
		p.Left, p.Bottom, p.Right, p.Top = 13, 13, 13, 13
	}
	if w, h := p.Ink(); (w < FirstStacked[0] || h < FirstStacked[1]) && (w < FirstBeside[0] || h < FirstBeside[1]) {
		return p, fmt.Errorf("the paper %q leaves %.0f by %.0f mm for ink; at least %.0f by %.0f or %.0f by %.0f are needed for the first sheet's test squares: take a larger paper or a smaller --margin", text, w, h, FirstStacked[0], FirstStacked[1], FirstBeside[0], FirstBeside[1])
	}
	return p, nil
}

// FirstStacked and FirstBeside are what the first sheet needs, wide and high in mm: with its two test squares one above the
// other, or side by side.
var FirstStacked, FirstBeside = [2]float64{147, 235}, [2]float64{238, 160}

// named finds a paper by its name or its size, upright or as said.
func named(base string) (Paper, bool) {
	if i := slices.IndexFunc(papers, func(p Paper) bool { return p.Name == base }); i >= 0 {
		return papers[i], true
	}
	if m := rollForm.FindStringSubmatch(base); m != nil {
		w, ok := inMM(m[1], m[2])
		return Paper{Width: w, Height: Longest, Roll: true}, ok
	}
	if m := sizeForm.FindStringSubmatch(base); m != nil {
		unit := m[4]
		if m[2] != "" && unit == "" {
			unit = m[2]
		}
		first := cmp.Or(m[2], unit)
		w, ok1 := inMM(m[1], first)
		h, ok2 := inMM(m[3], unit)
		return Paper{Width: w, Height: h}, ok1 && ok2
	}
	return Paper{}, false
}

func inMM(number, unit string) (float64, bool) {
	v, err := strconv.ParseFloat(number, 64)
	switch unit {
	case "in":
		v *= 25.4
	case "cm":
		v *= 10
	}
	return v, err == nil && v > 0
}

// Names lists the sizes that have a name.
func Names() string {
	var names []string
	for _, p := range papers {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}

// Ink is what may be printed on, wide and high.
func (p Paper) Ink() (w, h float64) { return p.Width - p.Left - p.Right, p.Height - p.Bottom - p.Top }

// Upright is the paper as it lies in its tray, and whether the page lies across it.
func (p Paper) Upright() (name string, turned bool) {
	if base, turned := strings.CutSuffix(p.Name, " landscape"); turned {
		return base, true
	}
	return strings.TrimSuffix(p.Name, " portrait"), false
}

// media are what the standard queue options call the known sizes (PWG 5101.1, and CUPS's own short names of them).
var media = map[string]string{"a4": "A4", "a3": "A3", "a2": "A2", "a1": "A1", "a0": "A0", "letter": "Letter", "legal": "Legal", "tabloid": "Tabloid"}

// Medium is the paper as a print queue is told it; long is how long the longest page is, mm, which counts on a roll.
func (p Paper) Medium(long float64) string {
	name, turned := p.Upright()
	if m, known := media[name]; known {
		return m
	}
	w, h := p.Width, p.Height
	if p.Roll {
		h = long
	}
	if turned {
		w, h = h, w
	}
	return fmt.Sprintf("Custom.%sx%smm", strconv.FormatFloat(w, 'f', -1, 64), strconv.FormatFloat(h, 'f', -1, 64))
}
