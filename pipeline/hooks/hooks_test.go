//go:build linux

package hooks

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.uber.org/goleak"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// hooked is a workroom with hooks, whose jobs a test moves.
type hooked struct {
	*control.Jobs
	t    *testing.T
	st   *store.Store
	room *config.Workroom
	logs *observer.ObservedLogs
	dir  string
}

func newHooked(t *testing.T, limit time.Duration, hooks config.Hooks) *hooked {
	t.Helper()
	dir := t.TempDir()
	st, err := store.Open(filepath.Join(dir, "store"), store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "workroom.yaml")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	core, logs := observer.New(zap.InfoLevel)
	h := &hooked{Jobs: control.New(led, st, zap.NewNop(), nil), t: t, st: st, dir: dir, logs: logs,
		room: &config.Workroom{Name: "wardrobe", File: file, Dir: dir, Hooks: hooks}}
	h.Serve([]control.Device{{Name: "roll-plotter"}, {Name: "knife-table", Cuts: true}})
	run := start(t.Context(), h.Jobs, func() *config.Workroom { return h.room }, zap.New(core), limit)
	t.Cleanup(func() {
		run.Stop()
		for _, c := range []func() error{led.Close, st.Close} {
			if err := c(); err != nil {
				t.Error(err)
			}
		}
	})
	return h
}

// job enters a job whose wearer and reason no hook may learn, and makes it.
func (h *hooked) job(device string) int64 {
	h.t.Helper()
	id := h.Reserve()
	sum, err := h.st.Save(id, "original.svg", bytes.NewReader([]byte("skirt")))
	if err == nil {
		err = h.Enter(h.t.Context(), ledger.Arrival{ID: id, Device: device, File: "skirt.svg", Files: []ledger.File{{Name: sum.Name, Size: sum.Size, SHA256: sum.SHA256}}})
	}
	if err == nil {
		_, err = h.Ready(h.t.Context(), id, control.Made{Ready: true, Pieces: 1, Style: "Skirt", Order: ledger.Order{Wearer: "chorus 4"}})
	}
	if err != nil {
		h.t.Fatal(err)
	}
	return id
}

func (h *hooked) refuse(id int64) {
	h.t.Helper()
	if _, err := h.Refuse(h.t.Context(), id, control.Made{Style: "Skirt"}, "bust 920 mm is unlikely"); err != nil {
		h.t.Fatal(err)
	}
}

func (h *hooked) until(what string, is func() bool) {
	h.t.Helper()
	for end := time.Now().Add(time.Minute); !is(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			h.t.Fatalf("not %s; the log says %+v", what, h.logs.All())
		}
	}
}

func (h *hooked) logged(text string) func() bool {
	return func() bool {
		for _, e := range h.logs.All() {
			if strings.Contains(e.Message+fmt.Sprint(e.ContextMap()["error"]), text) {
				return true
			}
		}
		return false
	}
}

func sh(script string) config.Hook { return config.Hook{Command: []string{"/bin/sh", "-c", script}} }

