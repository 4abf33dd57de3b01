package talk

import (
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// sentIn sends a program in the time of a pretend clock, so that how long it takes depends on nothing but
// line, device and sender. It gives all that a person was told meanwhile.
func sentIn(t *testing.T, r rig, p devices.Program) (time.Duration, []string) {
	t.Helper()
	var remarks []string
	begun := time.Now()
	out := r.send(p, Options{Progress: func(m Progress) {
		if n := len(remarks); m.Remark != "" && (n == 0 || remarks[n-1] != m.Remark) {
			remarks = append(remarks, m.Remark)
		}
	}})
	if out.State != Done || r.dev.Lost() > 0 {
		t.Errorf("ended %+v; %d bytes found the buffer full", out, r.dev.Lost())
	}
	if got := program(r.dev.Received()); string(got) != string(p.Bytes()) {
		t.Errorf("received %d bytes, not the program's %d", len(got), p.Len())
	}
	return time.Since(begun), remarks
}

// TestLostXonDoesNotCrawl: the one DC1 that is lost costs the time until it is missed, and a little for the
// questions from then on; and it is told. The device says stop late, so that it never has to again.
func TestLostXonDoesNotCrawl(t *testing.T) {
	for _, kind := range []string{"memory", "memory, flow in the program", "memory, blind"} {
		for _, buffer := range []int{255, 1024, 4096} {
			var sound time.Duration
			for _, f := range []pretend.Faults{{}, {LostXON: 1}, {LostXON: 3}, {LateXON: 3000}} {
				inTime(t, kind, func(t *testing.T) {
					r := plotterOn(t, kind, devices.FlowXonXoff, pretend.PlotterOptions{Rate: 700, Buffer: buffer, Level: 81, Faults: f})
					defer r.close()
					r.prof.Port.Stall = 60
					took, remarks := sentIn(t, r, plotProgram(600))
					if f == (pretend.Faults{}) {
						sound = took
					}
					if took > sound+12*time.Second {
						t.Errorf("%s, buffer %d, %+v: took %v in place of %v", kind, buffer, f, took, sound)
					}
					if lost := f.LostXON > 0; lost != (len(remarks) == 1 && strings.Contains(remarks[0], "DC1")) || !lost && len(remarks) > 0 {
						t.Errorf("%s, buffer %d, %+v: told %q", kind, buffer, f, remarks)
					}
				})
			}
		}
	}
}

// TestStoodStillDoesNotCrawl: a device that somebody pauses at its panel goes on at its own speed after.
func TestStoodStillDoesNotCrawl(t *testing.T) {
	for _, kind := range []string{"memory", "memory, flow in the program", "memory, blind"} {
		inTime(t, kind, func(t *testing.T) {
			r := plotterOn(t, kind, devices.FlowXonXoff, pretend.PlotterOptions{Rate: 700, Buffer: 255, Level: 81, Faults: pretend.Faults{PauseAfter: 3000}})
			defer r.close()
			r.prof.Port.Stall = 60
			time.AfterFunc(40*time.Second, r.dev.(*pretend.Plotter).Release)
			p := plotProgram(600)
			if took, _ := sentIn(t, r, p); took > 42*time.Second+time.Duration(p.Len()/700)*time.Second {
				t.Errorf("%s: took %v", kind, took)
			}
		})
	}
}

// TestCrawlIsTold: where each part waits for an answer that is lost, a person is told once that it goes
// slowly, and why.
func TestCrawlIsTold(t *testing.T) {
	for flow, f := range map[devices.Flow]pretend.Faults{
		devices.FlowEnqAck: {LostAcks: 10}, devices.FlowQuery: {Garble: 7},
	} {
		inTime(t, "memory", func(t *testing.T) {
			r := plotterOn(t, "memory", flow, pretend.PlotterOptions{Rate: 700, Buffer: 512, Faults: f})
			defer r.close()
			r.prof.Port.Stall = 60
			_, remarks := sentIn(t, r, plotProgram(200))
			if len(remarks) != 1 || !strings.Contains(remarks[0], "slowly") || !strings.Contains(remarks[0], "cable") {
				t.Errorf("%s: told %q", flow, remarks)
			}
		})
	}
}
