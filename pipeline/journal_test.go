package pipeline

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestJournalBeforeTheAct: when the first byte may go, the ledger on disk says so already, and when
// it says that a draft was refused, its report lies in returned/.
func TestJournalBeforeTheAct(t *testing.T) {
	h := newHouse(t)
	h.dev.say = func(in job.Run) *job.Outcome {
		led, err := ledger.Look(context.Background(), store.LedgerPath(h.set.Store))
		if err != nil {
			t.Error(err)
			return nil
		}
		defer led.Close()
		j, err := led.Job(context.Background(), in.Job)
		if err != nil || j.State != ledger.Processing || j.Sends != 1 || j.Send.Total != int64(in.Program.Len()) {
			t.Errorf("as the sending begins the ledger says %+v, %v", j, err)
		}
		return nil
	}
	h.start()
	moments, stop := h.d.Desk().Subscribe()
	defer stop()
	h.drop("roll-plotter", "good.svg", "a")
	h.drop("roll-plotter", "bad.svg", "REFUSE")
	for ended := 0; ended < 2; {
		p := <-moments
		if !p.State.Ended() {
			continue
		}
		ended++
		if p.State == ledger.Aborted {
			if _, err := os.Stat(filepath.Join(h.set.Returned, "bad-job"+strconv.FormatInt(p.Job, 10), "report.html")); err != nil {
				t.Error(err)
			}
		}
	}
}

// TestCancelBeforeTheSenderIsThere: a cancel that comes before the sender has its control is kept
// for it, and counts also where the sending then fails by itself.
func TestCancelBeforeTheSenderIsThere(t *testing.T) {
	h := newHouse(t)
	h.dev.before = func(in job.Run) {
		if err := h.d.Desk().Cancel(context.Background(), in.Job); err != nil {
			t.Error(err)
		}
	}
	h.dev.say = func(in job.Run) *job.Outcome {
		if in.Job == 2 {
			return &job.Outcome{State: ledger.Stopped, Reason: "no such port", SureBlock: -1}
		}
		return nil
	}
	h.start()
	h.drop("roll-plotter", "a.svg", "a")
	h.becomes(1, ledger.Canceled)
	h.drop("roll-plotter", "b.svg", "b")
	if j := h.becomes(2, ledger.Canceled); !strings.Contains(j.Reason, "no such port") {
		t.Errorf("reason %q", j.Reason)
	}
	if got := strings.Join(h.dev.sendings("roll-plotter"), ""); strings.Contains(got, "IN;") {
		t.Errorf("sent %q", got)
	}
}

// TestCancelWhileTheLedgerHangs: a disk that hangs must not keep a person from stopping a machine.
func TestCancelWhileTheLedgerHangs(t *testing.T) {
	h := newHouse(t)
	id := h.running("roll-plotter")
	db, err := sql.Open("sqlite", store.LedgerPath(h.set.Store)+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	hang, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	result := make(chan error, 1)
	go func() { result <- h.d.Desk().Cancel(context.Background(), id) }()
	h.until("the machine has stopped", func() bool { return len(h.dev.sendings("roll-plotter")) == 1 })
	if got := h.dev.sendings("roll-plotter")[0]; strings.Contains(got, "s5;") {
		t.Errorf("sent %q", got)
	}
	if err := hang.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := <-result; err != nil {
		t.Error(err)
	}
	h.becomes(id, ledger.Canceled)
}

// TestEndCannotBeWritten: while the ledger cannot be written, a job that was sent is not sent again; its
// end is written once there is a ledger again.
func TestEndCannotBeWritten(t *testing.T) {
	h := newHouse(t)
	sent := 0
	h.dev.say = func(in job.Run) *job.Outcome {
		if sent++; in.Job != 1 {
			return nil
		}
		db, err := sql.Open("sqlite", store.LedgerPath(h.set.Store)+"?_txlock=immediate")
		if err != nil {
			t.Error(err)
			return nil
		}
		hang, err := db.Begin()
		if err != nil {
			t.Error(err)
			return nil
		}
		go func() {
			h.logs.TakeAll()
			for end := time.Now().Add(h.patience); h.logs.FilterMessageSnippet("trouble").Len() == 0 && time.Now().Before(end); {
				time.Sleep(10 * time.Millisecond)
			}
			_ = errors.Join(hang.Rollback(), db.Close())
		}()
		return &job.Outcome{State: ledger.Completed, SureBlock: 1, ToolUp: true}
	}
	h.start()
	h.drop("roll-plotter", "a.svg", "a\nb")
	h.becomes(1, ledger.Completed)
	h.drop("roll-plotter", "b.svg", "c")
	h.becomes(2, ledger.Completed)
	if sent != 2 {
		t.Errorf("two jobs were sent %d times", sent)
	}
}

// TestLetGoAndNotBegun: a cutter's job and a trial that a person let go stand behind a daemon's end; the
// next start holds them and says why, and nothing moves.
func TestLetGoAndNotBegun(t *testing.T) {
	h := newHouse(t)
	h.running("roll-plotter")
	h.drop("roll-plotter", "next.svg", "n")
	h.becomes(2, ledger.Pending)
	trial, err := h.d.Desk().ToolUp(t.Context(), 2, control.ToolUpDry, "")
	if err != nil {
		t.Fatal(err)
	}
	h.until("the trial is made", func() bool { return h.job(trial).Ready })
	h.stop()
	h.dev.hold = nil
	h.start()
	if j := h.becomes(trial, ledger.Held); !strings.Contains(j.Reason, "not begun before the program ended") {
		t.Errorf("%q", j.Reason)
	}
	if err := h.d.Desk().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	h.drop("roll-plotter", "last.svg", "l")
	h.becomes(4, ledger.Completed)
	if got := h.dev.sendings("roll-plotter"); len(got) != 2 || h.job(trial).State != ledger.Held {
		t.Errorf("sent %q", got)
	}
	if err := h.d.Desk().Release(t.Context(), trial, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.becomes(trial, ledger.Completed)
}
