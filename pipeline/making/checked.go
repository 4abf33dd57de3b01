package making

import (
	"fmt"

	"tracewheel/config"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/pattern"
)

// Checked is what `check` prints for one file, in the JSON that other programs rely on.
type Checked struct {
	File     string           `json:"file"`
	Pattern  *CheckedPattern  `json:"pattern"`
	Findings []CheckedFinding `json:"findings"`
}

// CheckedPattern is the draft's measures.
type CheckedPattern struct {
	Style  string         `json:"style"`
	Pieces []CheckedPiece `json:"pieces"`
}

// CheckedPiece holds a piece's measures as drawn, lengths in mm. Quantity is how many are made: one
// where the draft does not say, and the finding quantity-missing tells that it did not.
type CheckedPiece struct {
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

// CheckedFinding is a finding in JSON.
type CheckedFinding struct {
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

// Checked puts a Work into the form that `check` prints.
func (w *Work) Checked() Checked {
	out := Checked{File: w.Request.Name, Findings: []CheckedFinding{}}
	if w.Pattern != nil {
		out.Pattern = &CheckedPattern{Style: w.Pattern.Style, Pieces: []CheckedPiece{}}
		for i := range w.Pattern.Pieces {
			out.Pattern.Pieces = append(out.Pattern.Pieces, checkedPiece(w.Pattern.DraftOf(i), &w.Pattern.Pieces[i]))
		}
	}
	for _, f := range w.Findings {
		c := CheckedFinding{Rule: f.Rule, Severity: f.Severity, Question: f.Hold, Piece: f.Piece, Edge: f.Edge,
			Message: f.Message, Mend: f.Mend, Line: f.Line, Column: f.Column}
		if f.At != nil {
			c.At = &[2]float64{f.At[0], f.At[1]}
		}
		out.Findings = append(out.Findings, c)
	}
	return out
}

func checkedPiece(of *pattern.Pattern, p *pattern.Piece) CheckedPiece {
	m := check.Measure(p)
	hands := pattern.OneHand
	if ring, _, ok := p.Ring(); ok {
		hands = p.Hands(ring)
	}
	return CheckedPiece{Name: p.Name, Size: p.Size, Quantity: max(p.Quantity, 1), Cut: p.CutWords(p.Quantity, hands), Width: m.Width, Height: m.Height,
		Area: m.Area, Perimeter: m.Perimeter, Notches: m.Notches,
		AllowanceMin: m.AllowanceMin, AllowanceMax: m.AllowanceMax, whose: of.Whose(p.Size)}
}

// Sample is the workroom that verbs for single files use where there is none.
func Sample() *config.Workroom { return config.Sample(pattern.RuleNames()) }

// PiecesOrNone are the pieces of a checked draft, nil where it could not be read.
func (c Checked) PiecesOrNone() []CheckedPiece {
	if c.Pattern == nil {
		return nil
	}
	return c.Pattern.Pieces
}

// Line tells a piece's measures in a line of text, in "mm" or "in".
func (p CheckedPiece) Line(unit string) string {
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
