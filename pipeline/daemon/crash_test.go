package daemon_test

import (
	"context"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// The crash test runs the daemon in a process of its own (this test binary, told by crashChild where
// its workroom is), lets it work under load and kills it at random moments. The page cache survives
// that; the order of syncs is proved in the inbox's and the store's own tests.

func crashSettings(dir string) daemon.Settings {
	return daemon.Settings{Inbox: filepath.Join(dir, "inbox"), Store: filepath.Join(dir, "store"), Returned: filepath.Join(dir, "returned"),
		Devices: []job.Device{{Name: "roll-plotter"}, {Name: "desk-plotter"}, {Name: "knife-table", Cuts: true}},
		Rolls:   rollsOfTests,
		Watch:   inbox.Settings{Settle: 3 * time.Millisecond, Limit: time.Second, Rescan: 20 * time.Millisecond}}
}

func crashOptions(dir string) daemon.Options {
	l := &layers{nonce: fmt.Sprint(os.Getpid(), " ")}
	return daemon.Options{Build: onCalico(l.make, 100), Better: l.better, Send: (&scribe{dir: dir}).send, Log: zap.NewNop(), Retry: 10 * time.Millisecond,
		Notify: func(string) {}}
}

// runCrashChild is the process that is killed.
func runCrashChild() {
	dir := os.Getenv(crashChild)
	daemontest.RunChild(crashSettings(dir), crashOptions(dir))
}

// scribe is a device that writes down every byte the moment it gets it.
type scribe struct{ dir string }

func (s *scribe) send(ctx context.Context, in job.Run) job.Outcome {
	h := &daemontest.Sending{Wake: make(chan struct{}, 1)}
	in.Attach(h)
	f, err := os.OpenFile(filepath.Join(s.dir, "heard-"+in.Device), os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return job.Outcome{State: ledger.Stopped, Reason: err.Error(), SureBlock: -1}
	}
	defer func() { _ = f.Close() }()
	_, _ = fmt.Fprintf(f, "begin %d\n", in.Job)
	rest, _ := in.Program.From(in.From)
	out := job.Outcome{State: ledger.Completed, SureBlock: -1, ToolUp: true}
	for i, b := range rest.Blocks {
		if _, cancel := h.Look(); cancel || ctx.Err() != nil {
			out.State = ledger.Stopped
			if cancel {
				out.State = ledger.Canceled
			}
			return out
		}
		_, _ = fmt.Fprintf(f, "%d %s\n", in.Job, b.Bytes)
		out.Bytes += int64(len(b.Bytes))
		out.SureBlock = len(in.Program.Blocks) - len(rest.Blocks) + i
		in.Progress(control.Progress{Bytes: out.Bytes, Total: int64(in.Program.Len()), Stroke: b.Stroke, Piece: b.Piece, Sure: b.Stroke, SureBlock: out.SureBlock})
		time.Sleep(time.Millisecond)
	}
	return out
}

// crashed is what the test knows beside the workroom.
type crashed struct {
	t     *testing.T
	rnd   *rand.Rand
	dir   string
	set   daemon.Settings
	drops map[string]int // content to how often it was dropped
	count int
	asked map[int64]int // resumes that were asked for
}

func TestKilledAtAnyMoment(t *testing.T) {
	kills, limit := 120, 100*time.Second
	if testing.Short() {
		kills = 15
	}
	seed := uint64(time.Now().UnixNano())
	if s := os.Getenv("TRACEWHEEL_SEED"); s != "" {
		if _, err := fmt.Sscan(s, &seed); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("seed %d (set TRACEWHEEL_SEED to repeat it)", seed)
	dir := t.TempDir()
	c := &crashed{t: t, rnd: rand.New(rand.NewPCG(seed, 1)), dir: dir, set: crashSettings(dir),
		drops: map[string]int{}, asked: map[int64]int{}}
	c.stockUp()
	began := time.Now()
	n := 0
	for ; n < kills && (n < 100 || time.Since(began) < limit); n++ {
		c.live(time.Duration(c.rnd.IntN(150)) * time.Millisecond)
		c.account()
		c.oneLay()
		if c.rnd.IntN(2) == 0 {
			c.restartHere()
		}
		if t.Failed() {
			t.Fatalf("after kill %d", n+1)
		}
	}
	c.letEnd()
	t.Logf("%d kills in %s, %d files dropped, %d resumes asked for", n, time.Since(began).Round(time.Second), c.count, len(c.asked))
}

// live runs the daemon for a while, with files dropped and people at work, and kills it.
func (c *crashed) live(span time.Duration) {
	kill := c.spawn()
	end := time.Now().Add(span)
	for time.Now().Before(end) {
		switch c.rnd.IntN(4) {
		case 0:
			c.person()
		case 1:
			c.drop()
		}
		time.Sleep(time.Duration(c.rnd.IntN(12)) * time.Millisecond)
	}
	kill()
}

// spawn starts the daemon in a process of its own; what it gives kills it there and then.
func (c *crashed) spawn() (kill func()) {
	c.t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), crashChild+"="+c.dir)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		c.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		c.t.Fatal(err)
	}
	return func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		_ = in.Close()
		if code := cmd.ProcessState.ExitCode(); code == 1 {
			c.t.Error("the daemon ended by itself")
		}
	}
}

