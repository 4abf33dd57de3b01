package pipeline

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sending"
)

// faultTrials is how many random faults a run of the tests meets; TRACEWHEEL_TRIALS sets another number.
const faultTrials = 200

// faultDraft is two pieces with a notch each, enough for some hundred bytes to a knife and some
// thousand to a pen.
const faultDraft = `<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<g data-piece="Cuff"><path class="cut" d="M10,10 H130 V60 L110,90 H10 Z"/><path class="notch" d="M10,40 h4"/></g>
<g data-piece="Pocket"><path class="cut" d="M160,10 H260 V80 C260,110 160,110 160,80 Z"/><path class="notch" d="M160,40 h4"/></g></svg>`

// TestRandomFaultsOfTheDaemon breaks sendings of the whole daemon in every way, at random moments. After
// each: the job is there once and in a true state, what the device got is the beginning of the program
// and nothing else, nothing moves unasked, the tool is up where that is said, and what is called sure
// was made. Then the device is put back, a person lets the job go on, and nothing is missing.
func TestRandomFaultsOfTheDaemon(t *testing.T) {
	trials, seed := faultTrials, uint64(time.Now().UnixNano())
	if testing.Short() {
		trials = 40
	}
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_TRIALS")); err == nil {
		trials = n
	}
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d (of trial i: that plus i)", seed)
	var next atomic.Int64
	var mu sync.Mutex
	ends := map[string]int{}
	var all sync.WaitGroup
	for range 12 { // most of a trial is waiting
		all.Go(func() {
			for i := next.Add(1) - 1; int(i) < trials && !t.Failed(); i = next.Add(1) - 1 {
				s := seed + uint64(i)
				t.Run(fmt.Sprintf("seed %d", s), func(t *testing.T) {
					end := newTrial(t, s).run()
					mu.Lock()
					ends[end]++
					mu.Unlock()
				})
			}
		})
	}
	all.Wait()
	t.Logf("%d faults ended %v", trials, ends)
}

// faultChild is set for the process that is killed: the workroom file and the folder to serve.
const faultChild = "TRACEWHEEL_FAULT_CHILD"

func runFaultChild() {
	room, err := config.Load(os.Getenv(faultChild), pattern.RuleNames())
	if err != nil {
		fmt.Fprintln(os.Stderr, "fault child:", err)
		os.Exit(1)
	}
	set, opts := faultDaemon(room)
	daemontest.RunChild(set, opts)
}

// faultDaemon is a daemon for a workroom without pictures, which cost more than all the rest.
func faultDaemon(room *config.Workroom) (daemon.Settings, daemon.Options) {
	set := settingsOf(room)
	set.Watch.Settle, set.Watch.Rescan = 20*time.Millisecond, 200*time.Millisecond
	maker := making.New(room)
	sender := sending.New(func() *config.Workroom { return room }, maker.Rest, nil)
	sender.LiftLimit, sender.ConfirmLimit = time.Second, 15*time.Second // a pretend device draws as it reads
	return set, daemon.Options{Retry: 20 * time.Millisecond, Notify: func(string) {}, Send: sender.Send,
		Build: func(ctx context.Context, in job.Draft) (job.Made, error) {
			w, err := maker.Make(ctx, making.Request{Job: in.Job, Source: in.Source, Name: in.Name, Device: in.Device, Ticket: in.Ticket, Answers: in.Answers})
			if err != nil {
				return job.Made{}, err
			}
			return job.Made{Program: w.Program, Pieces: w.Pieces(), Refused: w.Refused, Reason: w.Reason, Hold: w.Hold}, nil
		}}
}

// trial is one fault.
type trial struct {
	t      *testing.T
	rng    *rand.Rand
	seed   uint64
	h      *daemontest.Workroom
	name   string // of the machine's kind in shortCases
	flow   string
	fault  string
	at     int // bytes after which it comes, about
	device string
	port   *replugged
	room   *config.Workroom
	want   work
	faults pretend.Faults
	small  bool // its folders are on a small disk
}

