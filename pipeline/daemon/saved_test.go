package daemon_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// changedTrials is how many random changes a run of the tests makes; TRACEWHEEL_TRIALS sets another number.
const changedTrials = 60

// TestChangedBytesAreNotSent changes files of jobs in the store, and what the ledger holds of them, while
// they wait for an answer or for a person's go, run, and stand stopped. None of it may be sent or made
// anything of; the answer names the file and the job. Brought back from a copy, the job goes on.
func TestChangedBytesAreNotSent(t *testing.T) {
	trials, seed := changedTrials, uint64(time.Now().UnixNano())
	if testing.Short() {
		trials = 20
	}
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_TRIALS")); err == nil {
		trials = n
	}
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d (of trial i: that plus i)", seed)
	h := daemontest.New(t)
	h.Poll = 5 * time.Millisecond
	const machines = 6
	h.Settings.Devices = nil
	for i := range machines {
		h.Settings.Devices = append(h.Settings.Devices, job.Device{Name: fmt.Sprintf("knife-%d", i), Cuts: true})
	}
	m := &changedMachine{goOn: map[int64]chan struct{}{}, stood: map[int64]bool{}}
	h.Device.Say = m.say
	h.Start()
	var mu sync.Mutex
	kinds := map[string]int{}
	var all sync.WaitGroup
	for i := range machines {
		all.Go(func() {
			for n := i; n < trials && !t.Failed(); n += machines {
				x := &changed{t: t, h: h, m: m, seed: seed + uint64(n), device: fmt.Sprintf("knife-%d", i),
					rng: rand.New(rand.NewPCG(seed+uint64(n), 11))}
				what := x.run(n)
				mu.Lock()
				kinds[what]++
				mu.Unlock()
			}
		})
	}
	all.Wait()
	t.Logf("%d changes: %v", trials, kinds)
}

// changedMachine stands stopped once in the middle of a draft that says STOP, and waits before the end of
// one that says RUN.
type changedMachine struct {
	mu    sync.Mutex
	goOn  map[int64]chan struct{}
	stood map[int64]bool
}

func (m *changedMachine) say(in job.Run) *job.Outcome {
	text := in.Program.Bytes()
	m.mu.Lock()
	defer m.mu.Unlock()
	switch {
	case bytes.Contains(text, []byte("STOP")) && !m.stood[in.Job]:
		m.stood[in.Job] = true
		return &job.Outcome{State: ledger.Stopped, Reason: "the cable came out", Bytes: 8, SureBlock: 2}
	case bytes.Contains(text, []byte("RUN")):
		c := m.wait(in.Job)
		m.mu.Unlock()
		<-c
		m.mu.Lock()
	}
	return nil
}

// wait is closed when a job may end; mu is held.
func (m *changedMachine) wait(job int64) chan struct{} {
	if m.goOn[job] == nil {
		m.goOn[job] = make(chan struct{})
	}
	return m.goOn[job]
}

func (m *changedMachine) end(job int64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	close(m.wait(job))
}

// changed is one change of one job.
type changed struct {
	t      *testing.T
	h      *daemontest.Workroom
	m      *changedMachine
	rng    *rand.Rand
	seed   uint64
	device string
	id     int64
	want   string // the program
}

func (x *changed) fault(format string, args ...any) {
	x.t.Errorf("seed %d, job %d: %s", x.seed, x.id, fmt.Sprintf(format, args...))
}

func (x *changed) run(n int) string {
	when := []string{"asked", "waiting", "running", "stopped"}[x.rng.IntN(4)]
	word := map[string]string{"asked": "ASK", "waiting": "PD1,1", "running": "RUN", "stopped": "STOP"}[when]
	draft := fmt.Sprintf("PU%d,%d\nPD%d,0\n%s\nPD0,%d\n", x.rng.IntN(1000), n, x.rng.IntN(1000), word, x.rng.IntN(1000))
	program := daemontest.Program([]byte(draft))
	x.want = string(program.Bytes())
	name := fmt.Sprintf("vest-%d.svg", n)
	x.h.DropWhole(x.device, fmt.Sprintf("vest-%d.ticket.yaml", n), fmt.Sprintf("copies: %d\n", 1+x.rng.IntN(9)))
	x.h.DropWhole(x.device, name, draft)
	var j ledger.Job
	x.h.Until("it waits", func() bool { j = x.find(name); return j.State == ledger.Held })
	x.id = j.ID
	switch when {
	case "running":
		x.release(nil)
		x.h.Becomes(x.id, ledger.Processing)
	case "stopped":
		x.release(nil)
		x.h.Becomes(x.id, ledger.Stopped)
	}
	if x.rng.IntN(2) == 0 {
		return when + ", " + x.changeRow(when)
	}
	file, change, undo := x.change(j, when)
	x.verifyNames(file)
	switch when {
	case "asked":
		x.release(map[string]string{"allowance": "10mm"})
		x.refused(x.h.Becomes(x.id, ledger.Aborted).Reason, file)
		x.again(file, undo)
	case "waiting":
		x.release(nil)
		x.refused(x.h.Becomes(x.id, ledger.Aborted).Reason, file)
		x.again(file, undo)
	case "running": // it goes on with the bytes that were compared
		x.m.end(x.id)
		x.h.Becomes(x.id, ledger.Completed)
		x.sent(1)
		x.again(file, undo)
	case "stopped":
		for _, from := range []string{"start", "piece", ""} {
			err := x.h.Daemon.Jobs().Resume(x.h.T.Context(), x.id, from, control.BedClear)
			if err == nil {
				x.fault("it goes on from %q though %q %s", from, file, change)
				return when
			}
			x.refused(err.Error(), file)
		}
		undo()
		if err := x.h.Daemon.Jobs().Resume(x.h.T.Context(), x.id, "start", control.BedClear); err != nil {
			x.fault("brought back it does not go on: %v", err)
		}
		x.h.Becomes(x.id, ledger.Completed)
		x.sent(1)
	}
	return when + ", " + change
}

