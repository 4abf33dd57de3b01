// Package checked tells what the checks found of one draft: it takes a pattern with its findings and gives the JSON that other
// programs rely on and lines for a person.
package checked

import (
	"fmt"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/pattern"
)

// File is what `check` prints for one file, in the JSON that other programs rely on.
type File struct {
	Name     string    `json:"file"`
	Pattern  *Pattern  `json:"pattern"`
	Findings []Finding `json:"findings"`
}

// Pattern is the draft's measures.
type Pattern struct {
	Style  string  `json:"style"`
	Pieces []Piece `json:"pieces"`
}

// Piece holds a piece's measures as drawn, lengths in mm. Quantity is how many are made: one
// where the draft does not say, and the finding quantity-missing tells that it did not.
type Piece struct {
	Name         string   `json:"name"`
	Size         string   `json:"size"`
	Quantity     int      `json:"quantity"`
	Width        float64  `json:"width_mm"`
	Height       float64  `json:"height_mm"`
	Area         float64  `json:"area_mm2"`
	Perimeter    float64  `json:"perimeter_mm"`
	Notches      int      `json:"notches"`
	AllowanceMin *float64 `json:"allowance_min_mm"`
	AllowanceMax *float64 `json:"allowance_max_mm"`
	Cut          string   `json:"cut"` // the quantity in words: cut 2, a pair
	whose        string
}

// Finding is a finding in JSON.
type Finding struct {
	Rule     string           `json:"rule"`
	Severity pattern.Severity `json:"severity"`
	Piece    string           `json:"piece"`
	Edge     string           `json:"edge,omitempty"`
	Message  string           `json:"message"`
	Mend     string           `json:"mend,omitempty"`
	At       *[2]float64      `json:"at_mm"`
	Line     int              `json:"line,omitempty"`
	Column   int              `json:"column,omitempty"`
	Question bool             `json:"question"` // a person must answer it before the draft goes on
}

// New tells of a draft by its name; the pattern is nil where it could not be read.
func New(name string, p *pattern.Pattern, findings []pattern.Finding) File {
	out := File{Name: name, Findings: []Finding{}}
	if p != nil {
		out.Pattern = &Pattern{Style: p.Style, Pieces: []Piece{}}
		for i := range p.Pieces {
			out.Pattern.Pieces = append(out.Pattern.Pieces, pieceOf(p.DraftOf(i), &p.Pieces[i]))
		}
	}
	for _, f := range findings {
		c := Finding{Rule: f.Rule, Severity: f.Severity, Question: f.Hold, Piece: f.Piece, Edge: f.Edge,
			Message: f.Message, Mend: f.Mend, Line: f.Line, Column: f.Column}
		if f.At != nil {
			c.At = &[2]float64{f.At[0], f.At[1]}
		}
		out.Findings = append(out.Findings, c)
	}
	return out
}

func pieceOf(of *pattern.Pattern, p *pattern.Piece) Piece {
	m := check.Measure(p)
	hands := pattern.OneHand
	if ring, _, ok := p.Ring(); ok {
		hands = p.Hands(ring)
	}
	return Piece{Name: p.Name, Size: p.Size, Quantity: max(p.Quantity, 1), Cut: p.CutWords(p.Quantity, hands), Width: m.Width, Height: m.Height,
		Area: m.Area, Perimeter: m.Perimeter, Notches: m.Notches,
		AllowanceMin: m.AllowanceMin, AllowanceMax: m.AllowanceMax, whose: of.Whose(p.Size)}
}

// PiecesOrNone are the pieces of a checked draft, nil where it could not be read.
func (c File) PiecesOrNone() []Piece {
	if c.Pattern == nil {
		return nil
	}
	return c.Pattern.Pieces
}

// Line tells a piece's measures in a line of text, in "mm", "cm" or "in".
func (p Piece) Line(unit string) string {
	s := p.Name
	if p.whose != "" {
		s += ", " + p.whose
	}
	say := func(mm float64) string { return pattern.SayLength(mm, unit) }
	area := fmt.Sprintf("%.0f sq cm", p.Area/100)
	if unit == "in" {
		area = fmt.Sprintf("%.0f sq in", p.Area/25.4/25.4)
	}
	s += fmt.Sprintf(": %s by %s %s, %s, %s, %s", say(p.Width), say(p.Height), unit, area, pattern.Count(p.Notches, "notch"), p.Cut)
	if p.AllowanceMin == nil || p.AllowanceMax == nil {
		return s
	}
	least, most := say(*p.AllowanceMin), say(*p.AllowanceMax)
	if least == most {
		return s + ", allowance " + most + " " + unit
	}
	return s + ", allowance " + least + " to " + most + " " + unit
}
