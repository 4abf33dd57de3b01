package control

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"strings"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Made is the result of making a job: a program, or a question.
type Made struct {
	Style  string
	Pieces int
	// Order is what the ticket orders; Names are the names of the pieces, nil where they are not known.
	Order ledger.Order
	Names []ledger.Piece
	Files []ledger.File
	// Ready is true where the program stands in the store.
	Ready bool
	// Asks is the question that a person must answer first.
	Asks string
	// Note is for the history.
	Note string
	// Answers are those with which it was made; where a person gave others meanwhile, it is made again.
	Answers map[string]string
	// Lay is the sum of the lay that it was made with, one of Files; empty where the job keeps the lay that it has.
	Lay string
	// Laid is how much of its material the job takes, mm; Fits are rectangles of material on which it can be laid.
	Laid float64
	Fits []ledger.Rectangle
}

// Ready writes what was made of a waiting job: the job stays pending, or is held for an answer or for a release. A job
// that a person held meanwhile stays held.
func (d *Jobs) Ready(ctx context.Context, id int64, m Made) (ledger.Job, error) {
	d.wishes.Lock() // whether a job is ready decides what a release of it requires
	defer d.wishes.Unlock()
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State.Ended() {
			return ledger.Step{}, fmt.Errorf("%w: job %d ended meanwhile", ledger.ErrState, id)
		}
		if !maps.Equal(j.Answers, m.Answers) {
			return ledger.Step{Kind: "made", Text: "with answers that were changed meanwhile; it is made again"}, nil
		}
		j.Style, j.Pieces, j.Order, j.Ready, j.Asks = m.Style, m.Pieces, m.Order, m.Ready, m.Asks
		j.Laid, j.Fits = m.Laid, m.Fits
		if m.Lay != "" {
			j.Lay = m.Lay
		}
		j.Reason = beforeSearch(j.Reason)
		hold := m.Asks
		if hold == "" && !j.Released && d.needsGo(j) {
			hold = d.goWords(j)
			if j.State == ledger.Pending && j.Reason != "" {
				hold = j.Reason + "; " + hold
			}
		}
		if hold == "" && j.State == ledger.Held && strings.HasPrefix(j.Reason, betterFound) {
			hold = "held by a person, and has a better lay now; look at it before it is released"
		}
		if hold != "" {
			j.State, j.Reason = ledger.Held, hold
		}
		text := cmp.Or(m.Note, pattern.Count(m.Pieces, "piece"))
		return ledger.Step{Kind: "made", Text: text, Files: m.Files, Pieces: m.Names}, nil
	})
}

// MakeAnew has a waiting job made again because its draft would be made otherwise now; changed says why.
func (d *Jobs) MakeAnew(ctx context.Context, id int64, changed string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, fmt.Errorf("%w: job %d does not wait any more", ledger.ErrState, id)
		}
		j.Ready, j.Released = false, false
		why := "because " + changed
		j.Reason = "made anew, " + why
		return ledger.Step{Kind: "made anew", Text: why}, nil
	})
}

// PutAside holds a waiting job whose files cannot be read. When they can be read again, a person releases it and it is
// made.
func (d *Jobs) PutAside(ctx context.Context, id int64, cause string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, fmt.Errorf("%w: job %d does not wait any more", ledger.ErrState, id)
		}
		j.Ready, j.Released, j.State = false, false, ledger.Held
		j.Reason = fmt.Sprintf("%s; bring them back from a copy, then: tracewheel release %d; or cancel it and drop the draft again", cause, id)
		return ledger.Step{Kind: "put aside", Text: cause}, nil
	})
}

// Refuse ends a job whose draft was refused; the report is in returned/ already.
func (d *Jobs) Refuse(ctx context.Context, id int64, m Made, reason string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		j.Style, j.Pieces, j.Order = m.Style, m.Pieces, m.Order
		j.State, j.Reason, j.Ready, j.Asks = ledger.Aborted, reason, false, ""
		return ledger.Step{Kind: "refused", Text: reason, Files: m.Files, Pieces: m.Names}, nil
	})
}

// AwaitPort writes into the reason of a waiting job that starts by itself that it starts when its port is back; waits
// is false for any other job. The history has one line of it, however often it is called.
func (d *Jobs) AwaitPort(ctx context.Context, id int64, gone error) (waits bool, err error) {
	text := fmt.Sprintf("%v; it goes on by itself once that is back", gone)
	j, err := d.led.Job(ctx, id)
	if err != nil || j.State != ledger.Pending || d.needsGo(&j) {
		return false, err
	}
	if j.Reason == text {
		return true, nil
	}
	_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, nil // a person was faster
		}
		j.Reason = text
		return ledger.Step{Kind: "waits", Text: text}, nil
	})
	return true, err
}
