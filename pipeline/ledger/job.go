package ledger

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// Job is what the ledger knows of one job.
type Job struct {
	ID     int64
	Device string
	// File is the name under which it was dropped.
	File  string
	State State
	// Reason says to people why the job is in that state; empty where the state says it.
	Reason string
	Style  string
	Pieces int
	Order

	Received time.Time
	Ended    time.Time // zero until it has ended

	Size   int64
	SHA256 string
	// SameAs is an earlier job with the same content, AgainOf the ended job it repeats; 0 is none.
	SameAs, AgainOf int64
	// Original and Ticket are the names of the files in the store; Ticket is empty without one.
	Original, Ticket string

	// Ready is true when the program is in the store.
	Ready bool
	// Asks is the question that a person must answer before the job can be made, empty for none.
	Asks string
	// Released is true after a person has released the ready job.
	Released bool
	Answers  map[string]string
	// Lay is the sum of the lay that the job is made with (LayFile), empty for none. Fixed is true after a person has
	// released the job or its trial: the lay is not replaced from then on.
	Lay   string
	Fixed bool

	// Laid is how much of its material the job takes along the length, mm, 0 where it is not laid; Remnant is the one that
	// it is laid on, the zero one for the roll. Fits are rectangles on which it can be laid: a remnant is large enough if
	// it is as wide and as long as one of them.
	Laid    float64
	Remnant Remnant
	Fits    []Rectangle
	// Supply says of a waiting job whether its material suffices; nil where no stock is kept. It is no column.
	Supply *Supply

	// Rank is 0 for a job that waits its turn; the job that a person put first last has the greatest.
	Rank int64

	// Sends is the number of sendings that began; Send is the last of them.
	Sends int
	Send  Send
	// Pruning is true while an old job is being removed.
	Pruning bool
	// Stripped says how far program and pictures were removed because the job is old.
	Stripped Stripped
	// Fault says why the job's row cannot be read; the other fields then hold what could be read of it.
	Fault string
}

// Order says for which show, for whom and for which fitting a job is made, by its ticket; Due is a day, such as
// 2026-03-14. Material is what the job is drawn on or cut from. Each may be empty.
type Order struct{ Production, Wearer, Due, Material string }

// cardPrefix begins the file names of the measure cards kept with a job, blockPrefix those of the drafts from which its
// draft takes, withPrefix those of the drafts that its ticket names.
const (
	cardPrefix  = "card-"
	blockPrefix = "block-"
	withPrefix  = "with-"
)

// CardFile is the name under which a measure card is kept with a job.
func CardFile(card string) string { return cardPrefix + card }

// Card gives the name of the measure card that a file of a job is; is is false for another file.
func (f File) Card() (name string, is bool) { return strings.CutPrefix(f.Name, cardPrefix) }

// BlockFile is the file name of a draft kept with a job whose draft takes from it.
func BlockFile(name string) string { return blockPrefix + name }

// Block gives the name of the draft that a job's draft takes from and that the file is; is is false for another file.
func (f File) Block() (name string, is bool) { return strings.CutPrefix(f.Name, blockPrefix) }

// WithFile is the file name of a draft kept with a job whose ticket names it beside the job's own.
func WithFile(name string) string { return withPrefix + name }

// With gives the name of the draft that the ticket names and that the file is; is is false for another file.
func (f File) With() (name string, is bool) { return strings.CutPrefix(f.Name, withPrefix) }

// Beside tells whether a file of a job was read beside its draft: a measure card, a block, or a draft that its ticket names.
func (f File) Beside() bool {
	_, card := f.Card()
	_, block := f.Block()
	_, with := f.With()
	return card || block || with
}

// LayFile is the file name of a job's lay with a sum, empty for none. Each lay has a name of its own, so that a better one
// is never half written in the place of the one that counts.
func LayFile(sum string) string {
	if len(sum) < layShown {
		return ""
	}
	return "lay-" + sum[:layShown] + ".json"
}

// layShown is how many characters of a lay's sum a person is shown, and must give at least.
const layShown = 8