func (x *changed) find(name string) ledger.Job {
	jobs, err := x.h.Daemon.Jobs().Jobs(context.Background(), ledger.Filter{Device: x.device})
	if err != nil {
		x.fault("%v", err)
	}
	if i := slices.IndexFunc(jobs, func(j ledger.Job) bool { return j.File == name && j.AgainOf == 0 }); i >= 0 {
		return jobs[i]
	}
	return ledger.Job{}
}

func (x *changed) release(answers map[string]string) {
	if err := x.h.Daemon.Jobs().Release(context.Background(), x.id, answers, control.BedClear); err != nil {
		x.fault("%v", err)
	}
}

// refused looks that the answer names the file and the job, and blames nothing else.
func (x *changed) refused(words, file string) {
	for _, want := range []string{strconv.Quote(file), fmt.Sprintf("job %d ", x.id), "bring it back from a copy, or drop the draft again"} {
		if !strings.Contains(words, want) {
			x.fault("the answer does not say %s: %s", want, words)
		}
	}
	if strings.Contains(words, "workroom file") {
		x.fault("the answer blames the workroom file: %s", words)
	}
}

// sent looks that the machine had the job so many times, each time its own program.
func (x *changed) sent(times int) {
	got := slices.DeleteFunc(x.h.Device.Sendings(x.device), func(s string) bool { return !strings.HasPrefix(s, fmt.Sprintf("%d:", x.id)) })
	if len(got) != times {
		x.fault("sent %d times, not %d", len(got), times)
	}
	for _, s := range got {
		if s != fmt.Sprintf("%d:0:%s", x.id, x.want) {
			x.fault("sent %q instead of %q", s, x.want)
		}
	}
}

// again makes a new job of one that ended: where its draft or its ticket is not what was saved it is
// refused before that is brought back.
func (x *changed) again(file string, undo func()) {
	jobs := x.h.Daemon.Jobs()
	if !strings.HasPrefix(file, "program.") {
		if _, _, err := jobs.AgainPieces(context.Background(), x.id, "", ""); err == nil || !errors.Is(err, control.ErrNotSaved) {
			x.fault("made again all the same: %v", err)
		} else {
			x.refused(err.Error(), file)
		}
	}
	undo()
	id, _, err := jobs.AgainPieces(context.Background(), x.id, "", "")
	if err != nil {
		x.fault("brought back it is not made again: %v", err)
		return
	}
	x.h.Until("it is made again", func() bool { return x.h.Job(id).State == ledger.Held })
	if x.h.Job(id).Asks != "" {
		x.h.Until("canceled", func() bool { return jobs.Cancel(context.Background(), id) == nil })
		return
	}
	old := x.id
	x.id = id
	x.release(nil)
	if strings.Contains(x.want, "RUN") {
		x.m.end(id)
	}
	x.h.Becomes(id, ledger.Completed)
	x.sent(1)
	x.id = old
}

// verifyNames looks that `verify` names the file as well.
func (x *changed) verifyNames(file string) {
	led, err := ledger.Look(context.Background(), store.LedgerPath(x.h.Settings.Store))
	if err != nil {
		x.fault("%v", err)
		return
	}
	defer led.Close() //nolint:errcheck // only read
	records, err := led.Records(context.Background(), x.id-1, 1)
	if err != nil || len(records) != 1 {
		x.fault("%d records, %v", len(records), err)
		return
	}
	problems := verify.Job(store.Look(x.h.Settings.Store), records[0])
	if !slices.ContainsFunc(problems, func(p verify.Problem) bool {
		return p.Job == x.id && strings.Contains(p.Text, strconv.Quote(file))
	}) {
		x.fault("verify does not name %q: %v", file, problems)
	}
}
