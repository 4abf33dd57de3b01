package daemon_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

func TestDraftToDevice(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "skirt.svg", "PU0,0\nPD1,1\nPD2,2\n")
	j := h.Becomes(1, ledger.Completed)
	if j.File != "skirt.svg" || j.Style != "pretend" || j.Pieces != 2 || j.Ended.IsZero() {
		t.Errorf("job is %+v", j)
	}
	if got := h.Device.Sendings("roll-plotter"); !slices.Equal(got, []string{"1:0:IN;PU0,0;PD1,1;PD2,2;"}) {
		t.Errorf("sent %q", got)
	}
	// the state is durable before its line is written
	h.Until("a line for the finished job", func() bool { return h.Logs.FilterMessage("done").Len() == 1 })
	done := h.Logs.FilterMessage("done").All()
	fields := done[0].ContextMap()
	if fields["pieces"] != int64(2) || fields["metres"] != 0.3 || fields["bytes"] != int64(21) || fields["device"] != "roll-plotter" {
		t.Errorf("the finished job's line says %v", fields)
	}
	entries, err := os.ReadDir(filepath.Join(h.Settings.Inbox, "roll-plotter"))
	if err != nil || len(entries) != 0 {
		t.Errorf("in the inbox are left %v, %v", entries, err)
	}
}

func TestRefusedComesBack(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "bad.ticket.yaml", "copies: 2\n")
	h.Drop("roll-plotter", "bad.svg", "REFUSE")
	j := h.Becomes(1, ledger.Aborted)
	if !strings.Contains(j.Reason, "bodice front") || !strings.Contains(j.Reason, "open by 3 mm") {
		t.Errorf("reason is %q", j.Reason)
	}
	for name, want := range map[string]string{"bad.svg": "REFUSE", "bad.ticket.yaml": "copies: 2\n", "report.html": "<p></p>", "draft.svg": "<svg/>"} {
		got, err := os.ReadFile(filepath.Join(h.Settings.Returned, "bad-job1", name))
		if err != nil || string(got) != want {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}

func TestCutterWaitsForAPerson(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("knife-table", "vest.svg", "a\nb")
	j := h.Becomes(1, ledger.Held)
	if len(h.Device.Sendings("knife-table")) != 0 {
		t.Fatal("a cutter moved unasked")
	}
	if !j.Ready || j.Asks != "" {
		t.Errorf("held job is %+v", j)
	}
	if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
}
