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

// Rest says where a job goes on whose blade's heading is not known: the program must be made anew, with an alignment
// stroke of its own.
type Rest struct {
	// Whole is the program with which the job was made; the new program must fit what it has cut.
	Whole devices.Program
	// Stroke is the first stroke to be made, by its number in Whole.
	Stroke int
	// Held is where in that stroke the blade was held, nil to make all of it.
	Held *ledger.Place
}

// Draft is a draft with all that was said about it.
type Draft struct {
	Job    int64
	Source []byte
	// Name is the dropped file's name, Ticket the bytes of its ticket, nil for none.
	Name, Device string
	Ticket       []byte
	// Answers are what people said when they released the job: "allowance" -> "10mm".
	Answers map[string]string
	// Cards are the measure cards that are kept with the job, content by name; they count before those of the workroom. So
	// do Blocks, the drafts from which this one takes, and With, those that its ticket names.
	Cards, Blocks, With map[string][]byte
	// Alone leaves out the drafts that the ticket names, and its bodies, for what concerns this draft only.
	Alone bool
	// Lay is the lay that is kept with the job, nil where there is none. It is used while the pieces are those for which
	// it was made.
	Lay []byte
	// Waits is true where a job has no lay yet and may wait for a good one, as long as its device says. Busy tells when
	// the search for one must pause, nil for never.
	Waits bool
	Busy  func() bool
	// Remnant is the one that the job is laid on, the zero one for the material as in the workroom file; Remnants are
	// others, of any material, on which it may fit.
	Remnant  ledger.Remnant
	Remnants []ledger.Stock
	// LaySought is called with the time limit when such a search begins; it may be nil.
	LaySought func(wait time.Duration)
	// Shorter is called with the length of each shorter lay that a search finds, mm; it may be nil.
	Shorter func(length float64)
}

// Better searches a shorter lay than a job's, as long as seek. lay is nil where none is found; words is the outcome in one
// line.
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

// Made is the result of making a draft.
type Made struct {
	Style  string
	Pieces int
	// Order is what the ticket orders, Names are the pieces, once for each time that they are cut.
	Order    ledger.Order
	Names    []ledger.Piece
	Findings []pattern.Finding
	// Program is what is to be sent; it has no blocks where the draft is refused or waits for an answer.
	Program devices.Program
	// Report and Pictures are files, content by name: the report goes back with a refused file.
	Report, Pictures map[string][]byte
	// Cards are the measure cards with which a program was made, Blocks the drafts from which its draft took, and With
	// those that its ticket names: content by name. A draft that is refused or waits for an answer has none, because a
	// person may mend one of them.
	Cards, Blocks, With map[string][]byte
	// Lay is the lay by which the program was made, nil where the draft did not come to one.
	Lay []byte
	// Laid is how much of its material it takes, mm; Fits are rectangles of material on which it fits.
	Laid    float64
	Fits    []ledger.Rectangle
	DrawnMM float64
	Notes   []string
	// Refused ends the job; Reason says why in one line.
	Refused bool
	Reason  string
	// Hold is the question that a person must answer first, empty for none.
	Hold string
	// Beds are the numbers of the pieces of each bed where they are to be cut bed by bed; nothing else is made then.
	Beds []string
}

// WhyRefused says why a draft cannot be made, with the piece concerned.
func (m Made) WhyRefused() string {
	for _, f := range m.Findings {
		if f.Severity == pattern.Error && f.Message == m.Reason && f.Piece != "" {
			return f.Piece + ": " + m.Reason
		}
	}
	return m.Reason
}

// Maker makes a program of a draft. An error is a fault of this program; what is wrong with a draft is in Made. It is
// called for one job of a device at a time, for several devices at once, and must give the same for the same input.
type Maker func(ctx context.Context, in Draft) (Made, error)

// Run is what a Sender is given. The numbers of blocks and strokes are those in Program.
type Run struct {
	Job     int64
	Device  string
	Program devices.Program
	// From is the block with which to go on, 0 for the whole program.
	From int
	// Held is where in the first stroke the blade is lowered again, nil to make all of it.
	Held *ledger.Place
	// Last is what was sent to the device before: a plot that starts at its first byte needs a fresh page after it.
	Last ledger.LastRun
	// Earlier are the sendings of this job before this one, the first one first.
	Earlier []ledger.Send
	// Attach hands over how people's wishes reach this sending; it is called once, before the first byte.
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
