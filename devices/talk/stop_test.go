package talk

import (
	"context"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// device is what the stop tests look at beyond the bytes.
func toolUp(m machine) bool {
	switch d := m.(type) {
	case *pretend.Plotter:
		return d.PenUp()
	case *pretend.Cutter:
		return d.ToolUp()
	}
	return false
}

func stopReceived(m machine) time.Time {
	return m.(interface{ StopReceived() time.Time }).StopReceived()
}

// slow devices hold the sender back nearly always, so a cancel falls into a blocked write.
func slowRig(t testing.TB, kind string, flow devices.Flow) (rig, devices.Program) {
	if flow == devices.FlowLineAck || flow == devices.FlowLineWin {
		return cutterOn(t, kind, flow, pretend.CutterOptions{Rate: 30}), cutProgram(60)
	}
	return plotterOn(t, kind, flow, pretend.PlotterOptions{Rate: 100, Buffer: 512}), plotProgram(60)
}

func allFlows() []devices.Flow {
	return append(append([]devices.Flow(nil), plotterFlows...), cutterFlows...)
}

// A cancel reaches the device although it holds the sender back, and the tool is up.
func TestCancelWhileHeld(t *testing.T) {
	for _, flow := range allFlows() {
		for _, kind := range []string{"pty", "memory", "memory, blind"} {
			if flow == devices.FlowRTSCTS && kind == "pty" {
				continue // a pseudo-terminal has no flow line: what it holds stands before any abort
			}
			t.Run(string(flow)+" on "+kind, func(t *testing.T) {
				inTime(t, kind, func(t *testing.T) {
					r, p := slowRig(t, kind, flow)
					defer r.close()
					ctl := NewControl()
					var asked time.Time
					timer := time.AfterFunc(1200*time.Millisecond, func() {
						asked = time.Now()
						ctl.Cancel()
					})
					defer timer.Stop()
					out := r.send(p, Options{Control: ctl})
					if out.State != Canceled || out.Written == 0 || out.Written == int64(p.Len()) {
						t.Fatalf("%+v", out)
					}
					if !prefix(r.dev.Received(), p) {
						t.Errorf("received %q", r.dev.Received())
					}
					if out.Tool != ToolUp || !toolUp(r.dev) {
						t.Errorf("it says the tool is %s; up is %v", out.Tool, toolUp(r.dev))
					}
					told := stopReceived(r.dev)
					if told.IsZero() {
						t.Fatal("the device was never told to stop")
					}
					t.Logf("told to stop after %v", told.Sub(asked))
				})
			})
		}
	}
}

// A shut-down is a stop, not a cancel, and leaves the tool up as well.
func TestShutDown(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r, p := slowRig(t, "memory", devices.FlowLineAck)
		defer r.close()
		ctx, end := context.WithTimeout(context.Background(), 2*time.Second)
		defer end()
		out := Send(ctx, r.line, p, r.prof, Options{})
		stoppedBy(t, out, context.DeadlineExceeded)
		if out.Tool != ToolUp || !toolUp(r.dev) {
			t.Errorf("tool %s", out.Tool)
		}
		if !strings.Contains(out.Reason, "its tool is up") {
			t.Errorf("%q does not say where the tool is", out.Reason)
		}
	})
}

func TestCancelBeforeTheStart(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r, p := slowRig(t, "memory", devices.FlowXonXoff)
		defer r.close()
		ctl := NewControl()
		ctl.Cancel()
		out := r.send(p, Options{Control: ctl})
		if out.State != Canceled || out.Written != 0 {
			t.Fatalf("%+v", out)
		}
	})
}

// Going on from the middle sends the prelude, what the place needs, and the rest from the start of
// the stroke.
func TestFrom(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{})
		defer r.close()
		p := plotProgram(20)
		p.Blocks[21].Setup = []byte("SP2;VS10;")
		out := r.send(p, Options{From: 22})
		want := "IN;SP1;PA;SP2;VS10;" + string(join(p.Blocks[21:]))
		if out.State != Done || string(program(r.dev.Received())) != want {
			t.Fatalf("%+v\n%q", out, r.dev.Received())
		}
	})
}
