package talk

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// A pen pauses at the end of a stroke and goes on with the next: nothing is lost or sent twice.
func TestPausePen(t *testing.T) {
	for _, flow := range plotterFlows {
		t.Run(string(flow), func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := plotterOn(t, "memory", flow, pretend.PlotterOptions{Rate: 300, Buffer: 512})
				defer r.close()
				ctl := NewControl()
				p := plotProgram(60)
				block, still := -1, 0
				time.AfterFunc(2*time.Second, ctl.Pause)
				time.AfterFunc(62*time.Second, func() {
					still = len(program(r.dev.Received()))
					if !toolUp(r.dev) {
						t.Error("paused with the pen down")
					}
					ctl.Resume()
				})
				out := r.send(p, Options{Control: ctl, Progress: func(p Progress) {
					if p.Person && block < 0 {
						block = p.Block
					}
				}})
				if out.State != Done || !bytes.Equal(program(r.dev.Received()), p.Bytes()) {
					t.Fatalf("%+v", out)
				}
				if block < 0 || !p.Blocks[block].EndsStroke {
					t.Fatalf("paused behind block %d, which ends no stroke", block)
				}
				if want := len(join(p.Blocks[:block+1])); still != want {
					t.Errorf("a minute after the pause it had drawn %d bytes, not the %d up to the stroke's end", still, want)
				}
			})
		})
	}
}

func join(blocks []devices.Block) []byte { return devices.Program{Blocks: blocks}.Bytes() }

// A stroke whose last block leaves the pen down is followed by a lift of the sender's own.
func TestPauseLiftsPen(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{Rate: 300})
		defer r.close()
		p := plotProgram(3)
		p.Blocks[2].Bytes, p.Blocks[2].Down = []byte("PD7,8;"), true
		ctl := NewControl()
		ctl.Pause()
		p.Blocks[0].Stroke = 0 // so that the first pause is at the end of a stroke
		time.AfterFunc(20*time.Second, func() {
			if got := string(r.dev.Received()); !strings.HasSuffix(got, "PD7,8;PU;") || !toolUp(r.dev) {
				t.Errorf("paused at %q", got)
			}
			ctl.Resume()
		})
		if out := r.send(p, Options{Control: ctl}); out.State != Done {
			t.Fatalf("%+v", out)
		}
	})
}

// A knife is held at once, lifted, and goes in again at the start of the stroke that it was in.
func TestPauseKnife(t *testing.T) {
	for _, flow := range cutterFlows {
		t.Run(string(flow), func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := cutterOn(t, "memory", flow, pretend.CutterOptions{Rate: 200, Planner: 15})
				defer r.close()
				ctl := NewControl()
				var asked time.Time
				time.AfterFunc(7*time.Second, func() {
					asked = time.Now()
					ctl.Pause()
				})
				time.AfterFunc(67*time.Second, func() {
					if !toolUp(r.dev) || r.dev.(*pretend.Cutter).State() != "Idle" {
						t.Error("paused with the blade in the cloth")
					}
					ctl.Resume()
				})
				p := cutProgram(60)
				out := r.send(p, Options{Control: ctl})
				if out.State != Done {
					t.Fatalf("%+v", out)
				}
				held := stopReceived(r.dev).Sub(asked)
				t.Logf("held after %v", held)
				checkGoneInAgain(t, program(r.dev.Received()), p)
			})
		})
	}
}

// checkGoneInAgain: a run from the start, the abort's lines, the prelude, and the rest from the
// start of a stroke that had not been finished.
func checkGoneInAgain(t *testing.T, got []byte, p devices.Program) {
	t.Helper()
	before, after, found := bytes.Cut(got, append(bytes.Clone(p.Abort), p.Blocks[0].Bytes...))
	if !found {
		t.Fatalf("no lift and prelude in %q", got)
	}
	all := p.Bytes()
	if !bytes.HasPrefix(all, before) || !bytes.HasSuffix(all, after) {
		t.Fatal("what was cut before or after the pause is not a part of the program")
	}
	if len(before)+len(after) < len(all) {
		t.Errorf("%d bytes were left out", len(all)-len(before)-len(after))
	}
	if !bytes.HasPrefix(after, []byte("G0 X")) {
		t.Errorf("went in again with %.40q, not at the start of a stroke", after)
	}
}

// The caller may make the program with which the blade goes in again, which is sent once and whole; what
// was sure before keeps its stroke, and a pause in it asks anew with marks of that program.
func TestPauseKnifeWithOverlap(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := cutterOn(t, "memory", devices.FlowLineAck, pretend.CutterOptions{Rate: 200})
		defer r.close()
		ctl := NewControl()
		p := cutProgram(60)
		rest := cutProgram(40)
		for i := range rest.Blocks {
			if rest.Blocks[i].Stroke >= 0 {
				rest.Blocks[i].Stroke += 20 // numbered as in the whole
			}
		}
		for _, at := range []time.Duration{7, 26} {
			time.AfterFunc(at*time.Second, ctl.Pause)
			time.AfterFunc((at+15)*time.Second, ctl.Resume)
		}
		asked, sure := 0, -1
		out := r.send(p, Options{Control: ctl,
			Progress: func(pr Progress) { sure = max(sure, pr.Sure) },
			Continue: func(held *Place, sure Mark, sent int) (devices.Program, error) {
				if held == nil || held.Machine || held.X == 0 || !sure.Known || sent <= sure.Block {
					t.Errorf("held at %+v, sure %+v, sent %d", held, sure, sent)
				}
				asked++
				return rest, nil
			}})
		if out.State != Done || asked != 2 || !bytes.HasSuffix(r.dev.Received(), append(bytes.Clone(p.Abort), rest.Bytes()...)) {
			t.Fatalf("asked %d times, %+v\n%q", asked, out, r.dev.Received())
		}
		if out.SureStroke != 59 || sure != 59 || out.Sure.Block != len(rest.Blocks)-1 {
			t.Errorf("at the end stroke %d is sure, progress said %d", out.SureStroke, sure)
		}
	})
}

