package daemon_test

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// TestLostLedgerIsTold: who only looks is not told that nothing was ever received, nor given a copy without
// the jobs, where the ledger is missing or empty and the store holds jobs.
func TestLostLedgerIsTold(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Stop()
	room := config.Sample(pattern.RuleNames())
	room.Dir, room.File, room.Folders.Store = h.Dir, filepath.Join(h.Dir, "workroom.yaml"), h.Settings.Store
	if err := os.WriteFile(room.File, []byte("folders: {}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	path := store.LedgerPath(h.Settings.Store)
	for what, lose := range map[string]func() error{
		"missing": func() error { return os.Remove(path) },
		"empty":   func() error { return os.WriteFile(path, nil, 0o600) },
	} {
		if err := lose(); err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		for _, end := range []string{"-wal", "-shm"} {
			_ = os.Remove(path + end)
		}
		const want = "is missing or empty, and the store holds"
		if _, err := reading.Look(t.Context(), room); err == nil || errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: jobs says %v", what, err)
		}
		if found := fmt.Sprint(verify.Verify(h.Settings.Store)); !strings.Contains(found, want) {
			t.Errorf("%s: verify says %s", what, found)
		}
		if _, err := backup.Take(t.Context(), backup.Room{File: room.File, Store: h.Settings.Store}, filepath.Join(h.Dir, what+".tar"), time.Now()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: backup says %v", what, err)
		}
	}
}

// TestSheetsKeepTheirNumbers: where the ledger is lost, numbers go on after those of the sheets that lie in the folder
// of what was made, which stay there; what was cut short while it was written goes.
func TestSheetsKeepTheirNumbers(t *testing.T) {
	h := daemontest.New(t)
	if err := os.Mkdir(h.Settings.Made, 0o700); err != nil {
		t.Fatal(err)
	}
	half := filepath.Join(h.Settings.Made, ".part-CUTSHORT-apron-job2.pdf")
	whole := filepath.Join(h.Settings.Made, "apron-job41.pdf")
	for _, file := range []string{half, whole, filepath.Join(h.Settings.Made, "mine.pdf")} {
		if err := os.WriteFile(file, []byte("%PDF-"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(42, ledger.Completed)
	if _, err := os.Stat(half); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the half-written one: %v", err)
	}
	if _, err := os.Stat(whole); err != nil {
		t.Error(err)
	}
}

// TestLostLedger: with its ledger gone the store's drafts are set aside, never removed, and numbers
// go on after them.
func TestLostLedger(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "the only copy")
	h.Becomes(1, ledger.Completed)
	h.Stop()
	for _, end := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(store.LedgerPath(h.Settings.Store) + end)
	}
	for range 2 {
		if _, err := daemon.New(t.Context(), h.Settings, h.Options); err == nil || !strings.Contains(err.Error(), "--new-ledger") || !strings.Contains(err.Error(), "job 1") {
			t.Fatalf("a start without the ledger: %v", err)
		}
	}
	h.Options.NewLedger = true
	h.Start()
	got, err := os.ReadFile(filepath.Join(h.Settings.Store, "stray", "1-1", "original.svg"))
	if err != nil || string(got) != "the only copy" {
		t.Errorf("%q, %v", got, err)
	}
	h.Drop("roll-plotter", "b.svg", "b")
	h.Becomes(2, ledger.Completed)
	h.Stop()
	if _, err := daemon.New(t.Context(), h.Settings, h.Options); err == nil || !strings.Contains(err.Error(), "start without --new-ledger") {
		t.Fatalf("a new ledger in place of a sound one: %v", err)
	}
	h.Options.NewLedger = false
	whole, err := os.ReadFile(store.LedgerPath(h.Settings.Store))
	if err != nil {
		t.Fatal(err)
	}
	for what, damage := range map[string]func() error{
		"empty":                     func() error { return os.Truncate(store.LedgerPath(h.Settings.Store), 0) },
		"half":                      func() error { return os.Truncate(store.LedgerPath(h.Settings.Store), int64(len(whole)/2)) },
		"without the counter's row": func() error { spoil(t, h.Settings.Store, "DELETE FROM counter"); return nil },
		"without the counter":       func() error { spoil(t, h.Settings.Store, "DROP TABLE counter"); return nil },
		"without a job":             func() error { spoil(t, h.Settings.Store, "DELETE FROM jobs"); return nil },
		"with an unreadable job":    func() error { spoil(t, h.Settings.Store, "UPDATE jobs SET state = 'unheard'"); return nil },
	} {
		if err := damage(); err != nil {
			t.Fatal(err)
		}
		_, err := daemon.New(t.Context(), h.Settings, h.Options)
		if what == "without a job" && (err == nil || !strings.Contains(err.Error(), "move them elsewhere and start again")) {
			t.Errorf("%s it says %v", what, err)
		}
		if err == nil || !strings.Contains(err.Error(), "--new-ledger") {
			t.Errorf("a ledger %s: %v", what, err)
		}
		for _, end := range []string{"-wal", "-shm"} {
			_ = os.Remove(store.LedgerPath(h.Settings.Store) + end)
		}
		if err := os.WriteFile(store.LedgerPath(h.Settings.Store), whole, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	h.Start()
}

// TestVerifyFinds damages a sound store in one way after the other; each must be found, and what is
// mended must be clean again.
func TestVerifyFinds(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a\nb")
	h.Becomes(1, ledger.Completed)
	h.Stop()
	job := filepath.Join(h.Settings.Store, "jobs", "1")
	if got := verify.Verify(filepath.Join(h.Dir, "nowhere")); len(got) != 0 {
		t.Errorf("a store that is not there: %v", got)
	}
	damage := []struct {
		what, want string
		do, undo   func() error
	}{
		{"a missing file", `"original.svg" is missing`,
			func() error { return os.Rename(filepath.Join(job, "original.svg"), filepath.Join(h.Dir, "o")) },
			func() error { return os.Rename(filepath.Join(h.Dir, "o"), filepath.Join(job, "original.svg")) }},
		{"a changed program", `"program.bin" is not what was saved`,
			func() error { return os.WriteFile(filepath.Join(job, "program.bin"), []byte("PD9,9;"), 0o644) },
			func() error { return os.WriteFile(filepath.Join(job, "program.bin"), []byte("IN;a;b;"), 0o644) }},
		{"a file too many", `"more" lies in its folder`,
			func() error { return os.WriteFile(filepath.Join(job, "more"), nil, 0o644) },
			func() error { return os.Remove(filepath.Join(job, "more")) }},
		{"a folder too many", "the ledger does not know it",
			func() error { return os.Mkdir(filepath.Join(h.Settings.Store, "jobs", "9"), 0o755) },
			func() error { return os.Remove(filepath.Join(h.Settings.Store, "jobs", "9")) }},
		{"a state out of nothing", "its history ends as",
			func() error { return h.SQL("UPDATE jobs SET state = 'pending', ended = ''") },
			func() error {
				return h.SQL("UPDATE jobs SET state = 'completed', ended = (SELECT at FROM events WHERE kind = 'done')")
			}},
		{"a run too many", "it was sent 2 times, and people asked for 1",
			func() error {
				return h.SQL("INSERT INTO sends SELECT job, 2, began, updated, ended, first, blocks, total, bytes, sure, stroke, tool, end, cancel, '', '' FROM sends; UPDATE jobs SET sends = 2")
			},
			func() error { return h.SQL("DELETE FROM sends WHERE no = 2; UPDATE jobs SET sends = 1") }},
	}
	for _, d := range damage {
		if err := d.do(); err != nil {
			t.Fatal(err)
		}
		found := ""
		for _, p := range verify.Verify(h.Settings.Store) {
			found += p.String() + "\n"
		}
		if !strings.Contains(found, d.want) {
			t.Errorf("%s: found is %q", d.what, found)
		}
		if err := d.undo(); err != nil {
			t.Fatal(err)
		}
		if left := verify.Verify(h.Settings.Store); len(left) > 0 {
			t.Errorf("%s, mended: %v", d.what, left)
		}
	}
}

// spoil alters a ledger as no program does.
func spoil(t testing.TB, dir, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", store.LedgerPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(text); err != nil {
		t.Fatal(err)
	}
}
