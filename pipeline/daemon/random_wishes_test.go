package daemon_test

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
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

// draftsman sees to it that there is always something to wish for.
func (c *crowd) draftsman(ctx context.Context, rng *rand.Rand) {
	for n := 0; ctx.Err() == nil; n++ {
		if len(c.open()) < 8 {
			lines := make([]string, 1+rng.IntN(12))
			for i := range lines {
				lines[i] = fmt.Sprintf("s%d", i)
			}
			device := []string{"roll-plotter", "knife-table"}[rng.IntN(2)]
			c.h.DropWhole(device, fmt.Sprintf("draft%d.svg", n), strings.Join(lines, "\n"))
		}
		nap(ctx, rng, 30*time.Millisecond)
	}
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

func nap(ctx context.Context, rng *rand.Rand, most time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(time.Duration(rng.Int64N(int64(most)))):
	}
}

// reloader takes devices out of the workroom, brings them back, and makes a cutter of a plotter.
func (c *crowd) reloader(ctx context.Context, rng *rand.Rand) {
	both := c.h.Settings.Devices
	for ctx.Err() == nil {
		set := c.h.Settings
		switch rng.IntN(4) {
		case 0:
			set.Devices = both[:1]
		case 1:
			set.Devices = both[1:]
		case 2:
			set.Devices = []job.Device{{Name: "roll-plotter", Cuts: true}, both[1]}
		}
		c.reload(set)
		nap(ctx, rng, 100*time.Millisecond)
	}
}

func (c *crowd) reload(set daemon.Settings) {
	c.mu.Lock()
	for _, d := range set.Devices {
		delete(c.away, d.Name)
	}
	c.mu.Unlock()
	err := c.h.Daemon.Reload(set, func() {})
	if err != nil {
		if !control.IsRefusal(err) {
			c.t.Error("reload:", err)
		}
		// The old settings are in force, and what is surely away is not known any more.
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.done["reload"]++
	for _, dev := range c.h.Settings.Devices {
		if !slices.ContainsFunc(set.Devices, func(d job.Device) bool { return d.Name == dev.Name }) {
			c.away[dev.Name] = true
		}
	}
}

// person asks for anything of any job.
func (c *crowd) person(ctx context.Context, rng *rand.Rand) {
	client := c.dial()
	defer client.Close() //nolint:errcheck // every answer has come
	for ctx.Err() == nil {
		if jobs := c.open(); len(jobs) > 0 {
			c.wish(client, rng, jobs[rng.IntN(len(jobs))])
		}
		nap(ctx, rng, 10*time.Millisecond)
	}
}

// quick asks at the very moment in which a job changes.
func (c *crowd) quick(ctx context.Context, rng *rand.Rand) {
	client := c.dial()
	defer client.Close() //nolint:errcheck // every answer has come
	moments, stop := c.h.Daemon.Jobs().Subscribe()
	defer stop()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case p := <-moments:
			if p.State.Ended() || rng.IntN(8) != 0 {
				continue
			}
			time.Sleep(time.Duration(rng.IntN(3000)) * time.Microsecond)
			c.wish(client, rng, ledger.Job{ID: p.Job, State: p.State})
		}
	}
}

func (c *crowd) dial() *control.Client {
	client, err := control.Dial(context.Background(), c.h.Settings.Store)
	if err != nil {
		c.t.Fatal(err)
	}
	return client
}

// turn is the right to pause, resume, hold and release a job, or to have a pause and a resume of it cross.
func (c *crowd) turn(job int64) *sync.Mutex {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.turns[job] == nil {
		c.turns[job] = &sync.Mutex{}
	}
	return c.turns[job]
}

// last is the newest sending of a job, and how many there were.
func (c *crowd) last(job int64) (*crowdRun, int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := len(c.runs[job])
	if n == 0 {
		return nil, 0
	}
	return c.runs[job][n-1], n
}

// wish asks for something that fits a job's state, or now and then for what does not, and looks whether
// what was answered with success was done.
func (c *crowd) wish(client *control.Client, rng *rand.Rand, j ledger.Job) {
	likely := map[ledger.State][]string{ledger.Pending: {"hold", "hold", "pause"}, ledger.Held: {"release", "release", "release", "hold"},
		ledger.Processing: {"pause", "pause", "hold"}, ledger.Stopped: {"resume", "resume", "resume", "pause"}}[j.State]
	if len(likely) == 0 || rng.IntN(10) == 0 {
		likely = []string{"hold", "release", "pause", "resume"}
	}
	if rng.IntN(12) == 0 {
		c.cancel(client, j.ID)
		return
	}
	turn := c.turn(j.ID)
	if !turn.TryLock() {
		return
	}
	defer turn.Unlock()
	ask := likely[rng.IntN(len(likely))]
	r, before := c.last(j.ID)
	waits := r != nil && r.read(func() bool { return !r.over })
	if waits && rng.IntN(3) == 0 && (ask == "pause" || ask == "resume") {
		c.cross(client, rng, j.ID)
		return
	}
	var err error
	switch ask {
	case "hold":
		err = client.Hold(c.t.Context(), j.ID)
	case "pause":
		err = client.Pause(c.t.Context(), j.ID)
	case "release", "resume":
		c.mu.Lock()
		c.asked[j.ID]++
		c.mu.Unlock()
		if ask == "release" {
			err = client.Release(c.t.Context(), j.ID, nil, control.BedClear)
		} else if err = client.Resume(c.t.Context(), j.ID, "", control.NotShifted); control.IsRefusal(err) {
			ask, err = "resume from start", client.Resume(c.t.Context(), j.ID, "start", control.BedClear)
		}
		if err != nil {
			c.mu.Lock()
			c.asked[j.ID]--
			c.mu.Unlock()
		}
	}
	if c.answered(ask, j.ID, err) {
		c.carriedOut(ask, j.ID, before, waits)
	}
}

// cross has two people pause and resume a job at the same time. Where both are answered with success either
// order is right, and the job and its machine are in the state that one of the two asked for.
func (c *crowd) cross(client *control.Client, rng *rand.Rand, id int64) {
	other := c.dial()
	defer other.Close() //nolint:errcheck // the answer has come
	c.mu.Lock()
	c.asked[id]++
	c.mu.Unlock()
	first, lead := rng.IntN(2), time.Duration(rng.IntN(300))*time.Microsecond
	var paused, resumed error
	var both sync.WaitGroup
	for i, ask := range []func(){
		func() { paused = client.Pause(c.t.Context(), id) },
		func() { resumed = other.Resume(c.t.Context(), id, "", control.NotShifted) },
	} {
		both.Go(func() {
			if i != first {
				time.Sleep(lead)
			}
			ask()
		})
	}
	both.Wait()
	if resumed != nil {
		c.mu.Lock()
		c.asked[id]--
		c.mu.Unlock()
	}
	p, r := c.answered("crossed pause", id, paused), c.answered("crossed resume", id, resumed)
	switch {
	case p && r:
		c.crossed(id)
	case p:
		c.carriedOut("pause", id, 0, true)
	case r:
		c.carriedOut("resume", id, 0, true)
	}
}

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

func (c *crowd) cancel(client *control.Client, job int64) {
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

// let lets a waiting job go whatever it waits for.
func (c *crowd) let(client *control.Client, rng *rand.Rand, j ledger.Job) {
	for range 20 {
		c.wish(client, rng, j)
		if s := c.h.Job(j.ID).State; s != j.State {
			return
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
