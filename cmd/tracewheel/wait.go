package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/reading"
)

// The exit statuses of wait beside those of every verb.
const (
	exitPerson = 3
	exitLate   = 4
)

func (a *app) waitCmd() *cobra.Command {
	var person bool
	var limit string
	c := &cobra.Command{
		Use: "wait JOB", Short: "wait until a job has ended, for scripts", Args: cobra.ExactArgs(1),
		Long: fmt.Sprintf("Wait ends when the job has ended; it changes nothing. Exit status: 0 the job is done; 1 it was refused or canceled, or is not there; %d it needs a person, with --or-needs-you; %d it has not ended within --timeout. It says how the job stands.",
			exitPerson, exitLate),
		Example: "  tracewheel wait 12\n  tracewheel wait 12 --or-needs-you --timeout 30m",
	}
	c.Flags().BoolVar(&person, "or-needs-you", false, fmt.Sprintf("end with status %d too when the job is held or stopped and goes no further without a person", exitPerson))
	c.Flags().StringVar(&limit, "timeout", "", "how long at most, such as 30m; otherwise until it has ended")
	c.RunE = func(_ *cobra.Command, args []string) error {
		id, err := jobID(args[0])
		if err != nil {
			return err
		}
		ctx, stop := context.WithCancel(a.ctx)
		defer stop()
		if limit != "" {
			d, err := config.ParseDuration(limit)
			if err != nil || d <= 0 {
				return usage(fmt.Errorf("--timeout is a time such as 30m, not %q", limit))
			}
			ctx, stop = context.WithTimeout(a.ctx, d.D())
			defer stop()
		}
		return a.named(false, func(led reading.Reader) error {
			if led == nil {
				return refused(fmt.Errorf("there is no job %d", id))
			}
			j, err := jobtext.Until(ctx, led, id, person, nil)
			if err != nil && !(a.ctx.Err() == nil && errors.Is(ctx.Err(), context.DeadlineExceeded)) {
				return refused(err)
			}
			return a.ended(j, err != nil)
		})
	}
	return c
}

// ended says how a job stands, and gives the exit status for it.
func (a *app) ended(j ledger.Job, late bool) error {
	a.teller().Line(j)
	switch {
	case j.State == ledger.Completed:
		return nil
	case j.State.Ended():
		return refused(errSaid)
	case late:
		return &failure{exitLate, errSaid}
	}
	return &failure{exitPerson, errSaid}
}
