// Package jobtext says in words what is known of jobs, for a terminal: a list, one job with its history, what lies
// in the inbox untaken.
package jobtext

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/returned"
)

// Teller writes to Out; Room is the workroom as far as its folders, nil where there is none.
type Teller struct {
	Out  io.Writer
	Room *config.Workroom
}

// DaemonRuns tells whether somebody drives the workroom's devices.
func (t Teller) DaemonRuns(ctx context.Context) bool {
	if t.Room == nil {
		return false
	}
	c, err := remote.Dial(ctx, t.Room.Path(t.Room.Folders.Store))
	if err == nil {
		_ = c.Close() // nothing was asked
	}
	return !errors.Is(err, remote.ErrNoDaemon)
}

// Made is how far each piece of a job came that stands stopped or was canceled; none where there is one
// piece, nothing was sent, or its program is gone.
func (t Teller) Made(ctx context.Context, j ledger.Job) []places.Piece {
	if t.Room == nil || j.Sends == 0 || j.Trial() != "" || j.State != ledger.Stopped && j.State != ledger.Canceled {
		return nil
	}
	list, _ := reading.Pieces(ctx, t.Room, j.ID)
	return list
}

// Job tells all that is known of a job; tried are its runs with the tool up.
func (t Teller) Job(ctx context.Context, j ledger.Job, tried []ledger.Job, made []places.Piece, events []ledger.Event) {
	fmt.Fprintf(t.Out, "job %d: %s for %s, %s\n", j.ID, pattern.Printable(j.File), j.Device, stateWords(j))
	row := func(name, value string) {
		if value != "" {
			fmt.Fprintf(t.Out, "  %-10s %s\n", name, pattern.Printable(value))
		}
	}
	from := startable(made)
	row("why", returned.Why(t.Room, j))
	if j.State == ledger.Aborted {
		if t.Room != nil {
			row("report in", returned.Folder(t.Room, j))
		}
	}
	row("question", j.Asks)
	row("lay", j.LayShown())
	row("style", j.Style)
	t.order(j, row)
	switch {
	case len(made) > 0:
		text := fmt.Sprintf("%d, in the order in which they are made, numbered as in the lay's picture", len(made))
		if from != "" {
			text += " and for --from-piece"
		}
		row("pieces", text+":")
		for _, r := range places.Rows(made) {
			row(r[0], r[1])
		}
	case j.Pieces > 0:
		row("pieces", strconv.Itoa(j.Pieces))
		row("named", t.named(j))
	}
	if r := j.Remnant; r.No != 0 {
		row("laid on", fmt.Sprintf("remnant %d of %s", r.No, j.Material))
	}
	short, offer := t.Stock(j)
	row("warning", short)
	row("stock", offer)
	row("again", j.AgainSaid())
	t.toBeSeen(j, row)
	row("trial", j.TrialSaid())
	for _, o := range tried {
		text := fmt.Sprintf("%s, job %d", o.TriedSaid(), o.ID)
		if o.State.Ended() {
			text += o.Ended.Local().Format(", 2006-01-02 15:04:05")
		}
		row("tried", text)
	}
	if j.SameAs != 0 {
		row("same as", fmt.Sprintf("job %d had the same content", j.SameAs))
	}
	if now := t.now(ctx, j); now != "" {
		row("now", now)
	} else if j.Sends > 0 {
		row("sent", strings.TrimSuffix(fmt.Sprintf("%d of %d bytes, tool %s", j.Send.Bytes, j.Send.Total, j.Send.Tool), ", tool "+ledger.NoTool))
		switch {
		case j.State != ledger.Stopped || j.Send.End == "" || j.Send.Bytes == 0:
		case j.Send.AllSent():
			row("to end", fmt.Sprintf("all was sent; see whether the sheet is whole, then: tracewheel whole %d, or: tracewheel spoilt %d; tracewheel resume %d lists the places to make it again from", j.ID, j.ID, j.ID))
		default:
			text := fmt.Sprintf("tracewheel resume %d lists the places", j.ID)
			if from != "" {
				text += "; --from-piece N where you see which pieces are made, N one of " + from
			}
			row("to go on", text)
		}
	}
	t.Events(events)
}

// startable are the numbers of the pieces from which a job can go on, "" for none.
func startable(made []places.Piece) string {
	var all []string
	for _, m := range made {
		if m.Start {
			all = append(all, strconv.Itoa(m.Number))
		}
	}
	return strings.Join(all, ", ")
}

// Events prints a job's history.
func (t Teller) Events(events []ledger.Event) {
	for _, e := range events {
		fmt.Fprintf(t.Out, "  %s  %s\n", e.At.Local().Format("2006-01-02 15:04:05"), pattern.Printable(strings.TrimSuffix(e.Kind+": "+e.Text, ": ")))
	}
}

// now is how far a job that is being sent has come by the daemon's word, "" where it is not or no daemon
// runs.
func (t Teller) now(ctx context.Context, j ledger.Job) string {
	if j.State != ledger.Processing && j.State != ledger.Stopped {
		return ""
	}
	if t.Room == nil {
		return ""
	}
	client, err := remote.Dial(ctx, t.Room.Path(t.Room.Folders.Store))
	if err != nil {
		return ""
	}
	defer client.Close() //nolint:errcheck // only asked
	all, err := client.Now(ctx)
	i := slices.IndexFunc(all, func(p control.Progress) bool { return p.Job == j.ID })
	if err != nil || i < 0 {
		return ""
	}
	return nowWords(all[i], j.Reason)
}

// nowWords says how far a job has come, and what it waits for unless that is told as its reason already.
func nowWords(p control.Progress, told string) string {
	text := fmt.Sprintf("%d of %d bytes sent", p.Bytes, p.Total)
	if p.Stroke >= 0 {
		text += fmt.Sprintf(", stroke %d", p.Stroke+1)
	}
	if p.Piece >= 0 {
		text += fmt.Sprintf(" of piece %d", p.Piece+1)
	}
	if left := pattern.TimeLeft(p.Left); left != "" && !p.Person {
		text += ", " + left
	}
	if p.Pausing {
		text += "; pausing"
	}
	if p.Waiting != "" && p.Waiting != told {
		text += "; waiting: " + p.Waiting
	}
	return text
}