var trialFlows = []struct{ name, flow string }{{"pen", "xon-xoff"}, {"pen", "enq-ack"}, {"pen", "buffer-query"},
	{"knife", "line-ack"}, {"knife", "line-ack-counted"}}

var trialFaults = []string{"kill", "kill", "stop", "cancel", "unplug", "stall", "garbage", "reset", "lost reply", "full disk", "refusal", "damaged replies"}

func newTrial(t *testing.T, seed uint64) *trial {
	x := &trial{t: t, rng: rand.New(rand.NewPCG(seed, 7)), seed: seed}
	kind := trialFlows[x.rng.IntN(len(trialFlows))]
	x.name, x.flow = kind.name, kind.flow
	x.fault = trialFaults[x.rng.IntN(len(trialFaults))]
	x.device = shortCases[x.name].device
	x.want = wantedOf(x)
	x.at = 250 + x.rng.IntN(x.want.Program.Len()-300) // behind the prelude
	n := 1 + x.rng.IntN(30)
	switch x.fault {
	case "unplug":
		x.faults.UnplugAfter = x.at
	case "stall":
		x.faults.StallAfter = x.at
	case "garbage":
		x.faults.Garbage, x.faults.PartialReplies = 20+x.at/5, x.rng.IntN(2) == 0
	case "reset":
		x.faults.ResetInMiddle = x.at
	case "lost reply":
		x.faults.LostAck, x.faults.LostXON = n, 1
	case "refusal":
		x.faults.ErrorAt = n + 5
	case "damaged replies":
		x.faults.Garble = 12 + n // more only makes it slow
	}
	x.port = newReplugged(t, x.maker(x.faults))
	dir := t.TempDir()
	x.small = x.fault == "full disk" && x.smallDisk(dir)
	x.room = x.roomFor(x.port.path, dir)
	x.h = daemontest.New(t)
	x.h.Patience, x.h.Poll = 4*time.Minute, 15*time.Millisecond
	x.h.Settings, x.h.Options = faultDaemon(x.room)
	return x
}

// wanted keeps what each kind of machine makes of the draft, which is always the same.
var wanted sync.Map

func wantedOf(x *trial) work {
	w, found := wanted.Load(x.name + x.flow)
	if !found {
		w = makeDraft(x.t, x.roomFor("/dev/null", x.t.TempDir()), faultDraft, x.device)
		wanted.Store(x.name+x.flow, w)
	}
	return w.(work)
}

func makeDraft(t *testing.T, room *config.Workroom, text, device string) work {
	t.Helper()
	w, err := making.New(room).Make(t.Context(), making.Request{Job: 1, Source: []byte(text), Name: "cuff.svg", Device: device})
	if err != nil || w.Refused || w.Hold != "" {
		t.Fatalf("%v %s%s", err, w.Reason, w.Hold)
	}
	return workOf(w)
}

// roomFor writes a workroom whose one device is on a port.
func (x *trial) roomFor(port, dir string) *config.Workroom {
	text := fmt.Sprintf(`workroom: Wardrobe room
folders: {inbox: %[2]s/inbox, returned: %[2]s/returned, store: %[2]s/store}
materials: {calico: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true}, paper: {width: 914, margin: 10, gap: 5}}
devices:
  roll-plotter: {kind: pen-plotter, language: hpgl, material: paper, width: 914, plot: {serial_control: true, long: page-size}, port: {path: %[1]s, baud: 115200, flow: %[3]s, stall: 4}}
`, port, dir, x.flow)
	if x.name == "knife" {
		text = fmt.Sprintf(`workroom: Wardrobe room
folders: {inbox: %[2]s/inbox, returned: %[2]s/returned, store: %[2]s/store}
materials: {calico: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true}}
devices:
  knife-table: {kind: drag-knife, language: gcode, material: calico, width: 1000, length: 1600, port: {path: %[1]s, baud: 115200, flow: %[3]s, planner: 8, stall: 4, start_wait: 0}}
`, port, dir, x.flow)
	}
	return roomOf(x.t, text)
}