// While a knife is paused nothing is called sure that the reset took from its controller, and a stop then
// still tells where it stood before it was lifted.
func TestPausedKnifeKeepsItsPlace(t *testing.T) {
	for _, flow := range []devices.Flow{devices.FlowLineAck, devices.FlowLineWin} {
		inTime(t, "memory", func(t *testing.T) {
			r := cutterOn(t, "memory", flow, pretend.CutterOptions{Rate: 200, Planner: 4})
			r.prof.Port.Planner = 4
			defer r.close()
			ctl, p := NewControl(), cutProgram(200)
			time.AfterFunc(7*time.Second, ctl.Pause)
			time.AfterFunc(40*time.Second, ctl.Cancel)
			var paused Progress
			out := r.send(p, Options{Control: ctl, Progress: func(pr Progress) {
				if pr.Person {
					paused = pr
				}
			}})
			if out.State != Canceled || paused.Place == nil || paused.SureBlock < 0 || paused.Sent <= paused.SureBlock {
				t.Fatalf("%s: paused at %+v, then %+v", flow, paused, out)
			}
			if *paused.Place != *out.Held || out.Sent != paused.Sent || out.Sure.Block != paused.SureBlock || out.Held.Z > 0 {
				t.Errorf("%s: paused at %+v (%+v), stopped at %+v (%+v)", flow, *paused.Place, paused, *out.Held, out)
			}
			var sure []byte
			for _, b := range p.Blocks[:paused.SureBlock+1] {
				sure = append(sure, b.Bytes...)
			}
			if !bytes.HasPrefix(bytes.TrimLeft(r.dev.Received(), "\n"), sure) {
				t.Errorf("%s: block %d is called sure: %q, carried out is %q", flow, paused.SureBlock, sure[max(0, len(sure)-60):], r.dev.Received()[len(r.dev.Received())-120:])
			}
		})
	}
}

// Cancel still works while paused.
func TestCancelWhilePaused(t *testing.T) {
	for _, flow := range []devices.Flow{devices.FlowXonXoff, devices.FlowLineAck} {
		inTime(t, "memory", func(t *testing.T) {
			r, p := slowRig(t, "memory", flow)
			defer r.close()
			ctl := NewControl()
			time.AfterFunc(2*time.Second, ctl.Pause)
			time.AfterFunc(60*time.Second, ctl.Cancel)
			out := r.send(p, Options{Control: ctl})
			if out.State != Canceled || out.Tool != ToolUp || !toolUp(r.dev) {
				t.Fatalf("%s: %+v", flow, out)
			}
		})
	}
}

// A hold pressed at the machine is no stall, and is said.
func TestHeldAtTheMachine(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := cutterOn(t, "memory", devices.FlowLineAck, pretend.CutterOptions{Rate: 500})
		defer r.close()
		cutter := r.dev.(*pretend.Cutter)
		time.AfterFunc(time.Second, cutter.PressHold)
		time.AfterFunc(40*time.Second, cutter.PressGo)
		var said []string
		p := cutProgram(60)
		out := r.send(p, Options{Progress: func(p Progress) { said = append(said, p.Waiting) }})
		if out.State != Done || !bytes.Equal(cutter.Received(), p.Bytes()) {
			t.Fatalf("%+v", out)
		}
		if !strings.Contains(strings.Join(said, "\n"), "it says Hold") {
			t.Errorf("said only %q", said)
		}
	})
}

// A fresh sheet is asked for when the old one is drawn, and only a person's word goes on.
func TestFreshSheet(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowRTSCTS, pretend.PlotterOptions{Rate: 300})
		defer r.close()
		ctl := NewControl()
		ctl.FreshSheet() // said before anybody asked: it must not count
		p := plotProgram(20)
		p.Blocks[20].WaitForPerson = "lay sheet 2 of 2"
		waits := 0
		out := r.send(p, Options{Control: ctl, Progress: func(pr Progress) {
			if !pr.Person {
				return
			}
			waits++
			if got := program(r.dev.Received()); !bytes.Equal(got, join(p.Blocks[:21])) || pr.Waiting != "lay sheet 2 of 2" {
				t.Errorf("asked for %q with %d bytes drawn", pr.Waiting, len(got))
			}
			time.AfterFunc(time.Hour, ctl.FreshSheet)
		}})
		if out.State != Done || waits != 1 || !bytes.Equal(program(r.dev.Received()), p.Bytes()) {
			t.Fatalf("%d waits, %+v", waits, out)
		}
	})
}
