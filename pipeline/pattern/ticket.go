package pattern

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tracewheel/config"
)

// Ticket says what is wanted of a draft. The zero Ticket wants every size once, as the draft's
// quantities say.
type Ticket struct {
	Sizes    []string `yaml:"sizes"`
	Copies   Copies   `yaml:"copies"`
	Pieces   []string `yaml:"pieces"`
	Material string   `yaml:"material"`
	// Body is the name of a measure card for a measured draft.
	Body string `yaml:"body"`
	// Bodies are several of them: the draft is made once for each.
	Bodies []string `yaml:"bodies"`
	// With are the drafts that are made in one lay with the ticket's own.
	With []With `yaml:"with"`
	// Allowance answers what a draft leaves unsaid: "included", or a width such as "10mm".
	Allowance string `yaml:"allowance"`
	// Unit answers for a draft whose units nobody knows: "mm", "cm" or "in".
	Unit string `yaml:"unit"`
	Note string `yaml:"note"`
	// Toile wants a measured draft's toile: its main pieces with 25 mm everywhere and the lines of the body.
	Toile bool `yaml:"toile"`
	// Production is the show that the garment is for, Wearer who wears it, Due the day of the fitting, such as
	// 2026-03-14. A job is found by them again; nothing that is drawn or cut depends on them.
	Production string `yaml:"production"`
	Wearer     string `yaml:"wearer"`
	Due        string `yaml:"due"`
}

// ReadTicket reads a ticket's file. The error is a *config.Faults, each fault with its line.
func ReadTicket(data []byte) (Ticket, error) {
	var t Ticket
	if err := config.Strict(data, "ticket", &t); err != nil {
		return t, err
	}
	if _, _, err := t.AllowanceSaid(); err != nil {
		return t, config.FaultOf(data, "ticket", "allowance", err.Error())
	}
	if err := config.Day(t.Due); err != nil {
		return t, config.FaultOf(data, "ticket", "due", err.Error())
	}
	if t.Body != "" && len(t.Bodies) > 0 {
		return t, config.FaultOf(data, "ticket", "bodies", "say body: for one body or bodies: for several, not both")
	}
	if all := t.Each(""); len(all) > mostDrafts {
		return t, config.FaultOf(data, "ticket", "with", fmt.Sprintf("these are %d drafts, one for each body, and at most %d are made at a time", len(all), mostDrafts))
	}
	held := WithOf(data)
	for _, w := range t.With {
		if !slices.Contains(held, w.File) { // merged in with <<, say: it would not be taken with the ticket
			return t, config.FaultOf(data, "ticket", "with", fmt.Sprintf("write %s out under with:, as in [a.svg, {file: b.yaml, copies: 2}], without <<", w.File))
		}
	}
	return t, nil
}

// Answer takes what a person says of sizes, parted by commas, and of copies, in place of the ticket's; "" leaves it.
func (t *Ticket) Answer(sizes, copies string) error {
	if sizes != "" {
		t.Sizes = strings.FieldsFunc(sizes, func(r rune) bool { return r == ',' || r == ';' })
		for i := range t.Sizes {
			t.Sizes[i] = strings.TrimSpace(t.Sizes[i])
		}
	}
	if copies == "" {
		return nil
	}
	n, err := strconv.Atoi(strings.TrimSpace(copies))
	if err != nil || n < 1 {
		return fmt.Errorf("%q is no number of copies; write how many are wanted", copies)
	}
	t.Copies = Copies(n)
	return nil
}

// WhoseBody asks whose measures count where a ticket names who wears a measured draft and not the body that it is drawn
// for: it would be drawn for the draft's own. A draft that asks for a body itself, as before has it, is not asked about
// twice.
func (t Ticket) WhoseBody(p *Pattern, before []Finding) []Finding {
	if t.Wearer == "" || t.Body != "" || len(t.Sizes) > 0 || p.Format != "measured" || len(p.Pieces) == 0 {
		return nil
	}
	own := p.Pieces[0].Size
	asked := slices.ContainsFunc(before, func(f Finding) bool { return f.Hold && len(f.Bodies) > 0 })
	several := slices.ContainsFunc(p.Pieces, func(p Piece) bool { return p.Size != own })
	if own == "" || asked || several || strings.EqualFold(bareName(own), bareName(t.Wearer)) {
		return nil
	}
	f := NewFinding(RuleReadAssumed, fmt.Sprintf("the ticket is for the wearer %q and names no body, so the draft is drawn for its own body %q", t.Wearer, own), "")
	f.Hold, f.Bodies = true, []string{own}
	for _, b := range p.Bodies {
		if b != own {
			f.Bodies = append(f.Bodies, b)
		}
	}
	f.Mend = "release it with --body and the wearer's measure card, or with --body " + strings.Join(f.Bodies, " or --body ") + " if that is right; for the next time say body: in the ticket"
	return []Finding{f}
}

// PiecesLine is the line of a ticket that chooses pieces by their names.
func PiecesLine(pieces []string) string {
	names := slices.Clone(pieces)
	for i, name := range names {
		if strings.ContainsAny(name, ",:#[]{}\"'") {
			names[i] = strconv.Quote(name)
		}
	}
	return "pieces: [" + strings.Join(names, ", ") + "]"
}

// TrimYAML is the name of a measured draft or a card without the ending of its file.
func TrimYAML(name string) string {
	if bare, is := strings.CutSuffix(name, ".yaml"); is {
		return bare
	}
	return strings.TrimSuffix(name, ".yml")
}

// bareName is a name without what a card's file adds to it: "chorus-4.yaml" is for "chorus 4".
func bareName(name string) string {
	return strings.Join(strings.FieldsFunc(TrimYAML(name), func(r rune) bool { return r == '-' || r == '_' || r == ' ' }), " ")
}
