package pipeline

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

func TestMain(m *testing.M) {
	if os.Getenv(crashChild) != "" {
		runCrashChild()
		return
	}
	if os.Getenv(faultChild) != "" {
		runFaultChild()
		return
	}
	goleak.VerifyTestMain(m)
}

// pretendBuild makes a program of a text file: every line is one stroke of its own piece. Words in
// the file make it behave otherwise.
func pretendBuild(_ context.Context, in job.Draft) (job.Made, error) {
	b := job.Made{Style: "pretend", Pictures: map[string][]byte{"draft.svg": []byte("<svg/>")}}
	switch {
	case len(in.Source) == 0:
		b.Refused, b.Reason = true, "the file is empty"
	case bytes.IndexByte(in.Source, 0) >= 0:
		b.Refused, b.Reason = true, "the file is no text"
	case bytes.Contains(in.Source, []byte("REFUSE")):
		b.Refused = true
		b.Findings = []pattern.Finding{{Rule: "outline-open", Severity: pattern.Error, Piece: "bodice front",
			Message: "the outline is open by 3 mm", Mend: "close it"}}
	case bytes.Contains(in.Source, []byte("PANIC")):
		panic("the pretend builder was told to")
	case bytes.Contains(in.Source, []byte("ASK")) && in.Answers["allowance"] == "":
		b.Hold = "does the outline include the allowance?"
	}
	if b.Refused {
		b.Report = map[string][]byte{"report.html": []byte("<p>" + b.Reason + "</p>")}
		return b, nil
	}
	if b.Hold != "" {
		return b, nil
	}
	b.Program = pretendProgram(in.Source)
	b.Pieces = b.Program.Pieces
	return b, nil
}

func pretendProgram(source []byte) devices.Program {
	p := devices.Program{Language: devices.HPGL, Prelude: 1,
		Blocks: []devices.Block{{Bytes: []byte("IN;"), Stroke: -1, Piece: -1}}}
	for i, line := range bytes.Split(bytes.TrimSpace(source), []byte("\n")) {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: append(line, ';'), Stroke: i, Piece: i / 2, EndsStroke: true, DrawnMM: 100})
		p.Strokes, p.Pieces, p.DrawnMM = i+1, i/2+1, p.DrawnMM+100
	}
	return p
}

// pretendDevice takes what is sent to it. Its zero value takes everything at once.
type pretendDevice struct {
	mu   sync.Mutex
	got  map[string][]string // device to the sendings, each "job:from:bytes"
	hold chan struct{}       // while set, a sending waits for it after its first block
	say  func(in job.Run) *job.Outcome
	// before is called before the control is handed over.
	before func(in job.Run)
}

type pretendHands struct {
	mu             sync.Mutex
	paused, cancel bool
	wake           chan struct{}
}

func (h *pretendHands) set(f func()) {
	h.mu.Lock()
	f()
	h.mu.Unlock()
	select {
	case h.wake <- struct{}{}:
	default:
	}
}
func (h *pretendHands) Pause()      { h.set(func() { h.paused = true }) }
func (h *pretendHands) Resume()     { h.set(func() { h.paused = false }) }
func (h *pretendHands) Cancel()     { h.set(func() { h.cancel = true }) }
func (h *pretendHands) FreshSheet() {}
func (h *pretendHands) Sheet(bool)  {}
func (h *pretendHands) look() (paused, cancel bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.paused, h.cancel
}

func (d *pretendDevice) send(ctx context.Context, in job.Run) job.Outcome {
	h := &pretendHands{wake: make(chan struct{}, 1)}
	if d.before != nil {
		d.before(in)
	}
	in.Attach(h)
	if d.say != nil {
		if out := d.say(in); out != nil {
			return *out
		}
	}
	rest, _ := in.Program.From(in.From)
	text, out := fmt.Sprintf("%d:%d:", in.Job, in.From), job.Outcome{State: ledger.Completed, ToolUp: true}
	start := len(in.Program.Blocks) - len(rest.Blocks)
	for i, b := range rest.Blocks {
		if stop := d.wait(ctx, in, h, out.Bytes); stop != nil {
			stop.Bytes, stop.SureBlock = out.Bytes, start+i-1
			d.note(in.Device, text)
			return *stop
		}
		text += string(b.Bytes)
		out.Bytes += int64(len(b.Bytes))
		out.SureBlock = start + i
		in.Progress(control.Progress{Bytes: out.Bytes, Total: int64(in.Program.Len()), Stroke: b.Stroke, Piece: b.Piece, Sure: b.Stroke, SureBlock: out.SureBlock})
		if i == 1 && d.hold != nil {
			select {
			case <-d.hold:
			case <-h.wake:
			case <-ctx.Done():
			}
		}
	}
	d.note(in.Device, text)
	return out
}

