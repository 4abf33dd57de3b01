package control

import (
	"context"
	"fmt"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Before anything is removed as old the clock is compared with the newest job that was received at least a day ago: it
// is believed if that job is at most a month old. A machine that starts with a clock far ahead would otherwise remove
// everything; the jobs it takes with that clock are no evidence for a day.
const (
	clockSettles = 24 * time.Hour
	clockAgrees  = 30 * 24 * time.Hour
)

// ClockAgrees tells whether the clock may be believed when old jobs are to be removed. Without a job to compare with
// it is not believed.
func (d *Jobs) ClockAgrees(ctx context.Context) (bool, error) {
	now := d.now()
	last, err := d.led.LastReceived(ctx, now.Add(-clockSettles))
	return err == nil && !last.IsZero() && now.Sub(last) <= clockAgrees, err
}

// atOnce is how many old jobs are asked for at a time.
const atOnce = 500

// old picks the jobs that ended longer ago than keep. A job that was received after a younger one is young itself,
// whatever its dates say: the clock may have been slow then.
func (d *Jobs) old(ctx context.Context, keep time.Duration) (ledger.Filter, error) {
	before := d.now().Add(-keep)
	young, err := d.led.FirstReceived(ctx, before, d.now())
	return ledger.Filter{EndedBefore: before, Below: young, Limit: atOnce}, err
}

// Prune removes jobs that ended longer ago than keep, with all their files, and gives their number. They are marked
// first, so that a restart finishes what a crash left half removed; then the files go, then the rows. With keep 0 it
// only finishes.
func (d *Jobs) Prune(ctx context.Context, keep time.Duration) (n int, err error) {
	if keep > 0 {
		f, err := d.old(ctx, keep)
		if err == nil {
			err = d.inTurn(ctx, f, d.markOld)
		}
		if err != nil {
			return 0, err
		}
	}
	err = d.inTurn(ctx, ledger.Filter{Pruning: true, Limit: atOnce}, func(ctx context.Context, id int64) error {
		err := d.st.Drop(id)
		if err == nil {
			err = d.led.Forget(ctx, id)
		}
		if err == nil {
			n++
		}
		return err
	})
	return n, err
}

// Strip removes program, pictures and report of the jobs that ended longer ago than keep. Their draft, ticket,
// lay and line in the ledger stay, and `again` makes the rest anew. It says how many jobs. With 0 it only
// finishes what a crash left half removed. Like Prune it marks first, and the ledger goes on listing the
// files until none of them can come back through a power cut.
func (d *Jobs) Strip(ctx context.Context, keep time.Duration) (n int, err error) {
	if keep > 0 {
		f, err := d.old(ctx, keep)
		if err != nil {
			return 0, err
		}
		f.Whole = true
		err = d.inTurn(ctx, f, func(ctx context.Context, id int64) error {
			_, err := d.led.Change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
				j.Stripped = ledger.Stripping
				return ledger.Step{}, nil
			})
			return err
		})
		if err != nil {
			return 0, err
		}
	}
	err = d.inTurn(ctx, ledger.Filter{Stripping: true, Limit: atOnce}, func(ctx context.Context, id int64) error {
		err := d.strip(ctx, id)
		if err == nil {
			n++
		}
		return err
	})
	return n, err
}

func (d *Jobs) strip(ctx context.Context, id int64) error {
	files, err := d.led.Files(ctx, id)
	if err != nil {
		return err
	}
	var gone []string
	for _, f := range files {
		if store.Passing(f.Name) {
			gone = append(gone, f.Name)
		}
	}
	if err := d.st.RemoveFiles(id, gone); err != nil {
		return err
	}
	_, err = d.led.Change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		j.Stripped = ledger.Bare
		if len(gone) == 0 {
			return ledger.Step{}, nil
		}
		return ledger.Step{Kind: "program removed", Gone: gone, Text: fmt.Sprintf("with its pictures and its report, because the job is old; tracewheel again %d makes them anew", id)}, nil
	})
	return err
}

// inTurn calls do for each job that a filter picks, a few at a time; do changes the job so that the filter no longer
// picks it.
func (d *Jobs) inTurn(ctx context.Context, f ledger.Filter, do func(context.Context, int64) error) error {
	for {
		jobs, err := d.led.Jobs(ctx, f)
		if err != nil || len(jobs) == 0 {
			return err
		}
		for _, j := range jobs {
			if err := do(ctx, j.ID); err != nil {
				return err
			}
		}
	}
}

// markOld marks a job while no wish copies its files. Removing the files later needs no lock, because no wish finds a
// marked job.
func (d *Jobs) markOld(ctx context.Context, id int64) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	_, err := d.led.Change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		j.Pruning = true
		return ledger.Step{}, nil
	})
	return err
}
