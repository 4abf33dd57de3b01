// Package draft reads a dropped file into a pattern. It tells by the bytes, and by the name's ending
// where bytes do not tell, which of the forms of a draft it is, and leaves the rest to the reader of
// that form.
package draft

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/draft/dxf"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/svg"
	"tracewheel/pipeline/pattern"
)

// Options say what the file itself may not.
type Options struct {
	// Unit is what one unit of the drawing is: "mm", "cm" or "in"; empty where nobody says.
	Unit string
	// Room is the workroom's unit, in which lengths are told of a draft that has none of its own; mm where it is empty.
	Room string
	// FinerCurves takes the finer curve that a draft gives beside a drawn outline instead of it.
	FinerCurves bool
	// Limit bounds the time that reading may take; 0 is timeLimit.
	Limit time.Duration
	// Body names the measure card for a measured draft; empty for the draft's own.
	Body string
	// Card fetches a measure card that lies beside the draft, by its name; nil where there is none.
	Card func(name string) ([]byte, error)
	// Toile wants the toile of a measured draft.
	Toile bool
	// Block fetches the draft from which a measured draft takes, by its name; nil where there is none.
	Block func(name string) ([]byte, error)
	// SeamTolerance is what the workroom lets pass between the sides of a seam, in mm, for the figures of a measured draft.
	SeamTolerance float64
	// Done, once closed, has the reading given up: nobody waits for it. Nil never is.
	Done <-chan struct{}
	// Figured is told the figures of a measured draft that is read, as BriefOf gives them. It may still be told them after
	// the reading was given up. Nil is not.
	Figured func(*figures.Figures)
}

func (o Options) measured(stop <-chan struct{}) measured.Options {
	return measured.Options{Body: o.Body, Card: o.Card, Block: o.Block, Toile: o.Toile, SeamTolerance: o.SeamTolerance, Done: stop}
}

// Fault is one reason why a file cannot be read at all. Line and Column count from 1 and are 0
// where the fault has no place.
type Fault struct {
	Message, Mend string
	Line, Column  int
	Rule          string // that it breaks; empty for what cannot be read as it is written
}

// Error is returned for a file of a kind that is not read.
type Error struct{ Fault Fault }

func (e *Error) Error() string { return e.Fault.Message + "; " + e.Fault.Mend }

// Read makes a pattern of a draft; name is the file's, for its ending and for messages. The error
// is of the reader that took the file, or an *Error where none takes it; Faults lists what it says.
func Read(data []byte, name string, opt Options) (*pattern.Pattern, error) {
	p, err := within(cmp.Or(opt.Limit, timeLimit), opt.Done, name, func(stop <-chan struct{}) (*pattern.Pattern, error) {
		return readKind(data, name, opt, stop)
	})
	if err == nil && opt.FinerCurves {
		takeFiner(p, opt.Room)
	}
	if err == nil && opt.Toile && p.Format != "measured" {
		p.Findings = append(p.Findings, pattern.NewFinding(pattern.RuleLeftOut, "the toile that is wanted: a drawing does not say which pieces are the main ones, nor where bust, waist and hip lie",
			"draw a toile from a measured draft, or name the pieces that are wanted"))
	}
	return p, err
}

func readKind(data []byte, name string, opt Options, stop <-chan struct{}) (*pattern.Pattern, error) {
	switch kindOf(data, name) {
	case kindSVG:
		return svg.Read(data, name, svg.Options{Unit: opt.Unit, Room: opt.Room})
	case kindDXF:
		return dxf.Read(data, name, dxf.Options{Unit: opt.Unit, Room: opt.Room})
	case kindMeasured:
		return measured.ReadFigured(data, name, opt.measured(stop), opt.Figured)
	}
	return nil, unknown(data, name)
}

type kind int

const (
	kindNone kind = iota
	kindSVG
	kindDXF
	kindMeasured
)

// kindOf looks at the bytes first: a file keeps its form when it is given a wrong ending.
func kindOf(data []byte, name string) kind {
	head := bytes.TrimPrefix(data[:min(len(data), 4096)], []byte("\xef\xbb\xbf"))
	text := bytes.TrimSpace(head)
	switch {
	case bytes.HasPrefix(head, []byte(dxf.Signature)):
		return kindDXF
	case bytes.HasPrefix(text, []byte("<")):
		return kindSVG
	case dxf.Begins(head):
		return kindDXF
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".svg", ".svgz":
		return kindSVG
	case ".dxf":
		return kindDXF
	case ".yaml", ".yml":
		return kindMeasured
	}
	return kindNone
}

func unknown(data []byte, name string) error {
	f := Fault{
		Message: fmt.Sprintf("%q is no draft that can be read", filepath.Base(name)),
		Mend:    "hand in a draft as SVG, DXF or a measured draft (.yaml)",
	}
	switch text := bytes.TrimSpace(data); {
	case len(text) == 0:
		f.Message = fmt.Sprintf("%q is empty", filepath.Base(name))
		f.Mend = "hand in the draft once more"
	case isPlot(text, name):
		f.Message = fmt.Sprintf("%q is a plot for a device, not a draft: it no longer says which line is cut and which is sewn", filepath.Base(name))
	case strings.Contains(strings.ToLower(filepath.Base(name)), "ticket"):
		f.Message = fmt.Sprintf("%q is no draft, and no ticket by its name", filepath.Base(name))
		f.Mend = "a ticket is called as its draft, with .ticket.yaml behind: smock.ticket.yaml, or smock.yaml.ticket.yaml"
	case bytes.HasPrefix(text, []byte("%PDF")):
		f.Message = fmt.Sprintf("%q is a page to print, not a draft", filepath.Base(name))
	}
	return &Error{f}
}

// isPlot tells files in the language of plotters and cutters by how they begin.
func isPlot(text []byte, name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".plt", ".hpgl", ".hpg", ".hgl", ".gcode", ".nc", ".ngc":
		return true
	}
	heads := []string{"IN;", "\x1b.", "\x1b%", "DF;", "PU;", "SP1"}
	return slices.ContainsFunc(heads, func(head string) bool { return bytes.HasPrefix(text, []byte(head)) })
}

// RefusedInSentences tells of the refusal of a measured draft, whose lines are sentences for people.
func RefusedInSentences(err error) bool {
	var me *measured.Error
	return errors.As(err, &me)
}

// Faults lists what an error of Read says, at least one.
func Faults(err error) []Fault {
	const mendFile = "mend the file, or save the draft once more from where it was drawn"
	var own *Error
	var whole *assemble.Unreadable
	var me *measured.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &own):
		return []Fault{own.Fault}
	case errors.As(err, &whole):
		return []Fault{{Message: whole.Text, Mend: mendFile, Line: whole.Line, Column: whole.Column}}
	case errors.As(err, &me):
		var out []Fault
		for _, f := range me.List {
			ft := Fault{Message: f.Text, Mend: f.Mend, Line: f.Line, Column: f.Column, Rule: f.Rule}
			if f.File != me.Draft { // a line of the card or of a block is none of the draft
				what := "the card"
				if slices.Contains(me.Blocks, f.File) {
					what = "the block"
				}
				ft.Message = fmt.Sprintf("%s %s, line %d, column %d: %s", what, f.File, f.Line, f.Column, f.Text)
				ft.Line, ft.Column = 0, 0
			}
			out = append(out, ft)
		}
		return out
	}
	return []Fault{{Message: err.Error(), Mend: mendFile}}
}
