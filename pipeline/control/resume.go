package control

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Resume continues a stopped job. One whose sender still waits goes on in place; from is empty then. One that was cut
// short goes on from "start", "piece", "stroke", places.AtPlace or places.FromPiece; where from is empty and something
// was sent, the answer is a Refusal with the points to choose from and what each may draw twice. A cutter needs the
// confirmation NotShifted, from the start BedClear.
func (d *Jobs) Resume(ctx context.Context, id int64, from string, said Confirmation) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	inPlace := d.isLive(id)
	point, words := places.Point{}, []Confirmation{NotShifted}
	if inPlace {
		if err := d.recordPause(ctx, id, from); err != nil {
			return err
		}
	} else {
		var err error
		if point, err = d.placeOf(ctx, id, from); err != nil {
			return err
		}
		if point.Block == 0 {
			words = []Confirmation{BedClear, NotShifted} // which says the same of cloth that lay so before
		}
	}
	drew := d.drew(ctx, id, inPlace)
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Stopped {
			return ledger.Step{}, d.cannot(j, "resumed")
		}
		if err := d.wants(ctx, j, said, words...); err != nil {
			return ledger.Step{}, withPoint(point, err)
		}
		j.Reason = ""
		if inPlace {
			j.State = ledger.Processing
			return ledger.Step{Kind: "went on", Text: d.saying(j, "continued by a person", said)}, nil
		}
		j.State = ledger.Processing
		send := d.newSend(*j, point.Block)
		if point.From != places.AtPlace {
			send.Held = nil // the sending would begin at that place
		}
		place := fmt.Sprintf("%s (block %d)", point.From, point.Block)
		if point.Seen { // the person sees the drawn piece; the ledger counts it as unsure
			send.Sure, send.Stroke = min(send.Sure, point.Sure), min(send.Stroke, point.SureStroke)
			place += ", " + point.Text + ","
		}
		// A new beginning gives up the material used so far and takes more.
		_, ranMM := drew(j.Send)
		return ledger.Step{Kind: "resume", Send: &send, GivesUp: point.Block == 0 && j.Send.Bytes > 0, RanMM: ranMM,
			Text: d.saying(j, "continued from "+place+" by a person", said)}, nil
	})
	switch {
	case err != nil:
		return err
	case inPlace:
		d.tell(id, func(h Sending) { h.Resume(); h.FreshSheet() })
		d.pausing(id, false)
	default:
		d.open(j, point.Stroke-1)
		d.Kick(j.Device)
	}
	return nil
}

// recordPause makes sure that the pause of a live job is in the ledger, which a full disk may have prevented. It does not
// call a job paused whose machine still moves: a person who believes that it stands would reach into it.
func (d *Jobs) recordPause(ctx context.Context, id int64, from string) error {
	d.mu.Lock()
	l := d.live[id]
	d.mu.Unlock()
	if _, err := d.note(ctx, l); err != nil || from == "" {
		return err
	}
	if j, err := d.led.Job(ctx, id); err != nil || j.State != ledger.Stopped {
		return err
	}
	return refuse(fmt.Sprintf("tracewheel resume %d", id),
		fmt.Sprintf("job %d is paused and goes on where it stands; cancel it to begin elsewhere", id))
}

// placeOf gives the place from which a job that was cut short is to go on.
func (d *Jobs) placeOf(ctx context.Context, id int64, from string) (places.Point, error) {
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return places.Point{}, err
	}
	if err := d.isServed(&j); err != nil {
		return places.Point{}, err
	}
	return d.choose(ctx, j, from)
}

// Points are the places from which a stopped job can go on: always the start, the end of the last whole piece and of
// the last sure stroke where something was surely drawn, and the blade's own place where it is known.
func (d *Jobs) Points(ctx context.Context, id int64) ([]places.Point, error) {
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	return d.points(ctx, j)
}

func (d *Jobs) points(ctx context.Context, j ledger.Job) ([]places.Point, error) {
	if j.State != ledger.Stopped || !j.Ready {
		return nil, d.cannot(&j, "resumed")
	}
	prog, err := d.Sendable(ctx, j)
	if err != nil {
		return nil, err
	}
	points := places.Points(prog, j.Send.Sure, j.Send.Held)
	if j.Send.NothingSent() {
		points[0].Text = "everything from the start; nothing was sent yet"
	}
	return points, nil
}

