package daemon_test

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// TestRandomWishes lets several people at once ask the whole daemon, over its socket, for cancels, pauses,
// holds, releases and resumes, many of them in the milliseconds in which a sending begins or ends, while
// the workroom file is read anew again and again. No wish may be answered with success and not be
// carried out: the machine hears it, and the job ends in the state that was asked for. TRACEWHEEL_WISHES
// is for how long (a minute, with -short 5 s), TRACEWHEEL_SEED repeats the choices.
func TestRandomWishes(t *testing.T) {
	long, seed := time.Minute, uint64(time.Now().UnixNano())
	if testing.Short() {
		long = 5 * time.Second
	}
	if d, err := time.ParseDuration(os.Getenv("TRACEWHEEL_WISHES")); err == nil {
		long = d
	}
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d (of round i: that plus i)", seed)
	const round = 10 * time.Second // the ledger of one stays small
	sum := map[string]int{}
	for i := uint64(0); long > 0 && !t.Failed(); i++ {
		lasts := min(round, long)
		long -= lasts
		t.Run(fmt.Sprintf("seed %d", seed+i), func(t *testing.T) {
			for what, n := range newCrowd(t, seed+i).run(lasts) {
				sum[what] += n
			}
		})
	}
	t.Logf("answered with success: %v", sum)
}

// crowd is a daemon and those who ask it.
type crowd struct {
	t    *testing.T
	h    *daemontest.Workroom
	seed uint64

	mu    sync.Mutex
	turns map[int64]*sync.Mutex // hold, release, pause and resume of one job come one after the other, but for cross
	runs  map[int64][]*crowdRun // what was sent of each job, in order
	asked map[int64]int         // releases and resumes asked for
	away  map[string]bool       // devices that surely are not in the workroom
	done  map[string]int        // wishes answered with success
	stops map[int64]bool        // jobs whose cancel was answered with success
}

// crowdRun is one sending as its machine sees it.
type crowdRun struct {
	daemontest.Sending
	device string
	// blocks counts what it took.
	blocks int
	// over is set once it looks at no wish any more; late are those that came then.
	over                  bool
	lateCancel, latePause bool
}

func (r *crowdRun) Pause() {
	r.Set(func() { r.Paused, r.latePause = true, r.latePause || r.over })
}
func (r *crowdRun) Resume() { r.Set(func() { r.Paused = false }) }
func (r *crowdRun) Cancel() {
	r.Set(func() { r.Canceled, r.lateCancel = true, r.lateCancel || r.over })
}

func (r *crowdRun) read(f func() bool) bool {
	r.Sending.Mu.Lock()
	defer r.Sending.Mu.Unlock()
	return f()
}

func newCrowd(t *testing.T, seed uint64) *crowd {
	c := &crowd{t: t, h: daemontest.New(t), seed: seed, turns: map[int64]*sync.Mutex{}, runs: map[int64][]*crowdRun{},
		asked: map[int64]int{}, away: map[string]bool{}, done: map[string]int{}, stops: map[int64]bool{}}
	c.h.Options.Send = c.send
	return c
}

func (c *crowd) rng(who uint64) *rand.Rand { return rand.New(rand.NewPCG(c.seed, who)) }

// send is a machine that takes a block every millisecond or two, and now and then fails.
func (c *crowd) send(ctx context.Context, in job.Run) job.Outcome {
	r := &crowdRun{Sending: daemontest.Sending{Wake: make(chan struct{}, 1)}, device: in.Device}
	c.mu.Lock()
	if c.away[in.Device] {
		c.t.Errorf("job %d is sent to %s, which a reload has taken out of the workroom", in.Job, in.Device)
	}
	c.runs[in.Job] = append(c.runs[in.Job], r)
	if n := len(c.runs[in.Job]); in.Device == "knife-table" && c.asked[in.Job] < n {
		c.t.Errorf("job %d moves a cutter for the %d. time, and was let go %d times", in.Job, n, c.asked[in.Job])
	}
	rng := rand.New(rand.NewPCG(c.seed, uint64(in.Job)<<8+uint64(len(c.runs[in.Job]))))
	c.mu.Unlock()
	time.Sleep(time.Duration(rng.IntN(2000)) * time.Microsecond) // a port that opens
	in.Attach(r)
	out := job.Outcome{State: ledger.Completed, ToolUp: true, SureBlock: in.From - 1}
	rest, _ := in.Program.From(in.From)
	start := len(in.Program.Blocks) - len(rest.Blocks)
	for i, b := range rest.Blocks {
		if stop := c.heed(ctx, in, r, out.Bytes); stop != nil {
			stop.Bytes, stop.SureBlock = out.Bytes, out.SureBlock
			return *stop
		}
		if rng.IntN(60) == 0 {
			r.Set(func() { r.over = true })
			return job.Outcome{State: ledger.Stopped, Reason: "out of range", Bytes: out.Bytes, SureBlock: out.SureBlock}
		}
		time.Sleep(time.Duration(rng.IntN(2000)) * time.Microsecond)
		r.Set(func() { r.blocks++ })
		out.Bytes += int64(len(b.Bytes))
		out.SureBlock = start + i
		in.Progress(control.Progress{Bytes: out.Bytes, Total: int64(in.Program.Len()), Stroke: b.Stroke, Piece: b.Piece, Sure: b.Stroke, SureBlock: out.SureBlock})
	}
	for {
		if stop := c.heed(ctx, in, r, out.Bytes); stop != nil {
			stop.Bytes, stop.SureBlock = out.Bytes, out.SureBlock
			return *stop
		}
		if r.read(func() bool { r.over = !r.Paused && !r.Canceled; return r.over }) {
			return out
		}
	}
}

