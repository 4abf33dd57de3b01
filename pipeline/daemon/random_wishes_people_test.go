package daemon_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

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

func (c *crowd) dial() *remote.Client {
	client, err := remote.Dial(context.Background(), c.h.Settings.Store)
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
func (c *crowd) wish(client *remote.Client, rng *rand.Rand, j ledger.Job) {
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
func (c *crowd) cross(client *remote.Client, rng *rand.Rand, id int64) {
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

// let lets a waiting job go whatever it waits for.
func (c *crowd) let(client *remote.Client, rng *rand.Rand, j ledger.Job) {
	for range 20 {
		c.wish(client, rng, j)
		if s := c.h.Job(j.ID).State; s != j.State {
			return
		}
	}
}

func nap(ctx context.Context, rng *rand.Rand, most time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(time.Duration(rng.Int64N(int64(most)))):
	}
}
