// Package daemontest is for tests: a workroom in a temporary folder with a pretend maker and pretend
// devices, which know neither drafts nor languages nor ports.
package daemontest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// Files are the names that lie in a job's folder.
func (h *Workroom) Files(job int64) []string {
	names, err := store.Look(h.Settings.Store).Names(job)
	if err != nil {
		h.T.Error(err)
	}
	return names
}

// Has tells whether a file is there.
func (h *Workroom) Has(parts ...string) bool {
	_, err := os.Stat(filepath.Join(parts...))
	return err == nil
}

// Pruned waits until the daemon has looked for what is old.
func (h *Workroom) Pruned() { time.Sleep(150 * time.Millisecond) }

// Workroom is a workroom in a temporary folder.
type Workroom struct {
	T        testing.TB
	Dir      string
	Settings daemon.Settings
	Options  daemon.Options
	Device   *Device
	Logs     *observer.ObservedLogs
	Daemon   *daemon.Daemon
	// Patience is how long to wait for what must come; it is no measure of speed.
	Patience time.Duration
	// Poll is how often is looked, 2 ms and more.
	Poll time.Duration
}

// New makes its folders; nothing runs before Start.
func New(t testing.TB) *Workroom {
	t.Helper()
	dir := t.TempDir()
	core, logs := observer.New(zap.DebugLevel)
	h := &Workroom{T: t, Dir: dir, Device: &Device{}, Logs: logs, Patience: 30 * time.Second}
	h.Settings = daemon.Settings{Inbox: filepath.Join(dir, "inbox"), Store: filepath.Join(dir, "store"), Returned: filepath.Join(dir, "returned"), Made: filepath.Join(dir, "made"),
		Devices: []job.Device{{Name: "roll-plotter"}, {Name: "knife-table", Cuts: true}},
		Watch:   inbox.Settings{Settle: 20 * time.Millisecond, Limit: 5 * time.Second, Rescan: 200 * time.Millisecond}}
	h.Options = daemon.Options{Build: Make, Send: h.Device.send, Log: zap.New(core), Retry: 20 * time.Millisecond, Notify: func(string) {}}
	return h
}

// Start opens and starts a daemon, which Stop ends, or else the end of the test.
func (h *Workroom) Start() {
	h.T.Helper()
	d, err := daemon.New(h.T.Context(), h.Settings, h.Options)
	if err != nil {
		h.T.Fatal(err)
	}
	h.Daemon = d
	h.T.Cleanup(h.Stop)
	if err := d.Start(h.T.Context()); err != nil {
		h.T.Fatal(err)
	}
}

// Stop ends the daemon and has the store verified, whatever the test was about.
func (h *Workroom) Stop() {
	h.T.Helper()
	if h.Daemon == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), h.Patience)
	defer cancel()
	if err := h.Daemon.Stop(ctx); err != nil {
		h.T.Error(err)
	}
	h.Daemon = nil
	for _, p := range verify.Verify(h.Settings.Store) {
		h.T.Error("verify:", p)
	}
}

// Drop puts a file into a device's folder as a copier does, by its final name at once.
func (h *Workroom) Drop(device, name, content string) {
	h.T.Helper()
	dir := filepath.Join(h.Settings.Inbox, device)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		h.T.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o644); err != nil {
		h.T.Fatal(err)
	}
}

// DropWhole puts a file there at once, for tests that leave the computer so little time that a copier
// may pause for longer than a file takes to settle here.
func (h *Workroom) DropWhole(device, name, content string) {
	h.T.Helper()
	h.Drop(device, "."+name, content)
	dir := filepath.Join(h.Settings.Inbox, device)
	if err := os.Rename(filepath.Join(dir, "."+name), filepath.Join(dir, name)); err != nil {
		h.T.Fatal(err)
	}
}

// Until waits for something to become true.
func (h *Workroom) Until(what string, is func() bool) {
	h.T.Helper()
	for end := time.Now().Add(h.Patience); !is(); {
		if time.Now().After(end) {
			logs := h.Logs.All()
			for _, e := range logs[max(0, len(logs)-30):] {
				h.T.Log(e.Message, e.ContextMap())
			}
			jobs, _ := h.Daemon.Jobs().Jobs(context.Background(), ledger.Filter{})
			h.T.Fatalf("never: %s; the last jobs are %+v", what, jobs[max(0, len(jobs)-3):])
		}
		time.Sleep(max(h.Poll, 2*time.Millisecond))
	}
}

// Job is a job as it is now, the zero one where there is none.
func (h *Workroom) Job(id int64) ledger.Job {
	h.T.Helper()
	j, err := h.Daemon.Jobs().Job(h.T.Context(), id)
	if err != nil {
		return ledger.Job{}
	}
	return j
}

// Becomes waits until a job is in a state.
func (h *Workroom) Becomes(id int64, s ledger.State) ledger.Job {
	h.T.Helper()
	h.Until(fmt.Sprintf("job %d %s", id, s), func() bool { return h.Job(id).State == s })
	return h.Job(id)
}

// SQL changes the ledger as no one should, and has the changed rows look as if they were written so.
func (h *Workroom) SQL(statement string) error {
	return h.Damage(statement + "; " + ledger.SumJobs + "; " + ledger.SumSends)
}

// Damage changes the ledger as a failing disk or a person with another tool would.
func (h *Workroom) Damage(statement string) error {
	db, err := sql.Open("sqlite", store.LedgerPath(h.Settings.Store)+"?_pragma=busy_timeout(10000)")
	if err != nil {
		return err
	}
	_, err = db.Exec(statement)
	return errors.Join(err, db.Close())
}

// Running drops a draft and waits until its sending stands in the middle.
func (h *Workroom) Running(device string) int64 {
	h.T.Helper()
	h.Device.Hold = make(chan struct{})
	h.Start()
	h.Drop(device, "skirt.svg", SixStrokes)
	h.Becomes(1, ledger.Processing)
	h.Until("bytes move", func() bool {
		now := h.Daemon.Jobs().Now()
		return len(now) == 1 && now[0].Bytes > 3
	})
	return 1
}

// HeldOn is the one job that is held on a device.
func (h *Workroom) HeldOn(device string) int64 {
	h.T.Helper()
	jobs, err := h.Daemon.Jobs().Jobs(h.T.Context(), ledger.Filter{Device: device, States: []ledger.State{ledger.Held}})
	if err != nil || len(jobs) != 1 {
		h.T.Fatalf("%d held jobs, %v", len(jobs), err)
	}
	return jobs[0].ID
}
