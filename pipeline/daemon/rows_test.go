package daemon_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// TestDamagedRowHoldsUpNoOther: a damaged line of a waiting job is told and stepped past; one of a job that
// may stand on a machine keeps that machine still, also where the damage says that it is another's, and no
// other device.
func TestDamagedRowHoldsUpNoOther(t *testing.T) {
	h := daemontest.New(t)
	h.Options.Retry = 5 * time.Millisecond
	h.Settings.Devices = []job.Device{{Name: "pen-1"}, {Name: "pen-2"}, {Name: "pen-3"}, {Name: "knife-4", Cuts: true}}
	stood := false
	h.Device.Say = func(in job.Run) *job.Outcome {
		if in.Device == "pen-2" && !stood {
			stood = true
			return &job.Outcome{State: ledger.Stopped, Reason: "the cable came out", Bytes: 3, SureBlock: 1}
		}
		return nil
	}
	h.Start()
	h.Drop("pen-2", "a.svg", "a")
	h.Becomes(1, ledger.Stopped)
	h.Drop("pen-2", "b.svg", "b")
	h.Until("b is made", func() bool { return h.Job(2).Ready })
	h.Drop("pen-2", "c.svg", "c")
	h.Until("c is made", func() bool { return h.Job(3).Ready })
	row := "UPDATE jobs SET device = '%s' WHERE id = 1"
	if err := errors.Join(h.Damage(fmt.Sprintf(row, "pen-1")), h.Damage("UPDATE jobs SET style = 'x' WHERE id = 2")); err != nil {
		t.Fatal(err)
	}
	h.Daemon.Jobs().Kick("pen-1")
	h.Daemon.Jobs().Kick("pen-2")
	h.Drop("pen-1", "d.svg", "d")
	h.Drop("pen-3", "e.svg", "e")
	h.Becomes(5, ledger.Completed) // another device is not held up
	for _, device := range []string{"pen-1", "pen-2"} {
		h.Until(device+" says why it stands", func() bool {
			for _, e := range h.Logs.FilterMessageSnippet("trouble").All() {
				if m := e.ContextMap(); m["device"] == device && strings.Contains(fmt.Sprint(m["error"]), "job 1: its line in the ledger is not what was written") {
					return true
				}
			}
			return false
		})
		if got := h.Device.Sendings(device); len(got) > 0 {
			t.Errorf("%s was sent %q", device, got)
		}
	}
	if err := h.Damage(fmt.Sprintf(row, "pen-2")); err != nil {
		t.Fatal(err)
	}
	h.Becomes(4, ledger.Completed)
	if err := h.Daemon.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	h.Becomes(3, ledger.Held) // until somebody has seen to the machine; the waiting one before it is stepped past
	if err := h.Daemon.Jobs().Release(t.Context(), 3, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(3, ledger.Completed)
	if got := h.Device.Sendings("pen-2"); len(got) != 1 {
		t.Errorf("sent %q", got)
	}
	list, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{Faulty: true, Unended: true})
	if err != nil || len(list) != 1 || list[0].ID != 2 || list[0].Fault == "" {
		t.Errorf("told is %+v, %v", list, err)
	}
	h.Drop("knife-4", "f.svg", "f")
	h.Becomes(6, ledger.Held)
	if err := h.SQL("UPDATE jobs SET style = style"); err != nil { // stop looks whether all is sound
		t.Error(err)
	}
	h.Stop()
	if err := h.Damage("UPDATE jobs SET style = 'y' WHERE id = 6"); err != nil {
		t.Error(err)
	}
	if _, err := daemon.New(t.Context(), h.Settings, h.Options); err == nil || !strings.Contains(err.Error(), "job 6: its line in the ledger is not what was written") {
		t.Errorf("a start with a damaged line: %v", err)
	}
}