// wait meets wishes; it returns an outcome where the sending is to end.
func (d *pretendDevice) wait(ctx context.Context, in job.Run, h *pretendHands, sent int64) *job.Outcome {
	for {
		paused, cancel := h.look()
		switch {
		case cancel:
			return &job.Outcome{State: ledger.Canceled, Reason: "canceled by a person", ToolUp: true}
		case ctx.Err() != nil:
			return &job.Outcome{State: ledger.Stopped, Reason: "the daemon was stopped", ToolUp: true}
		case !paused:
			return nil
		}
		in.Progress(control.Progress{Bytes: sent, Sure: -1, Waiting: "paused by a person", Person: true})
		select {
		case <-h.wake:
		case <-ctx.Done():
		}
	}
}

func (d *pretendDevice) note(device, text string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.got == nil {
		d.got = map[string][]string{}
	}
	d.got[device] = append(d.got[device], text)
}

func (d *pretendDevice) sendings(device string) []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]string(nil), d.got[device]...)
}

// house is a workroom in a temporary folder.
type house struct {
	t    testing.TB
	dir  string
	set  Settings
	opts Options
	dev  *pretendDevice
	logs *observer.ObservedLogs
	d    *Daemon
	// patience is how long to wait for what must come; it is no measure of speed.
	patience time.Duration
	// poll is how often is looked, 2 ms and more.
	poll time.Duration
}

func newHouse(t testing.TB) *house {
	t.Helper()
	dir := t.TempDir()
	core, logs := observer.New(zap.DebugLevel)
	h := &house{t: t, dir: dir, dev: &pretendDevice{}, logs: logs, patience: 30 * time.Second}
	h.set = Settings{Inbox: filepath.Join(dir, "inbox"), Store: filepath.Join(dir, "store"), Returned: filepath.Join(dir, "returned"),
		Devices: []job.Device{{Name: "roll-plotter"}, {Name: "knife-table", Cuts: true}},
		Watch:   inbox.Settings{Settle: 20 * time.Millisecond, Limit: 5 * time.Second, Rescan: 200 * time.Millisecond}}
	h.opts = Options{Build: pretendBuild, Send: h.dev.send, Log: zap.New(core), Retry: 20 * time.Millisecond, Notify: func(string) {}}
	return h
}

func (h *house) start() {
	h.t.Helper()
	d, err := New(h.t.Context(), h.set, h.opts)
	if err != nil {
		h.t.Fatal(err)
	}
	h.d = d
	h.t.Cleanup(h.stop)
	if err := d.Start(h.t.Context()); err != nil {
		h.t.Fatal(err)
	}
}

// stop ends the daemon and has the store verified, whatever the test was about.
func (h *house) stop() {
	h.t.Helper()
	if h.d == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), h.patience)
	defer cancel()
	if err := h.d.Stop(ctx); err != nil {
		h.t.Error(err)
	}
	h.d = nil
	for _, p := range verify.Verify(h.set.Store) {
		h.t.Error("verify:", p)
	}
}

// drop puts a file into a device's folder as a copier does, by its final name at once.
func (h *house) drop(device, name, content string) {
	h.t.Helper()
	dir := filepath.Join(h.set.Inbox, device)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		h.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o644); err != nil {
		h.t.Fatal(err)
	}
}

// dropWhole puts a file there at once, for tests that leave the computer so little time that a copier
// may pause for longer than a file takes to settle here.
func (h *house) dropWhole(device, name, content string) {
	h.t.Helper()
	h.drop(device, "."+name, content)
	dir := filepath.Join(h.set.Inbox, device)
	if err := os.Rename(filepath.Join(dir, "."+name), filepath.Join(dir, name)); err != nil {
		h.t.Fatal(err)
	}
}

// until waits for something to become true.
func (h *house) until(what string, is func() bool) {
	h.t.Helper()
	for end := time.Now().Add(h.patience); !is(); {
		if time.Now().After(end) {
			logs := h.logs.All()
			for _, e := range logs[max(0, len(logs)-30):] {
				h.t.Log(e.Message, e.ContextMap())
			}
			jobs, _ := h.d.Desk().Jobs(context.Background(), ledger.Filter{})
			h.t.Fatalf("never: %s; the last jobs are %+v", what, jobs[max(0, len(jobs)-3):])
		}
		time.Sleep(max(h.poll, 2*time.Millisecond))
	}
}

func (h *house) job(id int64) ledger.Job {
	h.t.Helper()
	j, err := h.d.Desk().Job(h.t.Context(), id)
	if err != nil {
		return ledger.Job{}
	}
	return j
}

func (h *house) becomes(id int64, s ledger.State) ledger.Job {
	h.t.Helper()
	h.until(fmt.Sprintf("job %d %s", id, s), func() bool { return h.job(id).State == s })
	return h.job(id)
}

// crash children are told apart by this variable.
const crashChild = "TRACEWHEEL_CRASH_CHILD"

// sql changes the ledger as no one should, and has the changed rows look as if they were written so.
func (h *house) sql(statement string) error {
	return h.damage(statement + "; " + ledger.SumJobs + "; " + ledger.SumSends)
}

// damage changes the ledger as a failing disk or a person with another tool would.
func (h *house) damage(statement string) error {
	db, err := sql.Open("sqlite", store.LedgerPath(h.set.Store))
	if err != nil {
		return err
	}
	_, err = db.Exec(statement)
	return errors.Join(err, db.Close())
}
