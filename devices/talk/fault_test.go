package talk

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

var (
	plotterFlows = []devices.Flow{devices.FlowXonXoff, devices.FlowRTSCTS, devices.FlowEnqAck, devices.FlowQuery}
	cutterFlows  = []devices.Flow{devices.FlowLineAck, devices.FlowLineWin}
)

// prefix tells whether what was executed is the beginning of the program, apart from questions and
// what a stop adds.
func prefix(received []byte, p devices.Program) bool {
	got := program(received)
	all := p.Bytes()
	n := 0
	for n < len(got) && n < len(all) && got[n] == all[n] {
		n++
	}
	abort := p.Abort
	if p.Language != devices.GCode {
		abort = abort[len("\x1b.J\x1b.K"):] // a plotter takes these out
	}
	for ; n >= 0; n-- {
		if bytes.HasPrefix(abort, got[n:]) {
			return true
		}
	}
	return false
}

// everyFlow runs f for each flow habit on a line in memory, with the faults given to its device.
func everyFlow(t *testing.T, faults pretend.Faults, f func(t *testing.T, r rig, p devices.Program)) {
	for _, flow := range plotterFlows {
		t.Run(string(flow), func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := plotterOn(t, "memory", flow, pretend.PlotterOptions{Rate: 500, Buffer: 512, Faults: faults})
				defer r.close()
				f(t, r, plotProgram(60))
			})
		})
	}
	for _, flow := range cutterFlows {
		t.Run(string(flow), func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := cutterOn(t, "memory", flow, pretend.CutterOptions{Rate: 500, Faults: faults})
				defer r.close()
				f(t, r, cutProgram(60))
			})
		})
	}
}

func stoppedBy(t *testing.T, out Outcome, cause error) {
	t.Helper()
	if out.State != Stopped || !errors.Is(out.Err, cause) || out.Reason == "" {
		t.Fatalf("ended %+v, not stopped by %q", out, cause)
	}
}

func TestStall(t *testing.T) {
	everyFlow(t, pretend.Faults{StallAfter: 700}, func(t *testing.T, r rig, p devices.Program) {
		begun := time.Now()
		out := r.send(p, Options{})
		cause := ErrStall
		if errors.Is(out.Err, ErrUnconfirmed) && (r.prof.Port.Flow == devices.FlowXonXoff || r.prof.Port.Flow == devices.FlowRTSCTS) {
			cause = ErrUnconfirmed // a dead device that holds nobody back shows only at the end
		}
		stoppedBy(t, out, cause)
		if out.Tool != ToolUnknown || !prefix(r.dev.Received(), p) {
			t.Errorf("tool %s, received %q", out.Tool, r.dev.Received())
		}
		if d := time.Since(begun); d > time.Minute {
			t.Errorf("took %v to see a stall of %v s", d, r.prof.Port.Stall)
		}
	})
}

func TestUnplug(t *testing.T) {
	everyFlow(t, pretend.Faults{UnplugAfter: 700}, func(t *testing.T, r rig, p devices.Program) {
		out := r.send(p, Options{})
		stoppedBy(t, out, devices.ErrGone)
		if out.Tool != ToolUnknown || !prefix(r.dev.Received(), p) {
			t.Errorf("tool %s, received %q", out.Tool, r.dev.Received())
		}
		if !strings.Contains(out.Reason, "cable") {
			t.Errorf("reason %q says nothing of the cable", out.Reason)
		}
		does, not := "may still draw", "may still cut" // a knife cuts
		if r.prof.Kind.Cuts() {
			does, not = not, does
		}
		if !strings.Contains(out.Reason, does) || strings.Contains(out.Reason, not) {
			t.Errorf("reason %q does not say that it %s", out.Reason, does)
		}
	})
}

func TestUnplugPty(t *testing.T) {
	r := plotterOn(t, "pty", devices.FlowXonXoff, pretend.PlotterOptions{Faults: pretend.Faults{UnplugAfter: 700}})
	defer r.close()
	stoppedBy(t, r.send(plotProgram(60), Options{}), devices.ErrGone)
}

