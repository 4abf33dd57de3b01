package control

import (
	"context"
	"fmt"

	"tracewheel/pipeline/ledger"
)

// Next puts a waiting job before all others of its device. A running job goes on, nothing is released by it, and a job
// that is not made yet is made first. The new rank is in the ledger before a worker looks, so that a crash leaves the
// old order or the new one.
func (d *Jobs) Next(ctx context.Context, id int64) error {
	d.wishes.Lock() // two people who ask at once get different ranks
	defer d.wishes.Unlock()
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return err
	}
	before, err := d.ahead(ctx, j)
	if err != nil {
		return err
	}
	rank, err := d.led.FirstRank(ctx, j.Device)
	if err != nil {
		return err
	}
	_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch {
		case j.State != ledger.Pending && j.State != ledger.Held:
			return ledger.Step{}, d.cannot(j, "put before the others")
		case !before:
			return ledger.Step{}, nil
		}
		j.Rank = rank + 1
		return ledger.Step{Kind: "next", Text: "put before the others of " + j.Device + " by a person"}, nil
	})
	return err
}

// CanBeNext tells whether Next of a job would change the order.
func (d *Jobs) CanBeNext(ctx context.Context, j ledger.Job) (bool, error) {
	if j.State != ledger.Pending && j.State != ledger.Held {
		return false, nil
	}
	return d.ahead(ctx, j)
}

// ahead tells whether another waiting job of the device comes before this one.
func (d *Jobs) ahead(ctx context.Context, j ledger.Job) (bool, error) {
	jobs, err := d.led.Jobs(ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Pending, ledger.Held}, Faulty: true, Turn: true, Limit: 1})
	if err != nil {
		return false, fmt.Errorf("what waits for %q: %w", j.Device, err)
	}
	return len(jobs) > 0 && jobs[0].ID != j.ID, nil
}
