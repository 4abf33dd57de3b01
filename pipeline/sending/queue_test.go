//go:build unix

package sending

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"tracewheel/devices"
	"tracewheel/devices/queue/queuetest"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// The operations of RFC 8011, 5.4.15.
const getJobAttributes, getJobs = 0x0009, 0x000A

// TestCancelIsAskedUntilTaken: where the queue does not take a cancel this is shown, and it is asked again until it does.
// The queue is asked for the one job alone, and where its server is only once.
func TestCancelIsAskedUntilTaken(t *testing.T) {
	s, _, in := printing(t, func(p *devices.SheetProfile) { p.Output, p.Queue = devices.ToQueue, "sheets" })
	var p *queuetest.Pretend
	p = queuetest.StartPretend(t, func(operation uint16) []byte {
		switch {
		case operation != getJobAttributes:
			return queuetest.JobAnswer(0, 0, "")
		case p.Has("taken"):
			return queuetest.JobAnswer(7, 7, "")
		}
		return queuetest.JobAnswer(7, 3, "")
	}, map[string]string{
		"lp":     "echo 'request id is sheets-7 (1 file(s))'",
		"cancel": "test -e willing || { echo 'not now' >&2; exit 1; }; touch taken",
	})
	var mu sync.Mutex
	var last control.Progress
	in.Progress = func(now control.Progress) { mu.Lock(); last = now; mu.Unlock() }
	var hold atomic.Value
	in.Attach = func(h control.Sending) { hold.Store(h) }
	ends := make(chan job.Outcome, 1)
	go func() { ends <- s.Send(t.Context(), in) }()
	queuetest.Until(t, "the queue has it", func() bool { mu.Lock(); defer mu.Unlock(); return strings.Contains(last.Waiting, "sheets-7") })
	hold.Load().(control.Sending).Cancel()
	queuetest.Until(t, "the queue does not take the cancel twice, and this is shown", func() bool {
		mu.Lock()
		defer mu.Unlock()
		return p.Ran("cancel") >= 2 && strings.Contains(last.Remark, "not now") && strings.Contains(last.Remark, "`cancel sheets-7`")
	})
	if err := os.WriteFile(filepath.Join(p.Dir, "willing"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if out := <-ends; out.State != ledger.Canceled || !strings.Contains(out.Reason, "sheets-7") {
		t.Errorf("%+v", out)
	}
	if all, one := p.Asked(getJobs), p.Asked(getJobAttributes); all != 1 || one < 3 || p.Ran("lpstat") != 1 {
		t.Errorf("it was asked for all jobs %d times, for one %d times, and looked for %d times", all, one, p.Ran("lpstat"))
	}
}

// TestPagesForLpLieBesideTheJob: what a kill leaves of them lies where it is swept, and is forgotten with the job.
func TestPagesForLpLieBesideTheJob(t *testing.T) {
	s, room, in := printing(t, func(p *devices.SheetProfile) { p.Output, p.Queue = devices.ToQueue, "sheets" })
	t.Setenv("TMPDIR", t.TempDir())
	p := queuetest.StartPretend(t, func(operation uint16) []byte {
		if operation == getJobAttributes {
			return queuetest.JobAnswer(7, 9, "")
		}
		return queuetest.JobAnswer(0, 0, "")
	}, map[string]string{"lp": `for file do :; done; cp -- "$file" given; echo "$file" > where; echo 'request id is sheets-7 (1 file(s))'`})
	if out := s.Send(t.Context(), in); out.State != ledger.Completed {
		t.Fatalf("%+v", out)
	}
	where, err := os.ReadFile(filepath.Join(p.Dir, "where"))
	given, gerr := os.ReadFile(filepath.Join(p.Dir, "given"))
	if err := errors.Join(err, gerr); err != nil || string(given) != string(in.Program.Bytes()) {
		t.Fatalf("lp got %d bytes, %v", len(given), err)
	}
	path := strings.TrimSpace(string(where))
	st := store.Look(room.Path(room.Folders.Store))
	if filepath.Dir(path) != st.JobDir(in.Job) {
		t.Errorf("lp got %s", path)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("after the hand-over it lies there still: %v", err)
	}
	if err := os.WriteFile(path, given, 0o600); err != nil { // as a kill leaves it
		t.Fatal(err)
	}
	if names, err := st.Names(in.Job); err != nil || len(names) != 0 {
		t.Errorf("it counts as a file of the job: %v, %v", names, err)
	}
	if err := store.SweepDir(store.Disk{}, st.JobDir(in.Job)); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("it is not swept: %v", err)
	}
}