// The device's own words come back with their meaning.
func TestErrorReply(t *testing.T) {
	everyFlow(t, pretend.Faults{ErrorAt: 40}, func(t *testing.T, r rig, p devices.Program) {
		out := r.send(p, Options{})
		stoppedBy(t, out, ErrRefused)
		if p.Language == devices.GCode {
			if out.Words != "error:20" || !strings.Contains(out.Reason, "does not know a command") {
				t.Errorf("words %q, reason %q", out.Words, out.Reason)
			}
			if out.Tool != ToolUp || !r.dev.(*pretend.Cutter).ToolUp() {
				t.Errorf("the blade is left in the cloth: it says %s", out.Tool)
			}
			return
		}
		if out.Words != "3" || !strings.Contains(out.Reason, "out of range") {
			t.Errorf("words %q, reason %q", out.Words, out.Reason)
		}
	})
}

// What only disturbs must not end a job.
func TestHarmless(t *testing.T) {
	for name, faults := range map[string]pretend.Faults{
		"garbage":         {Garbage: 100},
		"partial replies": {PartialReplies: true},
		"echo":            {Echo: true},
	} {
		t.Run(name, func(t *testing.T) {
			everyFlow(t, faults, func(t *testing.T, r rig, p devices.Program) { wholly(t, r, p) })
		})
	}
}

func TestLateAndLostXon(t *testing.T) {
	for name, faults := range map[string]pretend.Faults{"late": {LateXON: 3000}, "lost": {LostXON: 2}} {
		for _, kind := range []string{"memory", "memory, flow in the program", "memory, blind"} {
			t.Run(name+" on "+kind, func(t *testing.T) {
				inTime(t, kind, func(t *testing.T) {
					r := plotterOn(t, kind, devices.FlowXonXoff, pretend.PlotterOptions{Rate: 500, Buffer: 512, Faults: faults})
					defer r.close()
					wholly(t, r, plotProgram(60))
				})
			})
		}
	}
}

func TestLostXonPty(t *testing.T) {
	// Slow enough that a pretend device which a busy machine lets wait for a moment does not run over.
	r := plotterOn(t, "pty", devices.FlowXonXoff, pretend.PlotterOptions{Rate: 700, Level: 512, Faults: pretend.Faults{LostXON: 1}})
	defer r.close()
	r.prof.Port.Baud = 19200
	wholly(t, r, plotProgram(60))
}

// A device that cannot be asked leaves only the stall time.
func TestLostXonUnasked(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{Rate: 500, Buffer: 512, Faults: pretend.Faults{LostXON: 1}})
		defer r.close()
		r.prof.Plot.SerialControl = false
		stoppedBy(t, r.send(plotProgram(60), Options{}), ErrStall)
	})
}

func TestDoubledAcknowledgements(t *testing.T) {
	everyFlow(t, pretend.Faults{DoubleAck: 1}, func(t *testing.T, r rig, p devices.Program) {
		if p.Language != devices.GCode { // an ACK that nobody asked for gives no right to send
			wholly(t, r, p)
			return
		}
		out := r.send(p, Options{})
		stoppedBy(t, out, ErrRefused)
		if r.prof.Port.Flow == devices.FlowLineWin && out.Written > 0 {
			t.Errorf("%d bytes were sent by counting doubled answers", out.Written)
		}
		if !prefix(r.dev.Received(), p) || (out.Tool == ToolUp) != (out.Written > 0) {
			t.Errorf("tool %s, received %q", out.Tool, r.dev.Received())
		}
	})
}

func TestLostAcknowledgement(t *testing.T) {
	everyFlow(t, pretend.Faults{LostAck: 9}, func(t *testing.T, r rig, p devices.Program) {
		if p.Language != devices.GCode {
			wholly(t, r, p)
			return
		}
		out := r.send(p, Options{})
		stoppedBy(t, out, ErrStall)
		if !prefix(r.dev.Received(), p) || out.Tool != ToolUp {
			t.Errorf("tool %s, received %q", out.Tool, r.dev.Received())
		}
	})
}

func TestResetInTheMiddle(t *testing.T) {
	everyFlow(t, pretend.Faults{ResetInMiddle: 900}, func(t *testing.T, r rig, p devices.Program) {
		out := r.send(p, Options{})
		stoppedBy(t, out, ErrReset)
		if p.Language == devices.GCode && out.Tool != ToolUnknown {
			t.Errorf("tool %s though the position is lost", out.Tool)
		}
	})
}

