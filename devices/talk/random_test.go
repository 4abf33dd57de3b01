package talk

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// randomTrials is how many faults a run of the tests meets; TRACEWHEEL_TRIALS sets another number.
const randomTrials = 200

// Whatever happens on the way, no byte is doubled or out of order, none is lost in a job that is
// called done, and the tool is up where the sender says so.
func TestRandomFaults(t *testing.T) {
	trials, seed := randomTrials, uint64(time.Now().UnixNano())
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_TRIALS")); err == nil {
		trials = n
	}
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	ends := map[string]int{}
	for i := range trials {
		s := seed + uint64(i)
		ok := t.Run(fmt.Sprintf("seed %d", s), func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) { oneRandomFault(t, s, ends) })
		})
		if !ok {
			t.Fatalf("again with TRACEWHEEL_SEED=%d TRACEWHEEL_TRIALS=1", s)
		}
	}
	t.Logf("%d faults ended %v", trials, ends)
}

func oneRandomFault(t *testing.T, seed uint64, ends map[string]int) {
	rng := rand.New(rand.NewPCG(seed, 1))
	flow := allFlows()[rng.IntN(len(allFlows()))]
	kind := []string{"memory", "memory, blind"}[rng.IntN(2)]
	f, name := randomFault(rng)
	if f.DoubleAck > 0 && flow == devices.FlowLineWin {
		f.DoubleAck, name = 1, "every answer doubled" // see flow.LineAck: later ones cannot be noticed
	}
	var r rig
	var p devices.Program
	if flow == devices.FlowLineAck || flow == devices.FlowLineWin {
		p = cutProgram(20 + rng.IntN(60))
		r = cutterOn(t, kind, flow, pretend.CutterOptions{Rate: 100 + 3000*rng.Float64(), Planner: 1 + rng.IntN(15), Faults: f})
	} else {
		p = plotProgram(20 + rng.IntN(60))
		r = plotterOn(t, kind, flow, pretend.PlotterOptions{Rate: 100 + 3000*rng.Float64(), Buffer: 512 + rng.IntN(1024), Faults: f})
	}
	defer r.close()
	ctl := NewControl()
	canceled := rng.IntN(4) == 0
	if canceled {
		time.AfterFunc(time.Duration(rng.IntN(8000))*time.Millisecond, ctl.Cancel)
	}
	if f.PauseAfter > 0 {
		time.AfterFunc(time.Duration(rng.IntN(30))*time.Second, r.dev.(interface{ Release() }).Release)
	}
	out := r.send(p, Options{Control: ctl})
	about := fmt.Sprintf("seed %d: %s on %s, fault %s, canceled %v: %+v", seed, flow, kind, name, canceled, out)
	time.Sleep(30 * time.Second) // what the device still holds
	holdToWord(t, r, p, f, out, about)
	ends[string(out.State)]++
}

// randomFault picks one way to misbehave and when.
func randomFault(rng *rand.Rand) (pretend.Faults, string) {
	at := 1 + rng.IntN(2500)
	few := 1 + rng.IntN(40)
	// A reset falls behind the prelude: within it, it looks like the initialising that it holds.
	all := []pretend.Faults{
		{}, {StallAfter: at}, {UnplugAfter: at}, {ErrorAt: few}, {LateXON: at}, {LostXON: 1 + few/10},
		{DoubleAck: few}, {LostAck: few}, {Garbage: 20 + at/5}, {Garble: 2 + few}, {PartialReplies: true},
		{Echo: true}, {ResetInMiddle: 60 + at}, {Mute: true}, {PauseAfter: at}, {Garble: 2 + few, LateXON: at},
	}
	f := all[rng.IntN(len(all))]
	return f, fmt.Sprintf("%+v", f)
}

// holdToWord compares what the sender says with what the device knows.
func holdToWord(t *testing.T, r rig, p devices.Program, f pretend.Faults, out Outcome, about string) {
	t.Helper()
	got, all := program(r.dev.Received()), p.Bytes()
	lossless := f.ResetInMiddle == 0 && f.Garble == 0
	if lossless && r.dev.Lost() > 0 {
		t.Errorf("%d bytes ran over\n%s", r.dev.Lost(), about)
	}
	if r.dev.Lost() > 0 && out.State == Done {
		t.Errorf("called done with %d bytes lost\n%s", r.dev.Lost(), about)
	}
	if lossless && !prefix(r.dev.Received(), p) && f.ErrorAt == 0 {
		t.Errorf("a byte is lost, doubled or out of order\n%s\n%q", about, got)
	}
	if out.State == Done && !bytes.Equal(got, all) {
		t.Errorf("called done, but not all bytes arrived\n%s\n%q", about, got)
	}
	if out.Tool == ToolUp && !toolUp(r.dev) {
		t.Errorf("it says that the tool is up, and it is not\n%s", about)
	}
	if out.State != Done && out.Reason == "" {
		t.Errorf("no reason\n%s", about)
	}
	if f.UnplugAfter > 0 && errors.Is(out.Err, devices.ErrGone) && out.Tool != ToolUnknown {
		t.Errorf("the tool of a lost device cannot be known\n%s", about)
	}
	if lossless && out.Sure.Known && out.Sure.Block >= 0 && f.ErrorAt == 0 {
		if sure := join(p.Blocks[:out.Sure.Block+1]); !bytes.HasPrefix(got, sure) {
			t.Errorf("block %d is not drawn, though surely it is\n%s", out.Sure.Block, about)
		}
	}
}
