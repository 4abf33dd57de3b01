// Package job holds what travels with a job between the rooms that take, make and send it: a Draft goes
// to a Maker, what it Made is kept, and a Run of it goes to a Sender, which gives an Outcome.
package job

import (
	"context"
	"maps"
	"time"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Rest says with what a blade goes on whose heading was lost: the program must be made anew, with an
// alignment stroke of its own.
type Rest struct {
	// Whole is the program that the job was made with; what is made now must fit what it has cut.
	Whole devices.Program
	// Stroke is the first stroke to be made, counted in Whole.
	Stroke int
	// Held is where in that stroke the blade was held, nil to make all of it.
	Held *ledger.Place
}

// Draft is a draft and what was said about it.
type Draft struct {
	Job    int64
	Source []byte
	// Name is the dropped file's name, Ticket the bytes of its ticket, nil for none.
	Name, Device string
	Ticket       []byte
	// Answers are what people said when they released the job: "allowance" -> "10mm".
	Answers map[string]string
	// Cards are the measure cards that are kept with the job, name to content; they count before those of
	// the workroom. So do Blocks, the drafts from which this one takes, and With, those that its ticket names beside it.
	Cards, Blocks, With map[string][]byte
	// Alone leaves out what the ticket names beside the draft, and its bodies: of what is of this draft only.
	Alone bool
	// Lay is the lay that is kept with the job, nil where it has none: its pieces lie by it as long as they are the
	// ones that it was made for.
	Lay []byte
	// Waits is true where a job has no lay yet and may wait for a good one, as long as its device says. Busy tells
	// when the search for one is to pause, nil for never.
	Waits bool
	Busy  func() bool
	// Remnant is the one that the job is laid on, the zero one for what the workroom file says of the material; Remnants are
	// others of any material that may hold it.
	Remnant  ledger.Remnant
	Remnants []ledger.Stock
	// LaySought is told for how long, where such a search begins; nil for nobody.
	LaySought func(wait time.Duration)
	// Shorter is told of each shorter lay that a search for one finds, mm; nil is not.
	Shorter func(length float64)
}

// Better seeks a shorter lay than a job's for a while. It gives nil where it finds none; words says what there is, in
// a line, either way.
type Better func(ctx context.Context, in Draft, seek time.Duration) (lay []byte, words string, err error)

// Read reads the draft of a job, its ticket, and the measure cards and drafts that are kept with it.
func Read(ctx context.Context, jobs *control.Jobs, j ledger.Job) (Draft, error) {
	in := Draft{Job: j.ID, Name: j.File, Device: j.Device, Answers: maps.Clone(j.Answers), Remnant: j.Remnant}
	files, err := jobs.MadeOf(ctx, j)
	if err != nil {
		return in, err
	}
	in.Source = files[0].Data
	keep := func(into *map[string][]byte, name string, data []byte) {
		if *into == nil {
			*into = map[string][]byte{}
		}
		(*into)[name] = data
	}
	for _, f := range files[1:] {
		file := ledger.File{Name: f.Name}
		if f.Name == j.Ticket {
			in.Ticket = f.Data
		} else if f.Name == ledger.LayFile(j.Lay) {
			in.Lay = f.Data
		} else if card, is := file.Card(); is {
			keep(&in.Cards, card, f.Data)
		} else if block, is := file.Block(); is {
			keep(&in.Blocks, block, f.Data)
		} else if with, is := file.With(); is {
			keep(&in.With, with, f.Data)
		}
	}
	return in, nil
}

// Made is what was made of a draft.
type Made struct {
	Style  string
	Pieces int
	// Order is what its ticket says, Names are the pieces one by one, as often as each is cut.
	Order    ledger.Order
	Names    []ledger.Piece
	Findings []pattern.Finding
	// Program is what is to be sent; its Blocks are empty where the draft is refused or waits for an
	// answer.
	Program devices.Program
	// Report and Pictures are files, name to content: the report goes back with a refused file.
	Report, Pictures map[string][]byte
	// Cards are the measure cards that a program was made with, Blocks the drafts from which its draft took, and With those
	// that its ticket names, name to content. A draft that is refused or waits for an answer has none: one of them may be what a person mends.
	Cards, Blocks, With map[string][]byte
	// Lay is the lay that the program was made by, nil where the draft came to none.
	Lay []byte
	// Laid is how much of its material it takes, mm; Fits are rectangles of material that hold it.
	Laid    float64
	Fits    []ledger.Rectangle
	DrawnMM float64
	Notes   []string
	// Refused ends the job; Reason then says why in one line.
	Refused bool
	Reason  string
	// Hold is what a person must answer first, empty for nothing.
	Hold string
}

// WhyRefused is why a draft cannot be made, with the piece of which it is said.
func (m Made) WhyRefused() string {
	for _, f := range m.Findings {
		if f.Severity == pattern.Error && f.Message == m.Reason && f.Piece != "" {
			return f.Piece + ": " + m.Reason
		}
	}
	return m.Reason
}

// Maker makes a program of a draft. An error is a fault of the program itself, not of the draft:
// what is wrong with a draft is said by Refused. It is called for one job of a device at a time, but
// for several devices at once, and must give the same for the same input.
type Maker func(ctx context.Context, in Draft) (Made, error)

// Run is what a Sender is given. Blocks and strokes count in Program.
type Run struct {
	Job     int64
	Device  string
	Program devices.Program
	// From is the block to go on with, 0 for the whole program.
	From int
	// Held is where in the first stroke the blade goes in again, nil to make all of it.
	Held *ledger.Place
	// Last is what was sent to the device before: a plot from the first byte wants a fresh page after it.
	Last ledger.LastRun
	// Earlier are the sendings of this job before this one, the first one first.
	Earlier []ledger.Send
	// Attach hands over the control by which people pause, resume and cancel this sending; it is
	// called once, before the first byte.
	Attach func(control.Sending)
	// Progress is called now and then from one goroutine. Job, Device and State are filled in here;
	// Sure is a stroke and SureBlock a block, -1 where nothing is sure.
	Progress func(control.Progress)
	// Draft reads what the program was made of, for the rest of a chained one to be made anew.
	Draft func() (Draft, error)
}

// Outcome is how a sending ended.
type Outcome struct {
	// State is completed, canceled or processing-stopped.
	State ledger.State
	// Reason is for people: the device's own words, their meaning, what mends it.
	Reason string
	// Bytes of the whole job are sent, what an earlier sending made counted as well; 0 says that surely none
	// went down the line now.
	Bytes int64
	// Total is how many there are where that is more than the job's program has, as where a blade goes in again.
	Total int64
	// SureBlock is the last block that surely was drawn, -1 where nothing is sure.
	SureBlock int
	// Held is where a blade stood, nil where that is not known. What was cut before it is.
	Held *ledger.Place
	// InDoubt is true where nothing that was called sure holds any more, as after a reset.
	InDoubt bool
	// ToolUp is true where the device confirmed that its tool is up.
	ToolUp bool
}

// Sender sends a program to a device. When ctx ends it stops as for a pause, lifts the tool and
// returns processing-stopped; it returns when nothing more of its doing can reach the device.
type Sender func(ctx context.Context, in Run) Outcome

// Device is a machine of the workroom as the daemon sees it.
type Device = control.Device
