package daemon_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/returned"
)

func TestEmptyAndBinaryFiles(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	for name, content := range map[string]string{"empty.svg": "", "binary.svg": "\x00\x01\x02\xff", "panic.svg": "PANIC"} {
		h.Drop("roll-plotter", name, content)
	}
	h.Drop("roll-plotter", "good.svg", "a")
	h.Until("all have ended", func() bool {
		jobs, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{States: []ledger.State{ledger.Aborted, ledger.Completed}})
		return err == nil && len(jobs) == 4
	})
	jobs, _ := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{})
	for _, j := range jobs {
		want := map[string]string{"empty.svg": "empty", "binary.svg": "no text", "panic.svg": "please report it", "good.svg": ""}[j.File]
		if !strings.Contains(j.Reason, want) || (j.File == "good.svg") != (j.State == ledger.Completed) {
			t.Errorf("%s is %s: %q", j.File, j.State, j.Reason)
		}
		if j.State != ledger.Aborted {
			continue
		}
		entries, err := os.ReadDir(filepath.Join(h.Settings.Returned, returned.Name(j)))
		if err != nil || len(entries) < 2 {
			t.Errorf("%s came back as %v, %v", j.File, entries, err)
		}
	}
}

// TestOddNames: a file called as our report is, and one whose name is as long as names can be, come
// back as well.
func TestOddNames(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	long := strings.Repeat("ü", 125) + "x.svg" // 255 bytes, the limit of ext4 and most others
	h.Drop("roll-plotter", "report.html", "REFUSE")
	h.Becomes(1, ledger.Aborted)
	if got, err := os.ReadFile(filepath.Join(h.Settings.Returned, "report-job1", "report.html")); err != nil || string(got) != "REFUSE" {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := os.Stat(filepath.Join(h.Settings.Returned, "report-job1", "tracewheel-report.html")); err != nil {
		t.Error(err)
	}
	h.Drop("roll-plotter", long, "REFUSE long")
	j := h.Becomes(2, ledger.Aborted)
	if len(j.File) > 255 || !strings.HasSuffix(j.File, ".svg") || !strings.HasPrefix(j.File, "üüü") {
		t.Errorf("file is %q", j.File)
	}
	if _, err := os.Stat(filepath.Join(h.Settings.Returned, returned.Name(j), j.File)); err != nil {
		t.Error(err)
	}
}

func TestFolderRemovedAndMadeAgain(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	if err := os.RemoveAll(h.Settings.Inbox); err != nil {
		t.Fatal(err)
	}
	h.Drop("roll-plotter", "b.svg", "b")
	h.Becomes(2, ledger.Completed)
}

// TestInboxVanishes: a device's folder that goes, as with a share, is made anew and watched again, and the
// log says so once.
func TestInboxVanishes(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	dir := filepath.Join(h.Settings.Inbox, "roll-plotter")
	if err := os.Rename(dir, filepath.Join(h.Dir, "elsewhere")); err != nil {
		t.Fatal(err)
	}
	h.Until("the folder is there again", func() bool { _, err := os.Stat(dir); return err == nil })
	h.DropWhole("roll-plotter", "b.svg", "b")
	h.Becomes(2, ledger.Completed)
	if n := h.Logs.FilterMessageSnippet("was gone and was made anew").Len(); n != 1 {
		t.Errorf("told %d times", n)
	}
}
