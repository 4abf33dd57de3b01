package control

import (
	"context"
	"fmt"

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

// standing makes sure that the pause of a live job is in the ledger, which a full disk may have prevented. It does not
// call a job paused whose machine still moves: a person who believes that it stands would reach into it.
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
