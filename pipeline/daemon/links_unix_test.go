//go:build unix

package daemon_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

func TestLinksAndFoldersAreLeftAlone(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	dir := filepath.Join(h.Settings.Inbox, "roll-plotter")
	outside := filepath.Join(h.Dir, "outside.svg")
	err := errors.Join(os.WriteFile(outside, []byte("secret"), 0o644), os.Symlink(outside, filepath.Join(dir, "link.svg")),
		os.Mkdir(filepath.Join(dir, "folder.svg"), 0o755), os.WriteFile(filepath.Join(h.Settings.Inbox, "astray.svg"), []byte("x"), 0o644),
		os.WriteFile(filepath.Join(dir, ".hidden.svg"), []byte("x"), 0o644))
	if err != nil {
		t.Fatal(err)
	}
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Until("they are told of", func() bool {
		return h.Logs.FilterMessageSnippet("links are left alone").Len() == 1 && h.Logs.FilterMessageSnippet("folders are left alone").Len() == 1 &&
			h.Logs.FilterMessageSnippet("outside the devices' folders").Len() == 1
	})
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 3 {
		t.Errorf("left are %v, %v", entries, err)
	}
	jobs, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{})
	if err != nil || len(jobs) != 1 {
		t.Errorf("%d jobs, %v", len(jobs), err)
	}
}
