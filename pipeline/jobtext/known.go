package jobtext

import (
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
)

// order says for what a job is made, and for whose body.
func (t Teller) order(j ledger.Job, row func(name, value string)) {
	row("production", j.Production)
	row("wearer", j.Wearer)
	row("body", cmp.Or(j.Answers[answers.Body], t.ticket(j).Body))
	row("due", j.Due)
	row("material", j.Material)
}

// ticket is a job's, the zero one where it has none that this user may read.
func (t Teller) ticket(j ledger.Job) (ticket pattern.Ticket) {
	if data := t.file(j, j.Ticket); data != nil {
		ticket, _ = pattern.ReadTicket(data) // of a faulty one the refusal has told
	}
	return ticket
}

// file is one of a job's in the store, nil where it is not there or this user may not read it.
func (t Teller) file(j ledger.Job, name string) []byte {
	if t.Room == nil || name == "" {
		return nil
	}
	data, err := store.Look(t.Room.Path(t.Room.Folders.Store)).Read(j.ID, name)
	if err != nil {
		return nil
	}
	return data
}

// toBeSeen says what a person looks at before a release: how much cloth the lay takes, where its picture lies, and what
// was found in the draft.
func (t Teller) toBeSeen(j ledger.Job, row func(name, value string)) {
	if t.Room == nil || j.State != ledger.Held && j.State != ledger.Pending {
		return
	}
	if length, width, err := lay.Lengths(t.file(j, ledger.LayFile(j.Lay))); err == nil && length > 0 {
		unit := cmp.Or(t.Room.Units, "mm")
		row("length", fmt.Sprintf("%s %s of a width of %s %s", pattern.SayLength(length, unit), unit, pattern.SayLength(width, unit), unit))
	}
	for _, name := range []string{"picture-lay.svg", "picture-pieces.svg", "report-picture.svg"} {
		path := filepath.Join(store.Look(t.Room.Path(t.Room.Folders.Store)).JobDir(j.ID), name)
		if _, err := os.Stat(path); err == nil {
			row("picture", path)
			break
		}
	}
	for _, f := range t.findings(j) {
		text := f.Message
		if f.Piece != "" {
			text = f.Piece + ": " + text
		}
		if f.Mend != "" {
			text += " -> " + f.Mend
		}
		row(f.Word(), text)
	}
}

// findings are those of a job's draft, none where they cannot be read.
func (t Teller) findings(j ledger.Job) (found []pattern.Finding) {
	if json.Unmarshal(t.file(j, store.Findings), &found) != nil {
		return nil
	}
	return found
}

// warnings are what a person must know before a release, a line each: that the material does not suffice, and that pieces
// name another cloth.
func (t Teller) warnings(j ledger.Job) (all []string) {
	if short, _ := t.Stock(j); short != "" {
		all = append(all, short)
	}
	if j.State == ledger.Held || j.State == ledger.Pending {
		if other := pattern.OtherCloth(t.findings(j)); other != "" {
			all = append(all, other)
		}
	}
	return all
}

// named are the pieces of a refused job by their numbers, which its picture, with those of findings, does not tell.
func (t Teller) named(j ledger.Job) string {
	var names []string
	if j.State != ledger.Aborted || json.Unmarshal(t.file(j, store.PieceNames), &names) != nil {
		return ""
	}
	return places.Numbered(names)
}
