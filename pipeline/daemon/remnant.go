package daemon

import (
	"context"
	"errors"
	"fmt"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// fitter gives a function that makes a job as if it lay on a remnant, keeps nothing of it, and gives an error that
// says why it does not fit there.
func fitter(jobs *control.Jobs, build job.Maker, say func(mm float64) string) func(context.Context, ledger.Job, ledger.Remnant) error {
	return func(ctx context.Context, j ledger.Job, on ledger.Remnant) (err error) {
		ctx, stop := context.WithTimeout(ctx, makeLimit)
		defer stop()
		defer func() {
			if r := recover(); r != nil {
				err = fmt.Errorf("tracewheel itself failed on this draft (%v): please report it with the file", r)
			}
		}()
		in, err := job.Read(ctx, jobs, j)
		if err != nil {
			return err
		}
		in.Remnant = on
		made, err := build(ctx, in)
		switch {
		case err != nil:
			return err
		case made.Refused:
			return errors.New(made.WhyRefused())
		case made.Laid > on.Length+0.5:
			return fmt.Errorf("it takes %s of length", say(made.Laid))
		}
		return nil
	}
}