// choose finds the point that a person named.
func (d *Jobs) choose(ctx context.Context, j ledger.Job, from string) (places.Point, error) {
	points, err := d.points(ctx, j)
	if err != nil {
		return places.Point{}, err
	}
	if n, is := places.PieceOf(from); is {
		prog, err := d.Sendable(ctx, j)
		if err != nil {
			return places.Point{}, err
		}
		return pieceOf(prog, j.ID, n)
	}
	if i := slices.IndexFunc(points, func(p places.Point) bool { return p.From == from }); i >= 0 {
		return points[i], nil
	}
	if from == "" && (j.Send.NothingSent() || d.prints(j.Device)) {
		return points[0], nil // nothing was sent; or a printer's sender sees to it that no page comes twice
	}
	var names []string
	for _, p := range points {
		names = append(names, p.From)
	}
	text := fmt.Sprintf("job %d was cut short; say from where it continues", j.ID)
	if from != "" {
		text = fmt.Sprintf("job %d cannot continue from %q", j.ID, from)
	}
	hint := fmt.Sprintf("tracewheel resume %d --from %s", j.ID, strings.Join(names, "|"))
	if prog, err := d.Sendable(ctx, j); err == nil && prog.Pieces > 1 {
		hint += "; or, where you see which pieces are made, --from-piece N, the first that is not; " + places.ToStart(prog)
	}
	if from == "" && j.Send.AllSent() {
		text = fmt.Sprintf("all of job %d was sent; see whether the sheet is whole", j.ID)
		hint = fmt.Sprintf("tracewheel whole %d, or: tracewheel spoilt %d; or, to make it once more: %s", j.ID, j.ID, hint)
	}
	return places.Point{}, &Refusal{Text: text + ": " + j.Send.FarSaid(), Points: points, Cause: ledger.ErrState, Hint: hint}
}

// Pieces are the pieces of a job's program in the order in which they are completed, each with how far it came.
func (d *Jobs) Pieces(ctx context.Context, id int64) ([]places.Piece, error) {
	j, err := d.led.Job(ctx, id)
	if err != nil || !j.Ready {
		return nil, err
	}
	prog, err := d.Program(ctx, id)
	if err != nil {
		return nil, err
	}
	if prog.Pieces < 2 {
		return nil, nil
	}
	far, err := d.Far(ctx, j, prog)
	return places.SpansOf(prog).Pieces(far), err
}

// Far is how far a job's program came. While it is sent the run tells of itself alone: what an earlier one may have made,
// and this one makes again, is still to come.
func (d *Jobs) Far(ctx context.Context, j ledger.Job, prog devices.Program) (places.Far, error) {
	if now, is := d.NowOf(j.ID); is {
		return now.Far(), nil
	}
	runs, err := d.led.Sends(ctx, j.ID)
	return places.FarOf(prog, runs), err
}

// pieceOf gives the place in a program from which piece n is begun, counted from 1, or a refusal.
func pieceOf(prog devices.Program, id int64, n int) (places.Point, error) {
	p, err := places.At(prog, n)
	all := places.ToStart(prog)
	switch {
	case errors.Is(err, places.ErrNoPiece):
		return p, refuse(fmt.Sprintf("tracewheel resume %d --from-piece N", id), fmt.Sprintf("job %d has no piece %d; %s", id, n, all))
	case err != nil:
		return p, refuse(fmt.Sprintf("tracewheel resume %d --from start", id),
			fmt.Sprintf("nothing of job %d can be left out before piece %d; %s", id, n, all))
	}
	return p, nil
}

// withPoint adds to the question for a confirmation what the chosen place means for the cloth.
func withPoint(p places.Point, err error) error {
	if r, is := err.(*Refusal); is && p.Seen {
		r.Text = fmt.Sprintf("%s; it is to go on from %s, %s", r.Text, p.From, p.Text)
	}
	return err
}