func (x *trial) maker(f pretend.Faults) func(pretend.Link) interface{ Close() } {
	rate := 2000 + 6000*x.rng.Float64()
	if x.name == "pen" {
		rate *= 2
	}
	return func(l pretend.Link) interface{ Close() } {
		if x.name == "knife" {
			return pretend.NewCutter(l, pretend.CutterOptions{Rate: rate, Planner: 8, Truth: true, Faults: f})
		}
		return pretend.NewPlotter(l, pretend.PlotterOptions{Flow: devices.Flow(x.flow), Rate: rate, Faults: f})
	}
}

// run meets the fault, holds the promises, and lets the job go on to its end.
func (x *trial) run() string {
	defer func() {
		if x.t.Failed() {
			x.t.Logf("%s on %s, %s after about %d bytes: again with TRACEWHEEL_SEED=%d TRACEWHEEL_TRIALS=1", x.flow, x.name, x.fault, x.at, x.seed)
		}
	}()
	if x.fault == "kill" {
		x.killed()
	} else {
		x.suffered()
	}
	var j ledger.Job
	x.h.Until("the sending has ended", func() bool {
		j = x.h.Job(1)
		return j.State == ledger.Stopped && j.Send.End != "" || j.State.Ended()
	})
	time.Sleep(300 * time.Millisecond) // what the device still holds, and time for what must not happen
	x.promises(j)
	end := fmt.Sprintf("%s: %s", x.fault, j.State.Plain())
	if j.State == ledger.Stopped {
		x.goOn()
	} else {
		x.h.Stop()
	}
	return end
}

// suffered lets the daemon of this process meet the fault.
func (x *trial) suffered() {
	x.h.Start()
	x.drop()
	switch x.fault {
	case "stop":
		if x.moved() {
			x.h.Stop()
			x.h.Start()
		}
	case "cancel":
		if x.moved() {
			_ = x.h.Daemon.Jobs().Cancel(x.t.Context(), 1) // it may be done already
		}
	case "full disk":
		x.fillDisk()
	}
}

func (x *trial) drop() {
	x.h.DropWhole(x.device, "cuff.svg", faultDraft)
	if x.name == "knife" {
		x.h.Becomes(1, ledger.Held)
		if err := x.h.Daemon.Jobs().Release(x.t.Context(), 1, nil, control.BedClear); err != nil {
			x.t.Fatal(err)
		}
	}
}

// goOn puts a sound device in the place of the one that failed and lets the job go on.
func (x *trial) goOn() {
	c := shortCases[x.name]
	jobs := x.h.Daemon.Jobs()
	first, lossless := c.received(x.port.now), x.lossless()
	x.port.make = x.maker(pretend.Faults{})
	x.port.plug()
	points, err := jobs.Points(x.t.Context(), 1)
	if err != nil {
		x.t.Fatal(err)
	}
	p := points[0]
	if lossless {
		p = points[x.rng.IntN(len(points))]
	}
	if err := jobs.Resume(x.t.Context(), 1, p.From, control.NotShifted); err != nil {
		x.t.Fatal(err)
	}
	var j ledger.Job
	x.h.Until("it is done", func() bool {
		j = x.h.Job(1)
		return j.State.Ended() || j.State == ledger.Stopped && j.Send.End != "" && j.Sends == 2
	})
	x.h.Stop()
	if j.State != ledger.Completed || j.Sends != 2 {
		x.t.Errorf("going on from %s it ended %s after %d sendings: %s", p.From, j.State, j.Sends, j.Reason)
		return
	}
	lines := c.lines(x.t, c.received(x.port.now), x.want.Profile)
	if p.From != "start" {
		lines = append(lines, c.lines(x.t, first, x.want.Profile)...)
	}
	if len(lines) == 0 {
		x.t.Fatal("nothing was made")
	}
	covered(x.t, x.want.Strokes, geom.NewIndex(lines...), c.tol)
}
