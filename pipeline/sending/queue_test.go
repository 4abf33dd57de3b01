//go:build unix

package sending

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

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
	s, _, in := printingTo(t, "sheets")
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

// TestCancelThatIsNotTakenSaysWhatToDo: where the queue does not take a cancel for long, cannot be asked, or the program
// ends before it does, the person is told to stop the print at the printer.
func TestCancelThatIsNotTakenSaysWhatToDo(t *testing.T) {
	s, _, in := printingTo(t, "sheets")
	old := cancelLimit
	defer func() { cancelLimit = old }()
	in.Attach = func(h control.Sending) { h.Cancel() }
	for _, c := range []struct {
		name           string
		all, one       func(title string) []byte
		limit          time.Duration
		ends           bool
		asked          int
		says, thenSays string
	}{
		{name: "not taken", all: func(title string) []byte { return queuetest.JobAnswer(7, 3, title) }, one: func(string) []byte { return queuetest.JobAnswer(7, 3, "") },
			asked: 1, says: "has not taken sheets-7 back", thenSays: "tracewheel cancel 12 then ends the job here"},
		{name: "silent", all: func(title string) []byte { return queuetest.JobAnswer(7, 3, title) }, one: func(string) []byte { return nil },
			says: "has not taken sheets-7 back", thenSays: "tracewheel cancel 12 then ends the job here"},
		{name: "silent from the beginning", all: func(string) []byte { return nil },
			says: "cannot be asked whether it has this job", thenSays: "tracewheel cancel 12 then ends the job here"},
		{name: "the program ends", all: func(title string) []byte { return queuetest.JobAnswer(7, 3, title) }, one: func(string) []byte { return queuetest.JobAnswer(7, 3, "") },
			limit: time.Hour, ends: true, asked: 1, says: "had not taken it back", thenSays: "the next start asks the queue again"},
	} {
		t.Run(c.name, func(t *testing.T) {
			cancelLimit = c.limit
			title := s.queueTitle(in, "apron.svg")
			p := queuetest.StartPretend(t, func(operation uint16) []byte {
				if operation == getJobAttributes {
					return c.one(title)
				}
				return c.all(title)
			}, map[string]string{"lp": "exit 1", "cancel": "echo 'not now' >&2; exit 1"})
			ctx, end := context.WithCancel(t.Context())
			defer end()
			if c.ends {
				in.Progress = func(control.Progress) { end() }
			}
			out := s.Send(ctx, in)
			if out.State != ledger.Stopped || !strings.Contains(out.Reason, c.says) || !strings.Contains(out.Reason, c.thenSays) || !strings.Contains(out.Reason, "stop it at the printer") {
				t.Errorf("%+v", out)
			}
			if p.Ran("cancel") < c.asked || p.Ran("lp") > 0 {
				t.Errorf("cancel was run %d times, lp %d times", p.Ran("cancel"), p.Ran("lp"))
			}
		})
	}
}

// TestCancelTellsOfAnEarlierHandOver: a job that the queue does not have is called canceled before it was handed over only
// where no earlier sending handed it over or may have done so.
func TestCancelTellsOfAnEarlierHandOver(t *testing.T) {
	s, _, in := printingTo(t, "sheets")
	title := s.queueTitle(in, "apron.svg")
	cancel := func(h control.Sending) { h.Cancel() }
	const nowhere, gone, unknown = "canceled by a person before it was handed over", "canceled by a person; the queue has it no more; a part may have been printed",
		"canceled by a person; the queue does not have it; an earlier sending was cut short, so a part may have been printed"
	for _, c := range []struct {
		name    string
		id      uint32
		state   uint32
		earlier []ledger.Send
		attach  func(control.Sending)
		says    string
	}{
		{"never sent", 0, 0, nil, cancel, nowhere},
		{"not handed over", 0, 0, []ledger.Send{{No: 1, End: "stopped"}}, cancel, nowhere},
		{"handed over", 0, 0, []ledger.Send{{No: 1, End: "stopped", Bytes: 9}, {No: 2, End: "stopped"}}, cancel, gone},
		{"handed over and cut short", 0, 0, []ledger.Send{{No: 1, End: "cut short", Bytes: 9}}, cancel, gone},
		{"cut short", 0, 0, []ledger.Send{{No: 1, End: "cut short"}}, cancel, unknown},
		{"taken back", 7, 7, []ledger.Send{{No: 1, End: "cut short"}}, cancel, gone},
		{"given up", 7, 8, nil, cancel, gone},
		{"paused first", 0, 0, nil, control.Sending.Pause, "asked to end before it was handed over"},
		{"paused, handed over before", 7, 7, nil, control.Sending.Pause, "asked to end before it was handed over again"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := queuetest.StartPretend(t, func(uint16) []byte { return queuetest.JobAnswer(c.id, c.state, title) }, map[string]string{"lp": "exit 1"})
			ctx, end := context.WithCancel(t.Context())
			in.Earlier, in.Attach, in.Progress = c.earlier, c.attach, func(control.Progress) { end() }
			out := s.Send(ctx, in)
			want := ledger.Canceled
			if strings.HasPrefix(c.name, "paused") {
				want = ledger.Stopped
			}
			if out.State != want || !strings.HasSuffix(out.Reason, c.says) || p.Ran("lp") > 0 {
				t.Errorf("%+v", out)
			}
		})
	}
}

// TestEndAfterATakenCancel: where the program ends after the queue took a cancel it says so, and where the queue has told
// by then that the job is canceled, the job is.
func TestEndAfterATakenCancel(t *testing.T) {
	s, _, in := printingTo(t, "sheets")
	title := s.queueTitle(in, "apron.svg")
	for name, c := range map[string]struct {
		after uint32
		state ledger.State
		says  string
	}{
		"not seen": {5, ledger.Stopped, "after the queue took the cancel of sheets-7"},
		"seen":     {7, ledger.Canceled, "sheets-7 was canceled"},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, end := context.WithCancel(t.Context())
			var p *queuetest.Pretend
			p = queuetest.StartPretend(t, func(operation uint16) []byte {
				if operation == getJobAttributes && p.Has("taken") {
					end() // while the queue is asked after its cancel
					return queuetest.JobAnswer(7, c.after, title)
				}
				return queuetest.JobAnswer(7, 5, title)
			}, map[string]string{"cancel": "touch taken"})
			in.Attach = func(h control.Sending) { h.Cancel() }
			out := s.Send(ctx, in)
			if out.State != c.state || !strings.Contains(out.Reason, c.says) || strings.Contains(out.Reason, "resume") {
				t.Errorf("%+v", out)
			}
		})
	}
}

// TestPagesForLpLieBesideTheJob: what a kill leaves of them lies where it is swept, and is forgotten with the job.
func TestPagesForLpLieBesideTheJob(t *testing.T) {
	s, room, in := printingTo(t, "sheets")
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
