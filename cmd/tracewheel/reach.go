package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strconv"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/reading"
)

// whereabouts is the workroom as far as its folders. A fault in the file comes beside it: the daemon goes
// on with the file as it was, and what only looks or stops must reach it while somebody mends the new one.
func (a *app) whereabouts() (room *config.Workroom, fault error) {
	room, fault = a.room(false)
	if fault == nil {
		return room, nil
	}
	file, err := a.roomFile()
	if err != nil || file == "" {
		return nil, fault
	}
	return config.Whereabouts(file), fault
}

// allTheSame tells of a fault that did not keep a wish from being met.
func (a *app) allTheSame(fault error) {
	if fault != nil {
		fmt.Fprintln(a.err, "caution: that was done, but the workroom file has a fault, which must be mended before the program is started again:")
		a.say(fault)
	}
}

// named is withLedger for a verb whose output names the workroom first.
func (a *app) named(asJSON bool, fn func(reading.Reader) error) error {
	if room, _ := a.whereabouts(); room != nil {
		nameRoom(a.beside(asJSON), room)
	}
	return a.withLedger(fn)
}

// withLedger opens the ledger for reading; no daemon need run.
func (a *app) withLedger(fn func(reading.Reader) error) error {
	room, fault := a.whereabouts()
	if room == nil {
		return fault
	}
	led, err := reading.Look(a.ctx, room)
	if errors.Is(err, fs.ErrNotExist) {
		if fault != nil {
			return fault
		}
		return fn(nil)
	}
	if err != nil {
		return refused(err)
	}
	defer led.Close() //nolint:errcheck // only read
	return fn(led)
}

// stop is a verb that lets nothing move: it reaches the daemon past a fault in the workroom file and in a name.
func (a *app) stop(use, short, example string, do func(ctx context.Context, c *remote.Client, id int64) error) *cobra.Command {
	return a.asks(true, use, short, example, do)
}

func jobID(s string) (int64, error) {
	id, err := strconv.ParseInt(s, 10, 64)
	if err != nil || id < 1 {
		return 0, usage(fmt.Errorf("a job is a number from `tracewheel jobs`, not %q", s))
	}
	return id, nil
}

// act is a verb that asks the running daemon.
func (a *app) act(use, short, example string, do func(ctx context.Context, c *remote.Client, id int64) error) *cobra.Command {
	return a.asks(false, use, short, example, do)
}

func (a *app) asks(stops bool, use, short, example string, do func(ctx context.Context, c *remote.Client, id int64) error) *cobra.Command {
	c := &cobra.Command{
		Use: use, Short: short, Example: example, Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			id, err := jobID(args[0])
			if err != nil {
				return err
			}
			who, err := asker.Name(a.who)
			if err != nil && !stops {
				return usage(fmt.Errorf("--who: %w", err))
			}
			if err != nil {
				fmt.Fprintf(a.err, "caution: this is asked without the name of --who: %v\n", err)
			}
			room, fault := a.whereabouts()
			if fault != nil && (room == nil || !stops) {
				return fault
			}
			nameRoom(a.out, room)
			client, err := remote.Dial(a.ctx, room.Path(room.Folders.Store))
			if err != nil && fault != nil {
				return usage(errors.Join(err, fault))
			}
			if err != nil {
				return refused(err)
			}
			defer client.Close() //nolint:errcheck // the answer has come already
			client.Who = who
			if err := do(a.ctx, client, id); err != nil {
				return refused(err)
			}
			a.allTheSame(fault)
			return nil
		},
	}
	c.Flags().StringVar(&a.who, "who", "", "who asks, for the history and the log, beside the login name")
	return c
}

func (a *app) done(format string, args ...any) { fmt.Fprintf(a.out, format+"\n", args...) }