func TestNeverAnswers(t *testing.T) {
	everyFlow(t, pretend.Faults{Mute: true}, func(t *testing.T, r rig, p devices.Program) {
		out := r.send(p, Options{})
		stoppedBy(t, out, ErrStall)
		if !strings.Contains(out.Reason, "nothing answers") || out.Written != 0 {
			t.Errorf("%+v", out)
		}
	})
}

// Paused at its own panel for longer than the stall time is no stall.
func TestPausedByDevice(t *testing.T) {
	everyFlow(t, pretend.Faults{PauseAfter: 400}, func(t *testing.T, r rig, p devices.Program) {
		if p.Language == devices.GCode {
			return // TestHeldAtTheMachine meets a controller's hold
		}
		var said []string
		release := time.AfterFunc(40*time.Second, r.dev.(*pretend.Plotter).Release)
		defer release.Stop()
		out := r.send(p, Options{Progress: func(p Progress) { said = append(said, p.Waiting) }})
		if out.State != Done || !bytes.Equal(program(r.dev.Received()), p.Bytes()) {
			t.Fatalf("ended %+v", out)
		}
		if !strings.Contains(strings.Join(said, "\n"), "paused at its own panel") {
			t.Errorf("it never said what it waits for: %q", said)
		}
	})
}

// A device that is silent by its nature is believed.
func TestSilent(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{Rate: 2000, Faults: pretend.Faults{Mute: true}})
		defer r.close()
		r.prof.Port.Silent = true
		p := plotProgram(60)
		out := r.send(p, Options{})
		if out.State != Done || out.Tool != ToolUnknown || out.Sure.Block == len(p.Blocks)-1 {
			t.Fatalf("%+v", out)
		}
		time.Sleep(5 * time.Second)
		if !bytes.Equal(program(r.dev.Received()), p.Bytes()) {
			t.Errorf("received %d of %d bytes", len(r.dev.Received()), p.Len())
		}
	})
}

// TestBehindAKill: a sender that was killed leaves a plotter in the middle of an encoded polyline, which
// ends only at its semicolon, or of a label, which ends only at its terminator (HP-GL/2 reference: PE;
// HP 7470A manual, 1-6: LB). The next job is neither taken for coordinates nor for text, whether or not
// the device knows device control.
func TestBehindAKill(t *testing.T) {
	for _, left := range []string{"IN;PU;PE7<=_cJQ", "IN;LBFRO", "IN;PD10,", "IN;P"} {
		for _, control := range []bool{true, false} {
			for _, silent := range []bool{true, false} {
				synctest.Test(t, func(t *testing.T) {
					r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{Rate: 2000})
					defer r.close()
					r.prof.Plot.SerialControl, r.prof.Port.Silent = control, silent
					if n, err := r.line.Write([]byte(left), time.Second); n != len(left) {
						t.Fatal(err)
					}
					p := plotProgram(20)
					out := r.send(p, Options{})
					time.Sleep(10 * time.Second) // what the device still holds
					got, found := bytes.CutPrefix(r.dev.Received(), []byte(left))
					if out.State != Done || !found || !bytes.Equal(program(got), p.Bytes()) || !toolUp(r.dev) {
						t.Errorf("left %q, device control %v, silent %v: %+v\n%q", left, control, silent, out, got)
					}
				})
			}
		}
	}
}

// A greeting that comes while a job is being stopped for another reason still says that nothing before
// it can be relied on.
func TestResetWhileStopping(t *testing.T) {
	for _, flow := range cutterFlows {
		inTime(t, "memory", func(t *testing.T) {
			r := cutterOn(t, "memory", flow, pretend.CutterOptions{Rate: 500})
			defer r.close()
			ctl := NewControl()
			cutter := r.dev.(*pretend.Cutter)
			time.AfterFunc(3*time.Second, func() {
				cutter.Misbehave(pretend.Faults{ResetInMiddle: 1}) // at the hold, which is the next byte
				ctl.Cancel()
			})
			out := r.send(cutProgram(60), Options{Control: ctl})
			if out.State != Canceled || !out.Reset || out.Sure.Known {
				t.Errorf("%s: %+v", flow, out)
			}
		})
	}
}