// LayShown is the part of the sum of the job's lay that a person is shown.
func (j Job) LayShown() string { return j.Lay[:min(layShown, len(j.Lay))] }

// IsLay tells whether a beginning of a sum, at least as long as LayShown, is that of the job's lay.
func (j Job) IsLay(named string) bool {
	return len(named) >= layShown && strings.HasPrefix(j.Lay, strings.ToLower(named))
}

// MadeOf tells whether the job's program is made of a file: draft, ticket, lay, and what was read beside its draft.
func (j Job) MadeOf(f File) bool {
	return f.Beside() || f.Name == j.Original || f.Name == j.Ticket || f.Name == LayFile(j.Lay)
}

// Stripped says how far the program and the pictures of an ended job are removed.
type Stripped int

// With Whole all files are there, with Stripping some may be gone, with Bare only the draft is left, with Forgotten
// nothing.
const (
	Whole Stripped = iota
	Stripping
	Bare
	Forgotten
)

// Unknown stands for what cannot be known.
const Unknown = "unknown"

// NoTool is the tool of a device that has none.
const NoTool = "none"

// Send is one run of a job's program down the line.
type Send struct {
	No    int
	Began time.Time
	// Updated is when the figures below were last written: they are written now and then, and were certain then. More may
	// have happened since.
	Updated time.Time
	Ended   time.Time // zero while it goes on, and after a kill
	// First is the block with which the run began, after the prelude; Blocks and Total are those of the program. Of a run
	// that ended before its first byte, First and the figures below are those of the run before it.
	First, Blocks int
	Total         int64
	// Bytes of Total were surely sent, those of the blocks before First counted as well.
	Bytes int64
	// Sure is the last block that is surely drawn, -1 for none; Stroke the last whole stroke.
	Sure, Stroke int
	// Held is where the blade stood when it was last stopped, nil where it is not known. All of the stroke before it is
	// cut. A run from there begins with it.
	Held *Place
	// Tool is "up", "down", Unknown or NoTool.
	Tool string
	// End is "done", "canceled", "stopped" or "cut short"; empty while the run goes on.
	End string
	// Cancel is true after a person has canceled, until the sender has answered.
	Cancel bool
}

// SendingFound is the kind of the events for a sending that the ledger had lost.
const SendingFound = "sending found"

// Event is one line of a job's history.
type Event struct {
	Seq      int64
	Job      int64
	At       time.Time
	Kind     string
	From, To State // equal where the state did not change
	Text     string
}

// The kinds of events of which hooks and pages inform people.
const (
	NeedsYou = "needs-you"
	Refused  = "refused"
	Done     = "done"
)

// Tells gives the kind by which a person is informed of an event, "" for none.
func (e Event) Tells() string {
	switch {
	case e.From == e.To:
	case e.To == Held, e.To == Stopped:
		return NeedsYou
	case e.To == Aborted:
		return Refused
	case e.To == Completed:
		return Done
	}
	return ""
}

// File is a file that the store must hold for a job.
type File struct {
	Job    int64
	Name   string
	Size   int64
	SHA256 string
}

// Arrival is a file that was taken from the inbox, or a job made anew of an ended one.
type Arrival struct {
	ID      int64
	Device  string
	File    string
	Files   []File // the original first
	Ticket  string
	AgainOf int64
	Answers map[string]string
	Lay     string // the sum of the lay that it is made by, one of Files
	// Remnant is the one that the job is laid on.
	Remnant Remnant
	Text    string // the event's words
	// Released is true where the wish that makes the job also releases it.
	Released bool
}

// Untaken is a file in the inbox that becomes no job, and why. No table holds it.
type Untaken struct {
	// Device is empty for a file outside the devices' folders.
	Device string `json:"device,omitempty"`
	File   string `json:"file"`
	State  string `json:"state"` // NotTaken
	Why    string `json:"reason"`
}

// NotTaken is the state of an Untaken, where jobs have theirs.
const NotTaken = "not-taken"

