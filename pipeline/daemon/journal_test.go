package daemon_test

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

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestJournalBeforeTheAct: when the first byte may go, the ledger on disk says so already, and when
// it says that a draft was refused, its report lies in returned/.
func TestJournalBeforeTheAct(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Say = func(in job.Run) *job.Outcome {
		led, err := ledger.Look(context.Background(), store.LedgerPath(h.Settings.Store))
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
	h.Start()
	moments, stop := h.Daemon.Jobs().Subscribe()
	defer stop()
	h.Drop("roll-plotter", "good.svg", "a")
	h.Drop("roll-plotter", "bad.svg", "REFUSE")
	for ended := 0; ended < 2; {
		p := <-moments
		if !p.State.Ended() {
			continue
		}
		ended++
		if p.State == ledger.Aborted {
			if _, err := os.Stat(filepath.Join(h.Settings.Returned, "bad-job"+strconv.FormatInt(p.Job, 10), "report.html")); err != nil {
				t.Error(err)
			}
		}
	}
}

// TestCancelBeforeTheSenderIsThere: a cancel that comes before the sender has its control is kept
// for it, and counts also where the sending then fails by itself.
func TestCancelBeforeTheSenderIsThere(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Before = func(in job.Run) {
		if err := h.Daemon.Jobs().Cancel(context.Background(), in.Job); err != nil {
			t.Error(err)
		}
	}
	h.Device.Say = func(in job.Run) *job.Outcome {
		if in.Job == 2 {
			return &job.Outcome{State: ledger.Stopped, Reason: "no such port", SureBlock: -1}
		}
		return nil
	}
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Canceled)
	h.Drop("roll-plotter", "b.svg", "b")
	if j := h.Becomes(2, ledger.Canceled); !strings.Contains(j.Reason, "no such port") {
		t.Errorf("reason %q", j.Reason)
	}
	if got := strings.Join(h.Device.Sendings("roll-plotter"), ""); strings.Contains(got, "IN;") {
		t.Errorf("sent %q", got)
	}
}

// TestCancelWhileTheLedgerHangs: a disk that hangs must not keep a person from stopping a machine.
func TestCancelWhileTheLedgerHangs(t *testing.T) {
	h := daemontest.New(t)
	id := h.Running("roll-plotter")
	db, err := sql.Open("sqlite", store.LedgerPath(h.Settings.Store)+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	hang, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	result := make(chan error, 1)
	go func() { result <- h.Daemon.Jobs().Cancel(context.Background(), id) }()
	h.Until("the machine has stopped", func() bool { return len(h.Device.Sendings("roll-plotter")) == 1 })
	if got := h.Device.Sendings("roll-plotter")[0]; strings.Contains(got, "s5;") {
		t.Errorf("sent %q", got)
	}
	if err := hang.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := <-result; err != nil {
		t.Error(err)
	}
	h.Becomes(id, ledger.Canceled)
}

// TestEndCannotBeWritten: while the ledger cannot be written, a job that was sent is not sent again; its
// end is written once there is a ledger again.
func TestEndCannotBeWritten(t *testing.T) {
	h := daemontest.New(t)
	sent := 0
	h.Device.Say = func(in job.Run) *job.Outcome {
		if sent++; in.Job != 1 {
			return nil
		}
		db, err := sql.Open("sqlite", store.LedgerPath(h.Settings.Store)+"?_txlock=immediate")
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
			h.Logs.TakeAll()
			for end := time.Now().Add(h.Patience); h.Logs.FilterMessageSnippet("trouble").Len() == 0 && time.Now().Before(end); {
				time.Sleep(10 * time.Millisecond)
			}
			_ = errors.Join(hang.Rollback(), db.Close())
		}()
		return &job.Outcome{State: ledger.Completed, SureBlock: 1, ToolUp: true}
	}
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a\nb")
	h.Becomes(1, ledger.Completed)
	h.Drop("roll-plotter", "b.svg", "c")
	h.Becomes(2, ledger.Completed)
	if sent != 2 {
		t.Errorf("two jobs were sent %d times", sent)
	}
}

// TestLetGoAndNotBegun: a cutter's job and a trial that a person let go stand behind a daemon's end; the
// next start holds them and says why, and nothing moves.
func TestLetGoAndNotBegun(t *testing.T) {
	h := daemontest.New(t)
	h.Running("roll-plotter")
	h.Drop("roll-plotter", "next.svg", "n")
	h.Becomes(2, ledger.Pending)
	trial, err := h.Daemon.Jobs().ToolUp(t.Context(), 2, control.ToolUpDry, "")
	if err != nil {
		t.Fatal(err)
	}
	h.Until("the trial is made", func() bool { return h.Job(trial).Ready })
	h.Stop()
	h.Device.Hold = nil
	h.Start()
	if j := h.Becomes(trial, ledger.Held); !strings.Contains(j.Reason, "not begun before the program ended") {
		t.Errorf("%q", j.Reason)
	}
	if err := h.Daemon.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	h.Drop("roll-plotter", "last.svg", "l")
	h.Becomes(4, ledger.Completed)
	if got := h.Device.Sendings("roll-plotter"); len(got) != 2 || h.Job(trial).State != ledger.Held {
		t.Errorf("sent %q", got)
	}
	if err := h.Daemon.Jobs().Release(t.Context(), trial, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(trial, ledger.Completed)
	h.Until("the log says that a trial was done", func() bool {
		return h.Logs.FilterMessage("done").FilterField(zap.String("trial", "dry run of job 2, with the tool up")).Len() == 1
	})
	of := func(id int64) []ledger.Job {
		jobs, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{TrialsOf: id})
		if err != nil {
			t.Fatal(err)
		}
		return jobs
	}
	if tried := of(2); len(tried) != 1 || tried[0].ID != trial || len(of(1))+len(of(trial)) != 0 {
		t.Errorf("the trials of job 2 are %v", tried)
	}
}
