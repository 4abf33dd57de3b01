package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/control"
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

// stop is a verb that lets nothing move: it reaches the daemon past a fault in the workroom file.
func (a *app) stop(use, short, example string, do func(ctx context.Context, c *control.Client, id int64) error) *cobra.Command {
	return a.asks(func() (*config.Workroom, error, error) {
		room, fault := a.whereabouts()
		if room == nil {
			return nil, nil, fault
		}
		return room, fault, nil
	}, use, short, example, do)
}
