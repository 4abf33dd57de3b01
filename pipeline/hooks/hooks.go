// Package hooks tells a program or a web address of the workroom's choice that a job needs a person, was refused or is
// done. It takes the jobs and the workroom file in force, reads the ledger, and moves nothing. Nothing of it is durable:
// what happens while it does not run, or is in its queue when the program ends, is told to nobody.
package hooks

import (
	"context"
	"encoding/json"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

const (
	limit  = 10 * time.Second // what one hook may take
	look   = 300 * time.Millisecond
	queued = 100 // events that wait for a slow hook; more are dropped, which is told
)

// facts are what a hook learns: no measures and no wearer, and so no reason either, which may quote them.
type facts struct {
	Event  string    `json:"event"`
	At     time.Time `json:"at"`
	Room   string    `json:"workroom"`
	Job    int64     `json:"job"`
	Device string    `json:"device"`
	File   string    `json:"file"`
	Style  string    `json:"style,omitempty"`
	State  string    `json:"state"`
	// Trial is "dry" or "bounds" of a job that only moved, with the tool up.
	Trial string `json:"trial,omitempty"`
	// Stock tells of a job that waits whether its material suffices; nil where none is counted.
	Stock *ledger.Supply `json:"stock,omitempty"`
}

// Hooks run until Stop.
type Hooks struct {
	jobs  *control.Jobs
	room  func() *config.Workroom
	log   *zap.Logger
	limit time.Duration

	queue chan facts
	stop  context.CancelFunc
	wait  sync.WaitGroup
	// told is why no hook is run, as it was told last.
	told string
}

// Start tells of what happens to jobs from now on.
func Start(ctx context.Context, jobs *control.Jobs, room func() *config.Workroom, log *zap.Logger) *Hooks {
	return start(ctx, jobs, room, log, limit)
}

func start(ctx context.Context, jobs *control.Jobs, room func() *config.Workroom, log *zap.Logger, limit time.Duration) *Hooks {
	h := &Hooks{jobs: jobs, room: room, log: log.With(zap.String("stage", "hook")), limit: limit, queue: make(chan facts, queued)}
	ctx, h.stop = context.WithCancel(context.WithoutCancel(ctx))
	moments, leave := jobs.Subscribe()
	from, err := jobs.LastEvent(ctx)
	if err != nil {
		h.log.Warn("no hook is run", zap.Error(err))
	}
	h.allowed()
	h.wait.Go(func() {
		defer leave()
		if err == nil {
			h.watch(ctx, moments, from)
		}
	})
	h.wait.Go(func() { h.work(ctx) })
	return h
}

// Stop ends them; a hook that runs is ended too.
func (h *Hooks) Stop() {
	h.stop()
	h.wait.Wait()
}

// watch reads what the ledger has since the event from. The moments only say when to look: some may be lost, but not all.
func (h *Hooks) watch(ctx context.Context, moments <-chan control.Progress, from int64) {
	moved := true
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-moments:
			moved = true
			continue
		case <-tick.C:
		}
		if !moved {
			continue
		}
		events, err := h.jobs.EventsAfter(ctx, from)
		if err != nil {
			continue // the next tick looks again
		}
		moved = false
		for _, e := range events {
			from = e.Seq
			h.happened(ctx, e)
		}
	}
}

// happened queues what a hook is to be told of an event.
func (h *Hooks) happened(ctx context.Context, e ledger.Event) {
	name := e.Tells()
	room := h.room()
	if name == "" || !hookOf(room, name).Wanted() {
		return
	}
	f := facts{Event: name, At: e.At.UTC(), Room: room.Name, Job: e.Job, State: string(e.To)}
	if j, err := h.jobs.Job(ctx, e.Job); err == nil {
		f.Device, f.File, f.Style, f.Trial, f.Stock = j.Device, j.File, j.Style, j.Trial(), j.Supply
	}
	select {
	case h.queue <- f:
	default:
		h.log.Warn("a hook is left out, because those before it take too long", zap.Int64("job", e.Job), zap.String("event", name))
	}
}

func hookOf(room *config.Workroom, event string) config.Hook {
	switch event {
	case ledger.NeedsYou:
		return room.Hooks.NeedsYou
	case ledger.Refused:
		return room.Hooks.Refused
	}
	return room.Hooks.Done
}

// work runs hooks, one at a time.
func (h *Hooks) work(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case f := <-h.queue:
			if h.allowed() {
				h.run(ctx, f)
			}
		}
	}
}

// allowed tells whether the workroom file may have hooks run, and tells once why not.
func (h *Hooks) allowed() bool {
	room := h.room()
	if !room.Hooks.NeedsYou.Wanted() && !room.Hooks.Refused.Wanted() && !room.Hooks.Done.Wanted() {
		h.told = ""
		return false
	}
	why := ""
	if err := config.Mine(room.File); err != nil {
		why = err.Error()
	} else if room.Others != nil {
		why = "when the workroom file was read, others could have written it; look through its hooks and have it read again: kill -HUP, or start anew"
	}
	if why != "" && why != h.told {
		h.log.Warn("no hook is run: "+why, zap.String("file", room.File))
	}
	h.told = why
	return why == ""
}

func (h *Hooks) run(ctx context.Context, f facts) {
	hook := hookOf(h.room(), f.Event)
	text, err := json.Marshal(f)
	if err != nil {
		h.log.Error("a hook cannot be told", zap.Error(err))
		return
	}
	text = append(text, '\n')
	say := func(what string, err error) {
		if err != nil && ctx.Err() == nil {
			h.log.Warn(what, zap.Int64("job", f.Job), zap.String("event", f.Event), zap.Error(err))
		}
	}
	if len(hook.Command) > 0 {
		say("a hook's program failed", h.program(ctx, hook.Command, f, text))
	}
	if hook.Post != "" {
		say("a hook's address failed", h.post(ctx, hook.Post, text))
	}
}
