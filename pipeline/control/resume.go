package control

import (
	"context"
	"fmt"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Resume lets a stopped job go on. One whose sender still waits goes on in place, from is empty
// then. One that was cut short goes on from "start", "piece", "stroke", places.AtPlace or places.FromPiece; without a word the answer
// is a Refusal that offers the points and says what each may draw twice, unless nothing was sent yet. A
// cutter does not go on without the word NotShifted, from the start BedClear.
func (d *Jobs) Resume(ctx context.Context, id int64, from string, said Confirmation) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	inPlace := d.isLive(id)
	point, words := places.Point{}, []Confirmation{NotShifted}
	if inPlace {
		if err := d.standing(ctx, id, from); err != nil {
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
			send.Held = nil // it would begin there
		}
		place := fmt.Sprintf("%s (block %d)", point.From, point.Block)
		if point.Seen { // what a person sees is not made surely is not
			send.Sure, send.Stroke = min(send.Sure, point.Sure), min(send.Stroke, point.SureStroke)
			place += ", " + point.Text + ","
		}
		// What lies there is given up where the job begins anew, and more of the material is used.
		_, ranMM := drew(j.Send)
		return ledger.Step{Kind: "resume", Send: &send, GivesUp: point.Block == 0 && j.Send.Bytes > 0, RanMM: ranMM,
			Text: d.saying(j, "continued from "+place+" by a person", said)}, nil
	})
	switch {
	case err != nil:
		return err
	case inPlace:
		d.tell(id, func(h Sending) { h.Resume(); h.FreshSheet() })
	default:
		d.open(j)
		d.Kick(j.Device)
	}
	return nil
}

// standing sees to it that the pause of a live job is written down, as a full disk may have kept it from
// being. Of one that still moves Resume says so itself: who is told that it is paused would reach in.
func (d *Jobs) standing(ctx context.Context, id int64, from string) error {
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

// placeOf is where a job that was cut short is to go on.
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
