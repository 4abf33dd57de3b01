package daemon_test

import (
	"context"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
)

// crossed holds that a job which was paused and let go on at once comes to stand or to run, that its
// machine does the same, and that it stands where the history has the pause last.
func (c *crowd) crossed(id int64) {
	events, err := c.h.Daemon.Jobs().Events(context.Background(), id)
	if err != nil {
		c.t.Error(err)
		return
	}
	for i := len(events) - 1; i >= 0 && events[i].Kind != "went on"; i-- {
		if events[i].Kind == "pause asked" {
			c.carriedOut("pause", id, 0, true)
			return
		}
	}
	r, _ := c.last(id)
	paused := func() bool { return r.read(func() bool { return r.Paused }) }
	c.soon(id, "paused and let go on", func(j ledger.Job) bool {
		return j.State.Ended() || r.read(func() bool { return r.over }) || j.State == ledger.Stopped == paused()
	})
	if j := c.h.Job(id); j.State != ledger.Stopped || r.read(func() bool { return r.over }) {
		return
	}
	blocks := r.readBlocks()
	time.Sleep(5 * time.Millisecond)
	if n := r.readBlocks(); n != blocks && c.h.Job(id).State == ledger.Stopped {
		c.t.Errorf("job %d was paused and let go on at once: it stands paused, and its machine went on from block %d to %d", id, blocks, n)
	}
}

// answered counts a success, and holds that a failure is a refusal.
func (c *crowd) answered(ask string, job int64, err error) bool {
	if err != nil && !control.IsRefusal(err) {
		c.t.Errorf("%s of job %d: %v", ask, job, err)
	}
	if err != nil {
		return false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.done[ask]++
	return true
}

func (c *crowd) cancel(client *remote.Client, job int64) {
	if !c.answered("cancel", job, client.Cancel(c.t.Context(), job)) {
		return
	}
	c.mu.Lock()
	c.stops[job] = true
	c.mu.Unlock()
	c.soon(job, "canceled", func(j ledger.Job) bool { return j.State.Ended() })
}

// carriedOut looks at the machine and the job after a success. Only a cancel can have come since. The job
// had been sent before times, and waits tells that its last sending had not ended.
func (c *crowd) carriedOut(ask string, job int64, before int, waits bool) {
	switch ask {
	case "hold":
		j := c.h.Job(job)
		if _, n := c.last(job); n != before || j.State != ledger.Held && j.State != ledger.Canceled {
			c.t.Errorf("job %d was held and is %s (%s), sent %d times, before %d", job, j.State, j.Reason, n, before)
		}
	case "release":
		c.released(job)
	case "pause":
		c.soon(job, "paused", func(j ledger.Job) bool { return j.State == ledger.Stopped || j.State.Ended() })
		j := c.h.Job(job)
		r, _ := c.last(job)
		if j.State == ledger.Completed && !r.read(func() bool { return r.latePause }) {
			c.t.Errorf("job %d was paused and is completed, and its machine never heard of it", job)
		}
		if j.State != ledger.Stopped || r == nil {
			return
		}
		blocks := r.readBlocks()
		time.Sleep(5 * time.Millisecond)
		if n := r.readBlocks(); n != blocks {
			c.t.Errorf("job %d is paused and its machine went on from block %d to %d", job, blocks, n)
		}
	case "resume":
		r, _ := c.last(job)
		if !waits { // nothing was sent before: it begins
			c.begins(job, before)
			return
		}
		c.soon(job, "gone on", func(j ledger.Job) bool {
			return j.State.Ended() || r.read(func() bool { return !r.Paused || r.over })
		})
	case "resume from start":
		c.begins(job, before)
	}
}

func (r *crowdRun) readBlocks() (n int) {
	r.read(func() bool { n = r.blocks; return true })
	return n
}

func (c *crowd) begins(job int64, before int) {
	c.soon(job, "sent anew", func(j ledger.Job) bool {
		_, n := c.last(job)
		return n > before || j.State.Ended()
	})
}

// released holds that a job that was let go waits no more, unless something was written after it that
// says why.
func (c *crowd) released(job int64) {
	if j := c.h.Job(job); j.State != ledger.Held {
		return
	}
	events, err := c.h.Daemon.Jobs().Events(context.Background(), job)
	if err != nil {
		c.t.Error(err)
		return
	}
	at := -1
	for i, e := range events {
		if e.Kind == "release" {
			at = i
		}
	}
	if at < 0 || at == len(events)-1 {
		c.t.Errorf("job %d was released and is held: %s", job, c.stuck(c.h.Job(job)))
	}
}

// soon waits for what a success promises, as long as the job comes on.
func (c *crowd) soon(job int64, what string, is func(ledger.Job) bool) {
	for still := (stillness{}); ; time.Sleep(2 * time.Millisecond) {
		j := c.h.Job(job)
		if is(j) || c.t.Failed() {
			return
		}
		if still.lasts(time.Now(), c.moves(j)+string(j.State), c.h.Patience) {
			c.t.Errorf("job %d was answered to be %s and is not: %s", job, what, c.stuck(j))
			return
		}
	}
}
