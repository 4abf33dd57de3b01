package remote

import (
	"context"
	"errors"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Jobs, Job, Events and Happened are the Ledger's methods of those names, for who may speak to the
// daemon and not open its ledger.
func (c *Client) Jobs(ctx context.Context, f ledger.Filter) ([]ledger.Job, error) {
	jobs, wanted := []ledger.Job{}, f.Limit
	for {
		a, err := c.ask(ctx, request{Do: doJobs, reading: reading{Filter: &f}})
		if err != nil {
			return nil, err
		}
		r := a.read()
		for _, j := range r.Jobs {
			jobs = append(jobs, ledger.Job(j))
		}
		if r.Fault != "" {
			err = errors.New(r.Fault)
		}
		if wanted > 0 {
			f.Limit = wanted - len(jobs)
		}
		if err != nil || !r.More || wanted > 0 && f.Limit <= 0 {
			return ledger.Readable(jobs, f.Faulty, err)
		}
		if last := jobs[len(jobs)-1].ID; f.Newest {
			f.Below = last
		} else {
			f.Above = last
		}
	}
}

// Job is one job.
func (c *Client) Job(ctx context.Context, id int64) (ledger.Job, error) {
	a, err := c.ask(ctx, request{Do: doJob, Job: id})
	if err != nil {
		return ledger.Job{}, err
	}
	if len(a.read().Jobs) != 1 {
		return ledger.Job{}, errors.New("the daemon's answer holds no job")
	}
	return ledger.Job(a.read().Jobs[0]), nil
}

// Events is a job's history.
func (c *Client) Events(ctx context.Context, id int64) ([]ledger.Event, error) {
	a, err := c.ask(ctx, request{Do: doEvents, Job: id})
	var events []ledger.Event
	for _, e := range a.read().Events {
		events = append(events, ledger.Event(e))
	}
	return events, err
}

// Happened tells whether an event happened on a device since then.
func (c *Client) Happened(ctx context.Context, device, kind, text string, since time.Time) (bool, error) {
	a, err := c.ask(ctx, request{Do: doHappened, reading: reading{Device: device, Kind: kind, Text: text, Since: since}})
	return a.read().Happened, err
}

// Untaken lists what lies in the inbox and becomes no job.
func (c *Client) Untaken(ctx context.Context) ([]ledger.Untaken, error) {
	a, err := c.ask(ctx, request{Do: doUntaken})
	return a.read().Untaken, err
}

// Tool tells how far a device's pen or blade has come since it was changed.
func (c *Client) Tool(ctx context.Context, device string) (ledger.Tool, error) {
	a, err := c.ask(ctx, request{Do: doTool, reading: reading{Device: device}})
	return a.read().Tool, err
}

// Stock lists what is kept of materials.
func (c *Client) Stock(ctx context.Context) ([]ledger.Stock, error) {
	a, err := c.ask(ctx, request{Do: doStock})
	return a.read().Stock, err
}

// StockHistory is what was said and booked of a roll or a remnant.
func (c *Client) StockHistory(ctx context.Context, material string, remnant int64, most int) ([]ledger.StockEvent, error) {
	a, err := c.ask(ctx, request{Do: doHistory, reading: reading{Material: material, Of: remnant, Most: most}})
	return a.read().History, err
}

// Pieces are the pieces of a job in the order in which they are finished, and how far each surely came.
func (c *Client) Pieces(ctx context.Context, id int64) ([]places.Piece, error) {
	a, err := c.ask(ctx, request{Do: doPieces, Job: id})
	return a.read().Pieces, err
}
