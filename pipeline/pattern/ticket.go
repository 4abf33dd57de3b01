package pattern

import (
	"tracewheel/config"
)

// Ticket says what is wanted of a draft. The zero Ticket wants every size once, as the draft's
// quantities say.
type Ticket struct {
	Sizes    []string `yaml:"sizes"`
	Copies   int      `yaml:"copies"`
	Pieces   []string `yaml:"pieces"`
	Material string   `yaml:"material"`
	// Body is the name of a measure card for a measured draft.
	Body string `yaml:"body"`
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
	return t, nil
}