// drop puts a file, sometimes with a ticket, into some device's folder; now and then what was
// dropped before, or what will be refused.
func (c *crashed) drop() {
	device := c.set.Devices[c.rnd.IntN(len(c.set.Devices))].Name
	dir := filepath.Join(c.set.Inbox, device)
	if os.MkdirAll(dir, 0o755) != nil {
		return
	}
	c.count++
	text := fmt.Sprintf("draft %d", c.count)
	switch c.rnd.IntN(10) {
	case 0:
		text += " REFUSE"
	case 1:
		text = "the same draft"
	}
	for range c.rnd.IntN(12) {
		text += "\nPD1,1"
	}
	name := fmt.Sprintf("d%d.svg", c.count)
	temp := filepath.Join(dir, "."+name)
	if err := os.WriteFile(temp, []byte(text), 0o644); err != nil {
		c.t.Fatal(err)
	}
	if c.rnd.IntN(3) == 0 {
		_ = os.WriteFile(filepath.Join(dir, fmt.Sprintf("d%d.ticket.yaml", c.count)), []byte("copies: 1\n"), 0o644)
	}
	if err := os.Rename(temp, filepath.Join(dir, name)); err != nil {
		c.t.Fatal(err)
	}
	c.drops[text]++
}

// person does what people do: releases cutter's jobs, resumes or cancels stopped ones.
func (c *crashed) person() {
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	cl, err := remote.Dial(ctx, c.set.Store)
	if err != nil {
		return // it does not listen yet
	}
	defer func() { _ = cl.Close() }()
	for _, j := range c.jobs(ledger.Held, ledger.Stopped) {
		switch {
		case j.State == ledger.Held:
			if c.rnd.IntN(3) == 0 {
				_ = cl.Better(ctx, j.ID, time.Minute)
			} else {
				_ = cl.ReleaseLay(ctx, j.ID, nil, control.BedClear, j.Lay)
			}
		case j.State == ledger.Stopped && c.rnd.IntN(2) == 0:
			_ = cl.Cancel(ctx, j.ID)
		case j.State == ledger.Stopped:
			points, err := cl.Points(ctx, j.ID)
			if err != nil || len(points) == 0 {
				continue
			}
			c.asked[j.ID]++
			_ = cl.Resume(ctx, j.ID, points[c.rnd.IntN(len(points))].From, control.NotShifted)
		}
	}
}

func (c *crashed) jobs(states ...ledger.State) []ledger.Job {
	ctx := context.Background()
	led, err := ledger.Look(ctx, store.LedgerPath(c.set.Store))
	if err != nil {
		return nil
	}
	defer func() { _ = led.Close() }()
	jobs, err := led.Jobs(ctx, ledger.Filter{States: states})
	if err != nil {
		c.t.Error(err)
	}
	return jobs
}

