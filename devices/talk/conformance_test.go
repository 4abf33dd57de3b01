package talk

import (
	"bytes"
	"testing"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// A well-behaved device gets every byte once and in order, over each flow habit and kind of line.
func TestConformance(t *testing.T) {
	lines := map[devices.Flow][]string{
		devices.FlowXonXoff: {"pty", "memory", "memory, blind", "memory, flow in the program"},
	}
	usual := []string{"pty", "memory", "memory, blind"}
	for _, flow := range []devices.Flow{devices.FlowXonXoff, devices.FlowRTSCTS, devices.FlowEnqAck, devices.FlowQuery, devices.FlowPaced, devices.FlowNone} {
		kinds := lines[flow]
		if kinds == nil {
			kinds = usual
		}
		for _, kind := range kinds {
			t.Run(string(flow)+" on "+kind, func(t *testing.T) {
				inTime(t, kind, func(t *testing.T) {
					opt := pretend.PlotterOptions{Rate: 4000}
					if flow == devices.FlowNone || flow == devices.FlowPaced {
						opt.Rate = 0
					}
					r := plotterOn(t, kind, flow, opt)
					defer r.close()
					wholly(t, r, plotProgram(60))
				})
			})
		}
	}
	for _, flow := range []devices.Flow{devices.FlowLineAck, devices.FlowLineWin, devices.FlowPaced} {
		for _, kind := range usual {
			t.Run(string(flow)+" for lines on "+kind, func(t *testing.T) {
				inTime(t, kind, func(t *testing.T) {
					opt := pretend.CutterOptions{Rate: 8000}
					if flow == devices.FlowPaced {
						opt.Rate = 0
					}
					r := cutterOn(t, kind, flow, opt)
					defer r.close()
					wholly(t, r, cutProgram(60))
				})
			})
		}
	}
}

// wholly sends a program and holds the sender to its word.
func wholly(t *testing.T, r rig, p devices.Program) {
	t.Helper()
	var last Progress
	out := r.send(p, Options{Progress: func(p Progress) {
		if p.Bytes < last.Bytes || p.Block < last.Block || (p.SureKnown && last.SureKnown && p.Sure < last.Sure) {
			t.Errorf("progress went back from %+v to %+v", last, p)
		}
		last = p
	}})
	if out.State != Done {
		t.Fatalf("ended %+v", out)
	}
	if got := program(r.dev.Received()); !bytes.Equal(got, p.Bytes()) {
		t.Fatalf("received %d bytes, not the %d of the program:\n%.300q", len(got), p.Len(), got)
	}
	if r.dev.Lost() > 0 {
		t.Errorf("its buffer ran over by %d bytes", r.dev.Lost())
	}
	if out.Written != int64(p.Len()) || out.Acknowledged != out.Written {
		t.Errorf("wrote %d, acknowledged %d of %d bytes", out.Written, out.Acknowledged, p.Len())
	}
	if !out.Sure.Known || out.Sure.Block != len(p.Blocks)-1 || out.Tool != ToolUp {
		t.Errorf("after a confirmed end it says %+v, tool %s", out.Sure, out.Tool)
	}
}