// TestFactsOfAHook: a real program gets the facts and nothing else: no wearer, no reason, no variable and no descriptor of
// the daemon, which are read from /proc (proc(5)).
func TestFactsOfAHook(t *testing.T) {
	t.Setenv("SECRET_OF_THE_DAEMON", "1")
	secret, err := os.Open("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	defer secret.Close()
	left, err := syscall.Dup(int(secret.Fd())) // as what started the daemon may have left one open, which outlives an exec
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(left) //nolint:errcheck // only read
	h := newHooked(t, time.Minute, config.Hooks{
		NeedsYou: sh("cat >facts; tr '\\0' '\\n' </proc/$$/environ >environ; mv facts needs-you; exec >fds; ls /proc/self/fd; echo all"),
		Refused:  sh("cat >r; mv r refused"), Done: sh("cat >d; mv d done")})
	id := h.job("knife-table") // held for its release
	read := func(name string) string {
		h.until(name, func() bool { _, err := os.Stat(filepath.Join(h.dir, name)); return err == nil })
		text, err := os.ReadFile(filepath.Join(h.dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	var got map[string]any
	text := read("needs-you")
	if err := json.Unmarshal([]byte(text), &got); err != nil {
		t.Fatal(err)
	}
	delete(got, "at")
	if want := fmt.Sprint(map[string]any{"event": "needs-you", "job": float64(id), "device": "knife-table", "file": "skirt.svg", "style": "Skirt", "state": "pending-held", "workroom": "wardrobe"}); fmt.Sprint(got) != want {
		t.Errorf("facts %v and not %s", got, want)
	}
	for line := range strings.Lines(read("environ")) {
		name, _, _ := strings.Cut(line, "=")
		if !strings.HasPrefix(name, "TRACEWHEEL_") && name != "PATH" && name != "HOME" && name != "PWD" && name != "" {
			t.Errorf("it was given %q", line)
		}
	}
	h.until("all descriptors are listed", func() bool { return strings.HasSuffix(read("fds"), "all\n") })
	for _, fd := range strings.Fields(strings.TrimSuffix(read("fds"), "all\n")) {
		if n, err := strconv.Atoi(fd); err != nil || n > 3 { // ls has one of its own for the folder
			t.Errorf("descriptor %s is open", fd)
		}
	}
	pen := h.job("roll-plotter")
	if _, err := h.Begin(t.Context(), pen, 1, 3); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Close(t.Context(), pen, control.End{State: ledger.Completed, Bytes: 3}); err != nil {
		t.Fatal(err)
	}
	if text := read("done"); !strings.Contains(text, fmt.Sprintf(`"job":%d`, pen)) {
		t.Errorf("done: %s", text)
	}
	bad := h.job("roll-plotter")
	h.refuse(bad)
	if text := read("refused"); strings.Contains(text, "920") || strings.Contains(text, "chorus") || !strings.Contains(text, `"state":"aborted"`) {
		t.Errorf("refused: %s", text)
	}
}

// TestHooksThatMisbehave: a program that hangs is ended with the child that it left, one that fails is told, and so is a web
// server that hangs; all of it one after the other, and each job is moved meanwhile without waiting.
func TestHooksThatMisbehave(t *testing.T) {
	h := newHooked(t, time.Second, config.Hooks{})
	child := filepath.Join(h.dir, "child")
	hang := make(chan struct{})
	asked := make(chan string, 9)
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		text, _ := io.ReadAll(r.Body)
		asked <- r.Method + " " + r.Header.Get("Content-Type") + " " + string(text)
		select {
		case <-hang:
		case <-r.Context().Done():
		}
	}))
	defer web.Close()
	defer close(hang)
	h.room = &config.Workroom{Name: "wardrobe", File: h.room.File, Dir: h.dir, Hooks: config.Hooks{
		NeedsYou: sh("sleep 600 & echo $! >child.new; mv child.new child; sleep 600"),
		Refused:  config.Hook{Command: []string{"/bin/false"}, Post: web.URL + "/secret-of-the-room"},
		Done:     config.Hook{Command: []string{"/no/such/program"}}}}
	h.job("knife-table")
	bad := h.job("roll-plotter")
	h.refuse(bad)
	h.until("ended", h.logged("took longer than 1s"))
	pid, err := os.ReadFile(child)
	if err != nil {
		t.Fatal(err)
	}
	n, err := strconv.Atoi(strings.TrimSpace(string(pid)))
	if err != nil {
		t.Fatal(err)
	}
	h.until("the child ended", func() bool {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", n))
		return err != nil || strings.Contains(string(stat), ") Z ") || syscall.Kill(n, 0) != nil
	})
	h.until("told of the failure", h.logged("exit status 1"))
	if got := <-asked; !strings.HasPrefix(got, `POST application/json {"event":"refused",`) || strings.Contains(got, "920") {
		t.Errorf("posted %s", got)
	}
	h.until("told of the server", h.logged("a hook's address failed"))
	if h.logged("secret-of-the-room")() {
		t.Errorf("the log names the address whole: %+v", h.logs.All())
	}
	pen := h.job("roll-plotter")
	if _, err := h.Begin(t.Context(), pen, 1, 3); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Close(context.WithoutCancel(t.Context()), pen, control.End{State: ledger.Completed, Bytes: 3}); err != nil {
		t.Fatal(err)
	}
	h.until("told of the program", h.logged("no such file"))
}

// TestJobsDoNotWaitForHooks: a job moves while a hook runs that ends only after it; and each event is told once, also
// those before the first look.
func TestJobsDoNotWaitForHooks(t *testing.T) {
	h := newHooked(t, time.Minute, config.Hooks{
		NeedsYou: sh("touch begun; until test -e go; do sleep 0.1; done; touch ended"), Refused: sh("echo $TRACEWHEEL_JOB >>refused")})
	there := func(name string) func() bool {
		return func() bool { _, err := os.Stat(filepath.Join(h.dir, name)); return err == nil }
	}
	h.job("knife-table")
	h.until("begun", there("begun"))
	var want string
	for range 3 {
		id := h.job("roll-plotter")
		h.refuse(id)
		want += fmt.Sprintln(id)
	}
	if there("ended")() {
		t.Error("the hook ended before it may")
	}
	if err := os.WriteFile(filepath.Join(h.dir, "go"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	h.until("ended", there("ended"))
	read := func() string { text, _ := os.ReadFile(filepath.Join(h.dir, "refused")); return string(text) } // not there yet
	h.until("told of each", func() bool { return len(read()) >= len(want) })
	if got := read(); got != want {
		t.Errorf("told of %q and not %q", got, want)
	}
}

// TestMomentsThatAreLost: a job whose moment is lost is told of with the next job that moves.
func TestMomentsThatAreLost(t *testing.T) {
	h := newHooked(t, time.Minute, config.Hooks{NeedsYou: sh("echo $TRACEWHEEL_JOB >>told")})
	one := &Hooks{jobs: h.Jobs, room: func() *config.Workroom { return h.room }, log: zap.NewNop(), queue: make(chan facts, queued)}
	first, second := h.job("knife-table"), h.job("knife-table")
	ctx, stop := context.WithCancel(t.Context())
	ended, moments := make(chan struct{}), make(chan control.Progress, 1)
	moments <- control.Progress{Job: second} // the first's is lost
	go func() { one.watch(ctx, moments, 0); close(ended) }()
	for _, id := range []int64{first, second} {
		select {
		case f := <-one.queue:
			if f.Job != id {
				t.Errorf("told of job %d and not %d", f.Job, id)
			}
		case <-time.After(time.Minute):
			t.Errorf("job %d is never told of", id)
		}
	}
	stop()
	<-ended
}

// TestHooksOfAFileThatOthersCanWrite: where somebody else could write the workroom file, or put another in its place, its
// hooks are told of and not run.
func TestHooksOfAFileThatOthersCanWrite(t *testing.T) {
	h := newHooked(t, time.Minute, config.Hooks{})
	deep := filepath.Join(h.dir, "deep")
	if err := os.Mkdir(deep, 0o700); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(deep, "workroom.yaml")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := config.Mine(file); err != nil {
		t.Errorf("a file of one's own: %v", err)
	}
	for at, mode := range map[string]os.FileMode{file: 0o620, deep: 0o702} {
		was, err := os.Stat(at)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(at, mode); err != nil {
			t.Fatal(err)
		}
		if err := config.Mine(file); err == nil || !strings.Contains(err.Error(), "others can write") {
			t.Errorf("%s with rights %o: %v", at, mode, err)
		}
		if err := os.Chmod(at, was.Mode()); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(h.room.File, 0o666); err != nil {
		t.Fatal(err)
	}
	h.room = &config.Workroom{Name: "wardrobe", File: h.room.File, Dir: h.dir, Hooks: config.Hooks{NeedsYou: sh("touch run")}}
	h.job("knife-table")
	h.until("told", h.logged("no hook is run: others can write"))
	time.Sleep(100 * time.Millisecond)
	if _, err := os.Stat(filepath.Join(h.dir, "run")); err == nil {
		t.Error("the hook of a file that others can write was run")
	}
}

// TestHooksOfALinkThatOthersCanTurn: the folder of a link to the workroom file counts as that of the file does, on each way
// that a link can be written (path_resolution(7)).
func TestHooksOfALinkThatOthersCanTurn(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"mine", "open", "way"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	file := filepath.Join(dir, "mine", "workroom.yaml")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for link, to := range map[string]string{"open/link": file, "mine/over": "../open/link", "way/through": "../open/../mine/workroom.yaml",
		"open/folder": "../mine", "mine/straight": "workroom.yaml"} {
		if err := os.Symlink(to, filepath.Join(dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	paths := []string{"open/link", "mine/over", "way/through", "open/folder/workroom.yaml", "mine/straight"}
	for _, mode := range []os.FileMode{0o700, 0o770} {
		if err := os.Chmod(filepath.Join(dir, "open"), mode); err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			want := mode == 0o700 || path == "mine/straight"
			if err := config.Mine(filepath.Join(dir, path)); (err == nil) != want {
				t.Errorf("%s where the folder on its way has rights %o: %v", path, mode, err)
			}
		}
	}
}

// TestHooksOfAFileThatOthersCouldWrite: what was read while others could write the file is not run after its rights are
// mended, until it is read again; nor is a program that others can write.
func TestHooksOfAFileThatOthersCouldWrite(t *testing.T) {
	h := newHooked(t, time.Minute, config.Hooks{})
	program := filepath.Join(h.dir, "ring")
	if err := os.WriteFile(program, []byte("#!/bin/sh\necho >>rung\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(config.SampleFile()), "command: []                #", "command: ["+program+"] #", 1)
	if err := os.WriteFile(h.room.File, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	read := func(of, rights os.FileMode) {
		for at, mode := range map[string]os.FileMode{h.room.File: of, program: rights} {
			if err := os.Chmod(at, mode); err != nil {
				t.Fatal(err)
			}
		}
		room, err := config.Load(h.room.File, pattern.RuleNames())
		if err == nil {
			err = os.Chmod(h.room.File, 0o600)
		}
		if err != nil || len(room.Hooks.NeedsYou.Command) != 1 {
			t.Fatalf("%v, %+v", err, room)
		}
		h.room = room
	}
	rung := func() bool { _, err := os.Stat(filepath.Join(h.dir, "rung")); return err == nil }
	read(0o620, 0o700)
	h.job("knife-table")
	h.until("told of the file", h.logged("others could have written it"))
	read(0o600, 0o720)
	h.job("knife-table")
	h.until("told of the program", h.logged("others can write"))
	if rung() {
		t.Error("what others could have written was run")
	}
	read(0o600, 0o700)
	h.job("knife-table")
	h.until("run", rung)
}
