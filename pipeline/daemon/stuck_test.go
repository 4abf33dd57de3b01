package daemon_test

import (
	"context"
	"fmt"
	"runtime/pprof"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// stillness tells that nothing moves any more. A computer that is busy with other things is slow at looking
// too, so that it takes both: a time, and many looks at which all was as before.
type stillness struct {
	seen  string
	since time.Time
	looks int
}

// manyLooks are those after which it counts as still.
const manyLooks = 1000

// lasts notes what a look at this time showed, and tells whether it has been the same for too long.
func (s *stillness) lasts(now time.Time, seen string, patience time.Duration) bool {
	if s.looks == 0 || seen != s.seen {
		*s = stillness{seen: seen, since: now}
	}
	s.looks++
	return s.looks > manyLooks && now.Sub(s.since) > patience
}

func TestStillness(t *testing.T) {
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name  string
		looks int
		every time.Duration
		seen  func(look int) string
		want  bool
	}{
		{"all as before", 31_000, time.Millisecond, func(int) string { return "a" }, true},
		{"too few looks in a long time", 1000, time.Minute, func(int) string { return "a" }, false},
		{"many looks in a short time", 29_000, time.Millisecond, func(int) string { return "a" }, false},
		{"now and then a move", 200_000, time.Millisecond, func(i int) string { return fmt.Sprint(i / 29_000) }, false},
		{"a move, then none", 60_000, time.Millisecond, func(i int) string { return fmt.Sprint(i < 100) }, true},
	} {
		var s stillness
		got := false
		for i := 0; i < c.looks && !got; i++ {
			got = s.lasts(start.Add(time.Duration(i)*c.every), c.seen(i), 30*time.Second)
		}
		if got != c.want {
			t.Errorf("%s: still %v, want %v", c.name, got, c.want)
		}
	}
}

// moves is what changes while jobs come on: how many are left and made, and what their machines took. What
// people ask for is none of it.
func (c *crowd) moves(jobs ...ledger.Job) string {
	ready, ids := 0, map[int64]bool{}
	for _, j := range jobs {
		ids[j.ID] = true
		if j.Ready {
			ready++
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	blocks := 0
	for id, runs := range c.runs {
		for _, r := range runs {
			if ids[id] {
				blocks += r.readBlocks()
			}
		}
	}
	return fmt.Sprintln(len(jobs), ready, blocks)
}

// stuck is what there is to know of jobs that do not come on: a line each, their sendings, their events, and
// what the whole process waits for.
func (c *crowd) stuck(jobs ...ledger.Job) string {
	const clock = "15:04:05.000"
	var b strings.Builder
	fmt.Fprintf(&b, "seed %d, at %s\n", c.seed, time.Now().UTC().Format(clock))
	for _, j := range jobs {
		fmt.Fprintf(&b, "job %d on %s is %s (%s), received %s, ready %v, released %v; sending %d, began %s, updated %s, %d of %d bytes, sure %d\n",
			j.ID, j.Device, j.State, j.Reason, j.Received.UTC().Format(clock), j.Ready, j.Released, j.Sends,
			j.Send.Began.UTC().Format(clock), j.Send.Updated.UTC().Format(clock), j.Send.Bytes, j.Send.Total, j.Send.Sure)
		c.mu.Lock()
		for i, r := range c.runs[j.ID] {
			r.read(func() bool {
				fmt.Fprintf(&b, "  machine, sending %d: %d blocks, over %v, paused %v, cancel %v\n", i+1, r.blocks, r.over, r.Paused, r.Canceled)
				return true
			})
		}
		c.mu.Unlock()
		events, err := c.h.Daemon.Jobs().Events(context.Background(), j.ID)
		for _, e := range events {
			fmt.Fprintf(&b, "  %s %s: %s\n", e.At.UTC().Format(clock), e.Kind, e.Text)
		}
		if err != nil {
			fmt.Fprintf(&b, "  its events: %v\n", err)
		}
	}
	if err := pprof.Lookup("goroutine").WriteTo(&b, 2); err != nil {
		fmt.Fprintln(&b, err)
	}
	return b.String()
}