// MarshalJSON prints the fields of `jobs --format json`: job, device, file, state, reason, and what else a machine may want.
func (j Job) MarshalJSON() ([]byte, error) {
	out := struct {
		Job      int64      `json:"job"`
		File     string     `json:"file"`
		Device   string     `json:"device"`
		State    State      `json:"state"`
		Reason   string     `json:"reason"`
		Style    string     `json:"style"`
		Pieces   int        `json:"pieces"`
		Received time.Time  `json:"received"`
		Ended    *time.Time `json:"ended"`
		SHA256   string     `json:"sha256"`
		SameAs   int64      `json:"same_as,omitempty"`
		AgainOf  int64      `json:"again_of,omitempty"`
		Trial    string     `json:"trial,omitempty"`
		Asks     string     `json:"asks,omitempty"`
		Lay      string     `json:"lay,omitempty"`
		Rank     int64      `json:"rank,omitempty"`
		Prod     string     `json:"production,omitempty"`
		Wearer   string     `json:"wearer,omitempty"`
		Due      string     `json:"due,omitempty"`
		Material string     `json:"material,omitempty"`
		Stock    *Supply    `json:"stock,omitempty"`
		Sends    int        `json:"sends"`
		Bytes    int64      `json:"bytes_sent"`
		Total    int64      `json:"bytes_total"`
		Tool     string     `json:"tool,omitempty"`
		Stripped bool       `json:"program_removed,omitempty"`
		Fault    string     `json:"fault,omitempty"`
	}{Job: j.ID, File: j.File, Device: j.Device, State: j.State, Reason: j.Reason, Style: j.Style,
		Pieces: j.Pieces, Received: j.Received, SHA256: j.SHA256, SameAs: j.SameAs, AgainOf: j.AgainOf,
		Trial: j.Trial(), Asks: j.Asks, Lay: j.Lay, Rank: j.Rank, Prod: j.Production, Wearer: j.Wearer, Due: j.Due, Material: j.Material, Stock: j.Supply, Sends: j.Sends, Bytes: j.Send.Bytes, Total: j.Send.Total, Tool: j.Send.Tool,
		Stripped: j.Stripped != Whole, Fault: j.Fault}
	if !j.Ended.IsZero() {
		out.Ended = &j.Ended
	}
	return json.Marshal(out)
}

// WhatMay says what a person may do with a job in its state, by the commands for it; served is true where its device is in the
// workroom.
func (j *Job) WhatMay(served bool) string {
	hint := fmt.Sprintf("tracewheel show %d", j.ID)
	switch {
	case j.State == Aborted: // a refused draft, which would be refused again
		hint = fmt.Sprintf("tracewheel show %d says why, and what mends it", j.ID)
	case j.State.Ended():
		hint = fmt.Sprintf("tracewheel again %d makes a new job of it", j.ID)
	case j.State == Stopped && !j.Ready: // a job of a copy of a workroom, brought back without its program
		hint = fmt.Sprintf("it has no program: tracewheel cancel %d ends it, and again %d then makes a new job of its draft", j.ID, j.ID)
	case j.State == Stopped:
		hint = fmt.Sprintf("tracewheel resume %d continues it; tracewheel cancel %d ends it, and again %d then makes a new job of it", j.ID, j.ID, j.ID)
	case j.State == Processing:
		hint = fmt.Sprintf("tracewheel pause %d or tracewheel cancel %d stops it", j.ID, j.ID)
	case j.State == Held:
		hint = fmt.Sprintf("tracewheel release %d lets it start; tracewheel cancel %d ends it", j.ID, j.ID)
	case j.State == Pending && !served:
		hint = fmt.Sprintf("its device %q is not in the workroom: add it to the workroom file, or tracewheel cancel %d ends it", j.Device, j.ID)
	case j.State == Pending:
		hint = fmt.Sprintf("it goes on by itself; tracewheel hold %d keeps it, tracewheel cancel %d ends it", j.ID, j.ID)
	}
	return hint
}