// TestJournalTakenAway: the database knows every job, and its journal with the sendings is gone. The jobs
// that were sent stand stopped and say what is unknown; none is sent again unasked.
func TestJournalTakenAway(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Say = func(in job.Run) *job.Outcome {
		if in.Job == 2 {
			return &job.Outcome{State: ledger.Stopped, Reason: "the cable came out", Bytes: 3, SureBlock: 1}
		}
		return nil
	}
	h.Start()
	for i, device := range []string{"roll-plotter", "knife-table", "knife-table"} {
		h.Drop(device, fmt.Sprintf("%c.svg", 'a'+i), fmt.Sprintf("%c\nz", 'a'+i))
	}
	h.Becomes(1, ledger.Completed)
	for _, id := range []int64{2, 3} {
		h.Becomes(id, ledger.Held)
	}
	h.Stop()
	// As if it had been folded in when the first was made and not begun.
	for _, back := range []string{
		"UPDATE jobs SET state = 'pending', ended = '', sends = 0 WHERE id = 1",
		"DELETE FROM sends", "DELETE FROM events WHERE job = 1 AND kind IN ('begin', 'done')"} {
		if err := h.SQL(back); err != nil {
			t.Fatal(err)
		}
	}
	h.Start()
	j := h.Becomes(1, ledger.Stopped)
	if !strings.Contains(j.Reason, "sending 1 was begun") || !strings.Contains(j.Reason, "unknown") || j.Sends != 1 || j.Send.Sure != -1 {
		t.Errorf("%+v", j)
	}
	if got := h.Device.Sendings("roll-plotter"); len(got) != 1 {
		t.Errorf("sent %q", got)
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), 1, "", ""); err == nil {
		t.Error("it goes on although nobody says from where")
	}
	// A waiting job of a cutter, sent twice: the database of before knows neither.
	h.Stop()
	path := store.LedgerPath(h.Settings.Store)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	h.Start()
	jobs := h.Daemon.Jobs()
	if err := jobs.Release(t.Context(), 2, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(2, ledger.Stopped)
	if err := jobs.Resume(t.Context(), 2, "start", control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Until("it stopped again", func() bool { j := h.Job(2); return j.State == ledger.Stopped && j.Sends == 2 })
	h.Stop()
	if err := os.WriteFile(path, before, 0o600); err != nil {
		t.Fatal(err)
	}
	found := fmt.Sprint(verify.Verify(h.Settings.Store))
	if !strings.Contains(found, "job 2: its folder shows that sending 2 was begun, and the ledger counts 0") {
		t.Errorf("verify says %s", found)
	}
	h.Start()
	if j = h.Becomes(2, ledger.Stopped); j.Sends != 2 || !strings.Contains(j.Reason, "sending 2 was begun") {
		t.Errorf("%+v", j)
	}
	if j := h.Becomes(3, ledger.Held); j.Sends != 0 {
		t.Errorf("one that was never sent: %+v", j)
	}
	if problems := verify.Verify(h.Settings.Store); len(problems) > 0 {
		t.Errorf("%v", problems)
	}
	h.Stop()
	h.Start() // and again nothing more is found
	if j := h.Becomes(2, ledger.Stopped); j.Sends != 2 {
		t.Errorf("%+v", j)
	}
}

// TestRowGoneWhileSent: the end of a sending whose row has another number meanwhile is written once the row
// is as it was.
func TestRowGoneWhileSent(t *testing.T) {
	h := daemontest.New(t)
	h.Options.Retry = 5 * time.Millisecond
	h.Device.Say = func(in job.Run) *job.Outcome {
		if err := h.Damage("UPDATE jobs SET id = 99 WHERE id = 1"); err != nil {
			t.Error(err)
		}
		return nil
	}
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Until("it is told", func() bool {
		for _, e := range h.Logs.FilterMessageSnippet("trouble").All() {
			if strings.Contains(fmt.Sprint(e.ContextMap()["error"]), "no line of job 1, which was sent") {
				return true
			}
		}
		return false
	})
	if err := h.Damage("UPDATE jobs SET id = 1 WHERE id = 99"); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
}