// restartHere starts and stops the daemon's books in this process, without sending anything, and
// has store and ledger verified.
func (c *crashed) restartHere() {
	c.t.Helper()
	ctx := context.Background()
	d, err := daemon.New(ctx, c.set, crashOptions(c.dir))
	if err != nil {
		c.t.Fatal(err)
	}
	if err := d.Recover(ctx); err != nil {
		c.t.Error(err)
	}
	if err := d.Stop(ctx); err != nil {
		c.t.Error(err)
	}
	for _, p := range verify.Verify(c.set.Store) {
		c.t.Error("verify:", p)
	}
}

// account holds the promise: nothing lost, nothing doubled, nothing sent again unasked. It is held
// at once after the kill, before anything could be mended.
func (c *crashed) account() {
	c.t.Helper()
	found := map[string]int{}
	for _, root := range []string{c.set.Inbox, c.set.Store, c.set.Returned} {
		_ = filepath.WalkDir(root, func(path string, e fs.DirEntry, err error) error {
			if err != nil || !e.Type().IsRegular() || !strings.Contains(e.Name(), ".svg") && !strings.HasPrefix(e.Name(), "original") {
				return nil
			}
			if data, err := os.ReadFile(path); err == nil {
				found[string(data)]++
			}
			return nil
		})
	}
	for text, n := range c.drops {
		if found[text] == 0 {
			c.t.Errorf("lost: %q, dropped %d times", text, n)
		}
	}
	jobs := c.jobs()
	made := map[string]int{}
	st := store.Look(c.set.Store)
	for _, j := range jobs {
		data, err := st.Read(j.ID, j.Original)
		if err != nil {
			c.t.Errorf("job %d: %v", j.ID, err)
		}
		made[string(data)]++
	}
	for text, n := range made {
		if n > c.drops[text] {
			c.t.Errorf("doubled: %q was dropped %d times and is %d jobs", text, c.drops[text], n)
		}
	}
	c.booked(jobs)
	for job, n := range c.heard() {
		if n > 1+c.asked[job] {
			c.t.Errorf("job %d was sent %d times and people asked for %d more", job, n, c.asked[job])
		}
	}
}

// heard counts for each job how often a device heard it begin.
func (c *crashed) heard() map[int64]int {
	begun := map[int64]int{}
	for _, dev := range c.set.Devices {
		data, _ := os.ReadFile(filepath.Join(c.dir, "heard-"+dev.Name))
		for line := range strings.Lines(string(data)) {
			var job int64
			if n, _ := fmt.Sscanf(line, "begin %d", &job); n == 1 {
				begun[job]++
			}
		}
	}
	return begun
}

// letEnd is the recovery: one more run without a kill brings every file to its end.
func (c *crashed) letEnd() {
	c.t.Helper()
	kill := c.spawn()
	defer kill()
	end := time.Now().Add(5 * time.Minute) // patience, no measure of speed
	for {
		open, total := 0, 0
		for _, j := range c.jobs() {
			total++
			if !j.State.Ended() {
				open++
			}
		}
		if open == 0 && total == c.count {
			break
		}
		if time.Now().After(end) {
			c.t.Fatalf("%d files were dropped, %d are jobs, %d of them have not ended", c.count, total, open)
		}
		c.person()
		time.Sleep(100 * time.Millisecond)
	}
	c.account()
	for _, p := range verify.Verify(c.set.Store) {
		c.t.Error("verify:", p)
	}
	for _, j := range c.jobs() {
		// What a device heard of a completed job that was sent once is the whole program.
		if j.State == ledger.Completed && j.Sends == 1 && j.Send.Bytes != j.Send.Total {
			c.t.Errorf("job %d is completed with %d of %d bytes", j.ID, j.Send.Bytes, j.Send.Total)
		}
	}
}

// crash children are told apart by this variable.
const crashChild = "TRACEWHEEL_CRASH_CHILD"
