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

// Job looks at one job: at its files in the store, its history and its sendings.
func Job(st *store.Store, r ledger.Record) []Problem {
	v := verifier{st: st}
	v.job(r)
	return v.problems
}

// failed notes that something could not be looked at.
func (v *verifier) failed(job int64, err error) bool {
	if err != nil {
		v.fault(job, "", "cannot be looked at: %s", err)
	}
	return err != nil
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

func (v *verifier) job(r ledger.Record) {
	if r.Job.Fault != "" {
		v.fault(r.Job.ID, "bring the ledger back from a copy", "%s", r.Job.Fault)
		return
	}
	v.files(r.Job, r.Files)
	v.history(r.Job, r.Events)
	v.sends(r.Job, r.Sends, r.Events)
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

// files compares what the ledger names with what lies there.
func (v *verifier) files(j ledger.Job, files []ledger.File) {
	if j.Stripped == ledger.Forgotten {
		v.forgotten(j, files)
		return
	}
	// Until a job is ready what was made of its draft may be half there; the draft itself may not.
	making := !j.Ready && !j.State.Ended()
	listed := map[string]bool{}
	for _, f := range files {
		listed[f.Name] = true
		if making && !j.MadeOf(f) {
			continue
		}
		sum, err := v.st.Sum(j.ID, f.Name)
		switch {
		case errors.Is(err, fs.ErrNotExist) && j.Stripped == ledger.Stripping && store.Passing(f.Name):
			// What a crash left half removed is finished by the next start.
		case errors.Is(err, fs.ErrNotExist):
			v.fault(j.ID, "bring it back from a copy", "its file %q is missing", f.Name)
		case err != nil:
			v.failed(j.ID, err)
		case sum.Size != f.Size || sum.SHA256 != f.SHA256:
			v.fault(j.ID, "bring it back from a copy", "its file %q is not what was saved", f.Name)
		}
	}
	for _, f := range files {
		if f.Name == ledger.LayFile(j.Lay) && f.SHA256 != j.Lay {
			v.fault(j.ID, "bring the ledger back from a copy", "its line names another lay than its file %q", f.Name)
		}
	}
	for _, must := range []string{j.Original, j.Ticket, ledger.LayFile(j.Lay)} {
		if must != "" && !listed[must] {
			v.fault(j.ID, "", "the ledger does not list its file %q", must)
		}
	}
	if j.Ready && j.Stripped != ledger.Bare && !listed[store.ProgramBytes] {
		v.fault(j.ID, "", "it is ready but has no program")
	}
	if j.Stripped != ledger.Whole && !j.State.Ended() {
		v.fault(j.ID, "", "its program is removed although it has not ended")
	}
	names, err := v.st.Names(j.ID)
	if v.failed(j.ID, err) {
		return
	}
	for _, name := range names {
		switch no := store.SentNo(name); {
		case no > j.Sends && j.State.Ended():
			v.fault(j.ID, "bring the ledger back from a copy", "its folder shows that sending %d was begun, and the ledger counts %d", no, j.Sends)
		case no > j.Sends:
			v.fault(j.ID, "the next start of the daemon stops it", "its folder shows that sending %d was begun, and the ledger counts %d", no, j.Sends)
		case no == 0 && !making && !listed[name]:
			v.fault(j.ID, "move it elsewhere", "a file %q lies in its folder that the ledger does not know", name)
		}
	}
}

// forgotten sees to it that nothing is left of a forgotten job but its number, device, state, dates and sendings.
func (v *verifier) forgotten(j ledger.Job, files []ledger.File) {
	const mend = "say again: tracewheel forget CARD --for-good, with the name of the card"
	if len(files) > 0 || j.File != ledger.ForgottenWord || j.Style+j.Original+j.Ticket+j.Wearer+j.Production != "" {
		v.fault(j.ID, mend, "it is forgotten, and the ledger still knows of its draft")
	}
	if names, err := v.st.Names(j.ID); !v.failed(j.ID, err) && len(names) > 0 {
		v.fault(j.ID, mend, "it is forgotten, and %q still lies in its folder", names[0])
	}
}

// history walks the job's events by the table of transitions.
func (v *verifier) history(j ledger.Job, events []ledger.Event) {
	if len(events) == 0 {
		v.fault(j.ID, "", "it has no history")
		return
	}
	state := ledger.State("")
	for _, e := range events {
		if e.From != state {
			v.fault(j.ID, "", "event %d (%s) starts from %q but the job was %q", e.Seq, e.Kind, e.From, state)
		}
		if e.From != e.To && !ledger.Allowed(e.From, e.To) {
			v.fault(j.ID, "", "event %d (%s) goes from %q to %q, which is no way to go", e.Seq, e.Kind, e.From, e.To)
		}
		state = e.To
	}
	if state != j.State {
		v.fault(j.ID, "", "its history ends as %q but it stands as %q", state, j.State)
	}
	if !j.State.Known() {
		v.fault(j.ID, "", "%q is no state of a job", j.State)
	}
	if j.State.Ended() == j.Ended.IsZero() {
		v.fault(j.ID, "", "it is %s, and its time of ending says otherwise", j.State)
	}
	if j.SameAs >= j.ID || j.AgainOf >= j.ID {
		v.fault(j.ID, "", "it follows a job that came after it")
	}
}

// sends checks that nothing was sent unasked: every run but the first has a person's word.
func (v *verifier) sends(j ledger.Job, sends []ledger.Send, events []ledger.Event) {
	if len(sends) != j.Sends {
		v.fault(j.ID, "", "%d runs are written down but it counts %d", len(sends), j.Sends)
		return
	}
	asked := 1
	for _, e := range events {
		takesBack := e.From == ledger.Stopped && e.Kind == "cancel asked" // of a printer's queue
		if e.Kind == "resume" || e.Kind == ledger.SendingFound || takesBack && e.To == ledger.Processing {
			asked++
		}
	}
	if len(sends) > asked {
		v.fault(j.ID, "see what was drawn", "it was sent %d times, and people asked for %d", len(sends), asked)
	}
	for i, s := range sends {
		if s.No != i+1 {
			v.fault(j.ID, "", "run %d is missing", i+1)
			return
		}
		over := s.End != ""
		if (i < len(sends)-1 || j.State.Ended()) && !over {
			v.fault(j.ID, "", "run %d never ended", s.No)
		}
		if s.Sure >= s.Blocks || s.First > s.Blocks {
			v.fault(j.ID, "", "run %d counts more blocks than there are: from %d to %d of %d", s.No, s.First, s.Sure, s.Blocks)
		}
	}
	begun := len(sends) > 0
	switch j.State {
	case ledger.Processing, ledger.Stopped, ledger.Completed:
		if !begun {
			v.fault(j.ID, "", "it is %s but was never sent", j.State)
		}
	case ledger.Pending, ledger.Held:
		if begun {
			v.fault(j.ID, "", "it is %s but its sending had begun", j.State)
		}
	}
	said := slices.ContainsFunc(events, func(e ledger.Event) bool { // by a person that the sheet is whole
		return e.From == ledger.Stopped && e.To == ledger.Completed
	})
	if j.State == ledger.Completed && begun && !said && sends[len(sends)-1].End != "done" {
		v.fault(j.ID, "", "it is completed but its last run ended as %q", sends[len(sends)-1].End)
	}
}
