package daemon_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// copyTrials is how many copies are taken; TRACEWHEEL_TRIALS sets another number.
const copyTrials = 6

// TestKilledWhileCopied takes copies of a workroom whose daemon works under load and is killed at random
// moments. Each copy is brought back: store and ledger agree, every job is one that was there, what had
// ended then has ended in the same way, and what had not waits for a person.
func TestKilledWhileCopied(t *testing.T) {
	trials, seed := copyTrials, uint64(time.Now().UnixNano())
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_TRIALS")); err == nil {
		trials = n
	}
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	dir := t.TempDir()
	c := &crashed{t: t, rnd: rand.New(rand.NewPCG(seed, 13)), dir: dir, set: crashSettings(dir),
		drops: map[string]int{}, asked: map[int64]int{}}
	room := backup.Room{File: filepath.Join(dir, "workroom.yaml"), Store: c.set.Store, Cards: filepath.Join(dir, "cards")}
	if err := os.WriteFile(room.File, []byte("folders: {}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	c.stockUp()
	for life := 200 * time.Millisecond; len(c.jobs()) == 0; life *= 2 { // a ledger that is just being made is refused
		c.live(life)
	}
	jobs, open := 0, 0
	for n := range trials {
		file := filepath.Join(t.TempDir(), "copy.tar")
		before := make(chan map[int64]ledger.State, 1)
		done := make(chan error, 1)
		wait := time.Duration(c.rnd.IntN(120)) * time.Millisecond
		go func() {
			time.Sleep(wait)
			before <- states(c.jobs())
			taken, err := backup.Take(context.Background(), room, file, time.Now())
			if err == nil && len(taken.Faults) > 0 {
				err = fmt.Errorf("%v", taken.Faults)
			}
			done <- err
		}()
		c.live(time.Duration(c.rnd.IntN(250)) * time.Millisecond)
		was := <-before
		if err := <-done; err != nil {
			t.Fatalf("copy %d: %v", n+1, err)
		}
		after := states(c.jobs())
		back := filepath.Join(t.TempDir(), "back")
		r, err := backup.Restore(t.Context(), file, back, io.Discard)
		if err != nil {
			t.Fatalf("copy %d: %v", n+1, err)
		}
		for _, p := range verify.Verify(r.Store) {
			t.Errorf("copy %d: verify: %s", n+1, p)
		}
		jobs, open = jobs+r.Jobs, open+len(r.Stopped)
		for id, s := range looked(t, r.Store) {
			switch is, known := after[id]; {
			case !known:
				t.Errorf("copy %d: job %d was never there", n+1, id)
			case s != ledger.Stopped && s != is:
				t.Errorf("copy %d: job %d is %s, and was %s", n+1, id, s, is)
			case was[id].Ended() && s != was[id]:
				t.Errorf("copy %d: job %d had ended as %s and is %s", n+1, id, was[id], s)
			}
			delete(was, id)
		}
		if len(was) > 0 {
			t.Errorf("copy %d: it lost %v", n+1, was)
		}
		c.account()
		if t.Failed() {
			t.FailNow()
		}
	}
	c.letEnd()
	t.Logf("%d copies, %d jobs in them, %d had not ended, %d files dropped", trials, jobs, open, c.count)
	if jobs == 0 {
		t.Error("no job was copied")
	}
}

func states(jobs []ledger.Job) map[int64]ledger.State {
	all := map[int64]ledger.State{}
	for _, j := range jobs {
		all[j.ID] = j.State
	}
	return all
}

// looked are the jobs of a store that nobody holds.
func looked(t *testing.T, dir string) map[int64]ledger.State {
	t.Helper()
	if _, err := os.Stat(store.LedgerPath(dir)); err != nil {
		return nil // the copy was taken before the ledger was made
	}
	led, err := ledger.Look(t.Context(), store.LedgerPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer led.Close() //nolint:errcheck // only read
	jobs, err := led.Jobs(t.Context(), ledger.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	return states(jobs)
}

// TestRestoredGoesOn: a daemon on a restored store sends nothing unasked. What was made goes on where a
// person says, what was not is made anew of its draft, and numbers go on above all that lie anywhere.
func TestRestoredGoesOn(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "done.svg", "a\nb")
	h.Becomes(1, ledger.Completed)
	h.Drop("knife-table", "held.svg", "c\nd")
	h.Becomes(2, ledger.Held)
	h.Drop("knife-table", "asks.svg", "ASK\ne")
	h.Becomes(3, ledger.Held)
	file, room := filepath.Join(h.Dir, "copy.tar"), filepath.Join(h.Dir, "workroom.yaml")
	if err := os.WriteFile(room, []byte("folders: {}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Take(t.Context(), backup.Room{File: room, Store: h.Settings.Store, Cards: filepath.Join(h.Dir, "cards")}, file, time.Now()); err != nil {
		t.Fatal(err)
	}
	h.Stop()
	r, err := backup.Restore(t.Context(), file, filepath.Join(h.Dir, "back"), io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	h.Settings.Store = r.Store
	for _, dir := range []string{filepath.Join(h.Settings.Returned, "apron-job40"), filepath.Join(r.Store, "stray", "55-1"), filepath.Join(r.Store, "stray", "ledger-1")} {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	sent := len(h.Device.Sendings("knife-table"))
	h.Start()
	jobs := h.Daemon.Jobs()
	for id := int64(2); id <= 3; id++ {
		if j := h.Job(id); j.State != ledger.Stopped || !strings.HasPrefix(j.Reason, "restored from the copy of ") {
			t.Errorf("job %d is %s: %s", id, j.State, j.Reason)
		}
	}
	if err := jobs.Resume(t.Context(), 2, "", control.BedClear); err == nil || !strings.Contains(err.Error(), "how much was made is unknown") {
		t.Errorf("goes on without a place: %v", err)
	}
	if n := len(h.Device.Sendings("knife-table")); n != sent {
		t.Errorf("%d were sent unasked", n-sent)
	}
	if err := jobs.Resume(t.Context(), 2, "start", control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(2, ledger.Completed)
	if got := h.Device.Sendings("knife-table"); !slices.Contains(got, "2:0:"+string(daemontest.Program([]byte("c\nd")).Bytes())) {
		t.Errorf("sent: %q", got)
	}
	var no *control.Refusal
	if err = jobs.Resume(t.Context(), 3, "start", control.BedClear); !errors.As(err, &no) || !strings.Contains(no.Hint, "cancel 3 ends it, and again 3 then makes a new job of its draft") {
		t.Errorf("a job without a program: %v", err)
	}
	if err := jobs.Cancel(t.Context(), 3); err != nil {
		t.Fatal(err)
	}
	id, _, err := jobs.AgainPieces(t.Context(), 3, "", "")
	if err != nil || id != 56 {
		t.Errorf("made again it is job %d, %v", id, err)
	}
	h.Becomes(id, ledger.Held)
}
