//go:build unix

package daemon_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// TestNothingIsWrittenBehindLinks: a folder into which files are written, and which is swept at the start, is no link.
func TestNothingIsWrittenBehindLinks(t *testing.T) {
	for _, name := range []string{"made", "returned"} {
		h := daemontest.New(t)
		outside := t.TempDir()
		cut := filepath.Join(outside, ".part-theirs") // as what a crash leaves is called
		if err := errors.Join(os.WriteFile(cut, nil, 0o600), os.Symlink(outside, filepath.Join(h.Dir, name))); err != nil {
			t.Fatal(err)
		}
		d, err := daemon.New(t.Context(), h.Settings, h.Options)
		if err == nil {
			err = errors.Join(d.Start(t.Context()), d.Stop(t.Context()))
		}
		if err == nil || !strings.Contains(err.Error(), name) || !strings.Contains(err.Error(), "put a folder in its place") {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := os.Lstat(cut); err != nil {
			t.Errorf("%s: a file behind the link: %v", name, err)
		}
	}
}

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
