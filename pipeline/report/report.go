// Package report writes the page beside a refused draft: what is wrong, where, and
// what mends it, beside a picture that shows it - as HTML that prints on one page, as PDF and as plain text.
package report

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Page is what a report is made of.
type Page struct {
	// Workroom, Device, File and Job say whose report it is; Job may be empty.
	Workroom, Device, File, Job string
	Style                       string
	// Refused is false for a job that only waits for an answer.
	Refused bool
	// Looked is true of a draft that was only looked at, so that nothing was to be drawn.
	Looked bool
	// Findings in the order in which they are to be mended; Numbers are those in the picture, 0 for
	// a finding that has no place.
	Findings []pattern.Finding
	Numbers  []int
	// Picture is the SVG that stands in the page.
	Picture []byte
	// Places says where a finding lies: in inches, if the workroom prefers them, and as the file has it.
	Places pattern.Places
	// Received is the day and time as words.
	Received string
}

//go:embed page.html
var pageText string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"svg":   func(b []byte) template.HTML { return template.HTML(b) }, //nolint:gosec // made by package picture, which escapes
	"style": look.Style,
	"where": where,
	"join":  strings.Join,
}).Parse(pageText))

// HTML is the page for a browser or a printer.
func HTML(p Page) ([]byte, error) {
	p = shown(p)
	var b bytes.Buffer
	if err := page.Execute(&b, view{Page: p, Rows: rows(p)}); err != nil {
		return nil, fmt.Errorf("writing the report: %w", err)
	}
	return b.Bytes(), nil
}

type view struct {
	Page
	Rows []row
}

// row is a finding with all the pieces of which it is true, and the numbers of their circles.
type row struct {
	Numbers []int
	pattern.Grouped
}

func rows(p Page) []row {
	var out []row
	for _, t := range pattern.Group(p.Findings) {
		r := row{Grouped: t}
		for _, i := range t.Of {
			if i < len(p.Numbers) && p.Numbers[i] > 0 {
				r.Numbers = append(r.Numbers, p.Numbers[i])
			}
		}
		out = append(out, r)
	}
	return out
}

// ErrorsFirst orders findings for a page: what stops the draft, what waits for an answer, warnings, then the rest.
func ErrorsFirst(fs []pattern.Finding) []pattern.Finding {
	first := func(f pattern.Finding) int {
		switch {
		case f.Severity == pattern.Error:
			return 0
		case f.Hold:
			return 1
		case f.Severity == pattern.Warning:
			return 2
		}
		return 3
	}
	return slices.SortedStableFunc(slices.Values(fs), func(a, b pattern.Finding) int { return cmp.Compare(first(a), first(b)) })
}

// lead is the one sentence a person reads first.
func (v view) Lead() string { return lead(v.Page) }

// StyleSaid is the style's name where it says more than the file's.
func (v view) StyleSaid() string {
	base := filepath.Base(v.File)
	if v.Style == strings.TrimSuffix(base, filepath.Ext(base)) {
		return ""
	}
	return v.Style
}

// Place says where a finding is in the draft, "" where it has no place, or several that the picture shows.
func (v view) Place(r row) string {
	if len(r.Of) > 1 {
		return ""
	}
	return v.Places.WhereIs(r.Finding)
}

// lead tells in one sentence how it stands with the draft.
func lead(p Page) string {
	n := 0
	for _, t := range pattern.Group(p.Findings) {
		if t.Severity == pattern.Error {
			n++
		}
	}
	hold := slices.ContainsFunc(p.Findings, func(f pattern.Finding) bool { return f.Hold })
	switch {
	case p.Looked && n > 0:
		return fmt.Sprintf("It cannot be drawn or cut as it is: %s to mend first.", pattern.Count(n, "error"))
	case p.Looked && hold:
		return "It leaves a question open that only a person can answer."
	case p.Looked:
		return "No error was found."
	case !p.Refused:
		return "Nothing was drawn yet: the draft leaves a question open that only a person can answer."
	case n == 1:
		return "Nothing was drawn or cut. 1 error has to be mended first."
	default:
		return fmt.Sprintf("Nothing was drawn or cut. %d errors have to be mended first.", n)
	}
}

// where names the place as far as it is known: pieces, edge, line of the file.
func where(f pattern.Grouped) string {
	var parts []string
	if w := f.Where(); w != "" {
		parts = append(parts, w)
	}
	if f.Edge != "" && len(f.Of) == 1 {
		parts = append(parts, f.Edge)
	}
	if f.Line > 0 {
		place := fmt.Sprintf("line %d", f.Line)
		if f.Column > 0 {
			place += fmt.Sprintf(", column %d", f.Column)
		}
		if f.Said != "" {
			place += " (" + f.Said + ")"
		}
		parts = append(parts, place)
	}
	return strings.Join(parts, ", ")
}

// shown is a page whose words, which may come from the draft, neither steer a terminal nor begin lines
// of their own.
func shown(p Page) Page {
	for _, s := range []*string{&p.Workroom, &p.Device, &p.File, &p.Style} {
		*s = pattern.Printable(*s)
	}
	p.Findings = slices.Clone(p.Findings)
	for i := range p.Findings {
		f := &p.Findings[i]
		for _, s := range []*string{&f.Piece, &f.Edge, &f.Message, &f.Mend, &f.Said} {
			*s = pattern.Printable(*s)
		}
	}
	return p
}

// PDF is the same on pages of A4, its words as text, and at their head the picture where there is one: it is given a
// box and says how high it is in it, mm. The same page gives the same bytes.
func PDF(p Page, picture func(d *pdf.Document, in orb.Bound) float64) ([]byte, error) {
	title := pattern.Printable(filepath.Base(p.File)) + ": what was found"
	return pdf.Pages(title, Text(p), picture)
}

// Text is the same for a terminal or a mail.
func Text(p Page) []byte {
	p = shown(p)
	var b strings.Builder
	b.WriteString(p.File)
	if p.Device != "" {
		b.WriteString(", for " + p.Device)
	}
	b.WriteByte('\n')
	if p.Job != "" {
		fmt.Fprintf(&b, "job %s", p.Job)
		if p.Received != "" {
			fmt.Fprintf(&b, ", received %s", p.Received)
		}
		b.WriteByte('\n')
	}
	fmt.Fprintf(&b, "\n%s\n", lead(p))
	view := view{Page: p}
	for _, r := range rows(p) {
		b.WriteByte('\n')
		for _, n := range r.Numbers {
			fmt.Fprintf(&b, "(%d) ", n)
		}
		b.WriteString(r.Word())
		if w := where(r.Grouped); w != "" {
			b.WriteString(": " + w)
		}
		fmt.Fprintf(&b, "\n    %s\n", r.Message)
		if r.Mend != "" {
			fmt.Fprintf(&b, "    -> %s\n", r.Mend)
		}
		if place := view.Place(r); place != "" {
			fmt.Fprintf(&b, "    %s (%s)\n", place, strings.Join(r.Rules, ", "))
		} else {
			fmt.Fprintf(&b, "    (%s)\n", strings.Join(r.Rules, ", "))
		}
	}
	return []byte(b.String())
}
