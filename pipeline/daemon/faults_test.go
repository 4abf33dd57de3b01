package daemon_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
	"tracewheel/pipeline/verify"
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

// TestFullDisk: nothing is lost while the disk is full, it is told once in plain words, and all goes
// on by itself when there is room again.
func TestFullDisk(t *testing.T) {
	for _, room := range []int64{0, 3, 400} { // not the draft; a part of it; the draft, and not its program
		h := daemontest.New(t)
		faulty := faultfs.Fail(store.Disk{})
		h.Options.FS = faulty
		h.Start()
		faulty.DiskFullAfter(room)
		h.Drop("roll-plotter", "skirt.svg", daemontest.SixStrokes)
		full := func() int {
			n := 0
			for _, e := range h.Logs.All() {
				if text, ok := e.ContextMap()["error"].(string); ok && strings.Contains(text, "the disk is full (free some space") {
					n++
				}
			}
			return n
		}
		h.Until("it is told", func() bool { return full() > 0 })
		time.Sleep(300 * time.Millisecond) // time for it to be told again and again
		if n := full(); n > 2 {
			t.Errorf("a full disk was told of %d times", n)
		}
		faulty.Clear()
		h.Becomes(1, ledger.Completed)
		h.Stop()
	}
}

func TestReadOnlyStore(t *testing.T) {
	h := daemontest.New(t)
	faulty := faultfs.Fail(store.Disk{})
	faulty.ReadOnly()
	h.Options.FS = faulty
	_, err := daemon.New(t.Context(), h.Settings, h.Options)
	if !errors.Is(err, store.ErrReadOnly) || !strings.Contains(err.Error(), "see that the disk is mounted for writing and this user may write there") {
		t.Errorf("%v", err)
	}
	faulty.Clear()
	h.Start()
	faulty.ReadOnly() // a disk that the system has remounted after a fault
	h.Drop("roll-plotter", "skirt.svg", "a")
	h.Until("it is told", func() bool { return h.Logs.FilterMessageSnippet("cannot be taken yet").Len() == 1 })
	faulty.Clear()
	h.Becomes(1, ledger.Completed)
}

func TestStoreInUse(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	_, err := daemon.New(t.Context(), h.Settings, h.Options)
	if !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), "stop that one first") {
		t.Errorf("%v", err)
	}
	h.Drop("roll-plotter", "skirt.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Stop()
	h.Start() // and it is free again
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

func TestLinksAndFoldersAreLeftAlone(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need rights of their own there")
	}
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

// TestPruning: ended jobs go with their files after the time; what goes on stays, however old.
func TestPruning(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Drop("knife-table", "b.svg", "b")
	h.Becomes(2, ledger.Held)
	h.Stop()
	h.Settings.Keep, h.Settings.KeepDrafts = 24*time.Hour, 24*time.Hour
	h.Options.Now = func() time.Time { return time.Now().Add(23 * time.Hour) }
	h.Start()
	if h.Job(1).ID != 1 {
		t.Error("removed too early")
	}
	h.Stop()
	h.Options.Now = func() time.Time { return time.Now().Add(25 * time.Hour) }
	h.Start()
	h.Until("it is removed", func() bool {
		_, err := os.Stat(filepath.Join(h.Settings.Store, "jobs", "1"))
		return h.Job(1).ID == 0 && err != nil
	})
	if h.Job(2).State != ledger.Held {
		t.Error("a waiting job was removed")
	}
	h.Drop("roll-plotter", "c.svg", "c")
	h.Becomes(3, ledger.Completed)
}

func TestReload(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Hold = make(chan struct{})
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a\nb")
	h.Becomes(1, ledger.Processing)
	set := h.Settings
	for what, change := range map[string]func(*daemon.Settings){
		"the store":       func(s *daemon.Settings) { s.Store = filepath.Join(h.Dir, "elsewhere") },
		"no device":       func(s *daemon.Settings) { s.Devices = nil },
		"the busy device": func(s *daemon.Settings) { s.Devices = s.Devices[1:] },
	} {
		s := set
		change(&s)
		if err := h.Daemon.Reload(s, func() {}); err == nil {
			t.Errorf("%s changed while the daemon ran", what)
		}
	}
	close(h.Device.Hold)
	h.Becomes(1, ledger.Completed)
	set.Devices = append(slices.Clone(set.Devices[:1]), job.Device{Name: "new-plotter"})
	if err := h.Daemon.Reload(set, func() {}); err != nil {
		t.Fatal(err)
	}
	h.Drop("new-plotter", "b.svg", "b")
	h.Drop("knife-table", "left.svg", "l")
	h.Becomes(2, ledger.Completed)
	time.Sleep(100 * time.Millisecond)
	if _, err := os.Stat(filepath.Join(h.Settings.Inbox, "knife-table", "left.svg")); err != nil {
		t.Errorf("a device that left took a file: %v", err)
	}
}

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

func TestStopTwiceAndServiceManager(t *testing.T) {
	h := daemontest.New(t)
	var told []string
	h.Options.Notify = func(s string) { told = append(told, s) }
	h.Start()
	d := h.Daemon
	h.Stop()
	if err := d.Stop(context.Background()); err != nil {
		t.Error(err)
	}
	if !slices.Equal(told, []string{"READY=1", "STOPPING=1"}) {
		t.Errorf("the service manager was told %q", told)
	}
	if err := d.Reload(h.Settings, func() {}); err == nil {
		t.Error("a stopped daemon was reloaded")
	}
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
