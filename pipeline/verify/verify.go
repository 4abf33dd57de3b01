// Package verify holds a store and its ledger against each other.
package verify

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Problem is one thing in which store and ledger do not fit.
type Problem struct {
	// Job is 0 where it is about no job.
	Job  int64  `json:"job,omitempty"`
	Text string `json:"text"`
	// Mend is what a person can do.
	Mend string `json:"mend,omitempty"`
}

func (p Problem) String() string {
	s := p.Text
	if p.Job != 0 {
		s = fmt.Sprintf("job %d: %s", p.Job, p.Text)
	}
	if p.Mend != "" {
		s += " (" + p.Mend + ")"
	}
	return s
}

// Verify checks the whole of a store and its ledger against each other: every file that the ledger
// names is there with the same content, nothing lies there that no job owns, and every job's state
// could have come about by its history. It reads only, and may run beside a daemon: what a running
// daemon is just changing is looked at a second time before it is called a problem. A store that
// does not exist yet has no problems.
func Verify(dir string) []Problem {
	if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	first := verifyOnce(dir, nil)
	if len(first) == 0 {
		return nil
	}
	time.Sleep(200 * time.Millisecond)
	seen, jobs := map[Problem]bool{}, map[int64]bool{}
	for _, p := range first {
		seen[p], jobs[p.Job] = true, true
	}
	second := verifyOnce(dir, jobs)
	return slices.DeleteFunc(second, func(p Problem) bool { return !seen[p] })
}

// verifyOnce looks at all jobs, or at those only that are named; 0 stands for what is about no job.
func verifyOnce(dir string, only map[int64]bool) []Problem {
	ctx := context.Background()
	v := verifier{ctx: ctx, st: store.Look(dir), only: only}
	if lost, err := v.st.WithoutLedger(); err == nil && len(lost) > 0 {
		v.fault(0, "bring ledger.db back from a copy", "the ledger is missing or empty, and the store holds %d jobs, job %d among them", len(lost), lost[0])
		return v.problems
	}
	led, err := ledger.Look(ctx, store.LedgerPath(dir))
	if errors.Is(err, fs.ErrNotExist) {
		// Calibrations may be kept before the first job came.
		if jobs, _, err := v.st.Jobs(); err == nil && len(jobs) == 0 {
			return nil
		}
	}
	if err != nil {
		v.fault(0, "", "%s", err)
		return v.problems
	}
	v.led = led
	defer func() { _ = led.Close() }()
	if _, err := os.Stat(store.ForgettingMark(dir)); err == nil {
		v.fault(0, "say it again: tracewheel forget CARD --for-good, with the name of the card", "a forgetting was begun and has not ended")
	}
	if only == nil || only[0] {
		if err := led.Check(ctx); err != nil {
			v.fault(0, "bring the ledger back from a copy", "%s", err)
			return v.problems
		}
		v.stock()
	}
	v.jobs()
	v.folders()
	return v.problems
}

// verifier gathers the problems of the whole, or of one job.
type verifier struct {
	ctx      context.Context
	st       *store.Store
	led      *ledger.Ledger
	only     map[int64]bool
	problems []Problem
}

func (v *verifier) fault(job int64, mend, format string, args ...any) {
	v.problems = append(v.problems, Problem{Job: job, Mend: mend, Text: fmt.Sprintf(format, args...)})
}

// stock looks at rolls and remnants.
func (v *verifier) stock() {
	faults, err := v.led.StockFaults(v.ctx)
	if v.failed(0, err) {
		return
	}
	for _, f := range faults {
		v.fault(0, "measure it, then: tracewheel stock correct", "%s", f)
	}
}

// atOnce is how many jobs are asked of the ledger at a time.
const atOnce = 500

// jobs looks at each job.
func (v *verifier) jobs() {
	if v.only != nil {
		for _, id := range slices.Sorted(maps.Keys(v.only)) {
			if got, err := v.led.Records(v.ctx, id-1, 1); !v.failed(id, err) && len(got) == 1 && got[0].Job.ID == id {
				v.each(got)
			}
		}
		return
	}
	// While the files of some are read the next are asked of the ledger.
	type some struct {
		records []ledger.Record
		err     error
	}
	next := make(chan some, 1)
	go func() {
		defer close(next)
		for after := int64(0); ; {
			got, err := v.led.Records(v.ctx, after, atOnce)
			if err != nil || len(got) == 0 {
				next <- some{err: err}
				return
			}
			after = got[len(got)-1].Job.ID
			next <- some{records: got}
		}
	}()
	for got := range next {
		if !v.failed(0, got.err) {
			v.each(got.records)
		}
	}
}

// readers is how many jobs each processor looks at at once: most of the time goes into reading files, for
// which the disk is waited for.
const readers = 4

// each looks at some jobs, several at once.
func (v *verifier) each(records []ledger.Record) {
	found := make([][]Problem, len(records))
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(readers*runtime.GOMAXPROCS(0), len(records)) {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(records)); i = next.Add(1) - 1 {
				found[i] = Job(v.st, records[i])
			}
		})
	}
	all.Wait()
	for _, problems := range found {
		v.problems = append(v.problems, problems...)
	}
}

// folders looks for what no job owns. A job that is on its way out has its row until its folder is gone.
func (v *verifier) folders() {
	folders, other, err := v.st.Jobs()
	if v.failed(0, err) {
		return
	}
	known, err := v.led.Numbers(v.ctx)
	if v.failed(0, err) {
		return
	}
	for _, id := range folders {
		if !known[id] && (v.only == nil || v.only[id]) {
			mend := "bring the ledger back from a copy, or move the folder elsewhere"
			if v.st.Begun(id) {
				mend = "the next start of the daemon sets it aside"
			}
			v.fault(id, mend, "its folder is there but the ledger does not know it")
		}
	}
	for _, name := range other {
		v.fault(0, "move it elsewhere", "%q in the store's jobs is no job's folder", name)
	}
}