// heed meets wishes; it gives an outcome where the sending is to end. As a real sender does, it tells once
// that it waits, and once that it goes on.
func (c *crowd) heed(ctx context.Context, in job.Run, r *crowdRun, sent int64) *job.Outcome {
	end := func(s ledger.State, why string) *job.Outcome {
		r.Set(func() { r.over = true })
		return &job.Outcome{State: s, Reason: why, ToolUp: true}
	}
	for told := false; ; {
		paused, cancel := r.Look()
		switch {
		case cancel:
			return end(ledger.Canceled, "canceled by a person")
		case ctx.Err() != nil:
			return end(ledger.Stopped, "the daemon was stopped")
		case !paused && told:
			in.Progress(control.Progress{Bytes: sent, Sure: -1, SureBlock: -1})
			return nil
		case !paused:
			return nil
		}
		if !told {
			in.Progress(control.Progress{Bytes: sent, Sure: -1, SureBlock: -1, Waiting: "paused by a person", Person: true})
			told = true
		}
		select {
		case <-r.Wake:
		case <-ctx.Done():
		}
	}
}

// run lets everybody ask for a while, then lets everything end, and gives how many wishes were met.
func (c *crowd) run(lasts time.Duration) map[string]int {
	c.h.Start()
	ctx, cancel := context.WithTimeout(c.t.Context(), lasts)
	defer cancel()
	var all sync.WaitGroup
	for who := range uint64(3) {
		all.Go(func() { c.person(ctx, c.rng(who+10)) })
	}
	all.Go(func() { c.quick(ctx, c.rng(20)) })
	all.Go(func() { c.draftsman(ctx, c.rng(21)) })
	all.Go(func() { c.reloader(ctx, c.rng(22)) })
	all.Wait()
	if !c.t.Failed() {
		c.drain()
		c.settle()
	}
	c.h.Stop()
	return c.done
}

// open are the jobs that have not ended.
func (c *crowd) open() []ledger.Job {
	jobs, err := c.h.Daemon.Jobs().Jobs(context.Background(), ledger.Filter{
		States: []ledger.State{ledger.Pending, ledger.Held, ledger.Processing, ledger.Stopped}})
	if err != nil {
		c.t.Error(err)
	}
	return jobs
}

// drain brings all devices back and lets all jobs end: none may be stuck. It takes as long as it takes.
func (c *crowd) drain() {
	for !c.t.Failed() {
		c.reload(c.h.Settings)
		c.mu.Lock()
		away := len(c.away)
		c.mu.Unlock()
		if away == 0 {
			break
		}
	}
	client, rng := c.dial(), c.rng(30)
	defer client.Close() //nolint:errcheck // every answer has come
	for still := (stillness{}); !c.t.Failed(); time.Sleep(5 * time.Millisecond) {
		c.reload(c.h.Settings)
		jobs := c.open()
		if len(jobs) == 0 {
			return
		}
		if still.lasts(time.Now(), c.moves(jobs...), c.h.Patience) {
			c.t.Errorf("these never end: %s", c.stuck(jobs...))
			return
		}
		for _, j := range jobs {
			if j.State == ledger.Held || j.State == ledger.Stopped {
				c.let(client, rng, j)
			}
		}
	}
}

// settle holds that every cancel that was answered with success was one: the job is canceled, or its
// machine had finished when it heard.
func (c *crowd) settle() {
	for _, job := range slices.Sorted(maps.Keys(c.stops)) {
		j := c.h.Job(job)
		if j.State == ledger.Canceled {
			continue
		}
		if r, _ := c.last(job); r == nil || !r.read(func() bool { return r.lateCancel }) {
			c.t.Errorf("job %d was canceled and is %s: %s", job, j.State, j.Reason)
		}
	}
}
