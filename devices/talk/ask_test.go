package talk

import (
	"context"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

func TestAskPlotter(t *testing.T) {
	for _, c := range []struct {
		name  string
		flts  pretend.Faults
		rate  float64
		feed  string
		alter func(*devices.Profile)
		state Condition
		text  string
	}{
		{name: "idle", state: Idle, text: "ready"},
		{name: "busy", rate: 10, feed: strings.Repeat("PD1,1;", 50), state: Busy, text: "still draws"},
		{name: "paused", flts: pretend.Faults{PauseAfter: 3}, feed: "PU;", state: Paused, text: "panel"},
		{name: "error", feed: "ZZZ;", state: Failed, text: "error 1: it does not know an instruction"},
		{name: "absent", flts: pretend.Faults{Mute: true}, state: Absent, text: "is it on"},
		{name: "silent", alter: func(p *devices.Profile) { p.Port.Silent = true }, state: Unknown, text: "answers no questions"},
		{name: "no device control", alter: func(p *devices.Profile) { p.Plot.SerialControl = false }, state: Idle, text: "ready"},
	} {
		t.Run(c.name, func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := plotterOn(t, "memory", devices.FlowXonXoff, pretend.PlotterOptions{Rate: c.rate, Faults: c.flts})
				defer r.close()
				if c.alter != nil {
					c.alter(&r.prof)
				}
				if c.feed != "" {
					if _, err := r.line.Write([]byte(c.feed), time.Second); err != nil {
						t.Fatal(err)
					}
					time.Sleep(time.Second)
				}
				told(t, Ask(context.Background(), r.line, r.prof), c.state, c.text)
			})
		})
	}
}

func told(t *testing.T, got Status, state Condition, text string) {
	t.Helper()
	if got.State != state || !strings.Contains(got.Text, text) {
		t.Errorf("says %+v, not %s with %q", got, state, text)
	}
}

func TestAskCutter(t *testing.T) {
	for _, c := range []struct {
		name, feed string
		flts       pretend.Faults
		state      Condition
		text       string
	}{
		{name: "idle", state: Idle, text: "ready"},
		{name: "busy", feed: "G1 X100 Y100 F10\n", state: Busy, text: "Run"},
		{name: "held", feed: "G1 X100 Y100 F10\n!", state: Paused, text: "Hold"},
		{name: "alarm", feed: "G1 X100 Y100 F10\n\x18", state: Failed, text: "home or unlock"},
		{name: "absent", flts: pretend.Faults{Mute: true}, state: Absent, text: "is it on"},
	} {
		t.Run(c.name, func(t *testing.T) {
			inTime(t, "memory", func(t *testing.T) {
				r := cutterOn(t, "memory", devices.FlowLineAck, pretend.CutterOptions{Rate: 1, Faults: c.flts})
				defer r.close()
				if c.feed != "" {
					if _, err := r.line.Write([]byte(c.feed), time.Second); err != nil {
						t.Fatal(err)
					}
					time.Sleep(500 * time.Millisecond)
				}
				told(t, Ask(context.Background(), r.line, r.prof), c.state, c.text)
			})
		})
	}
}

func TestLook(t *testing.T) {
	r := plotterOn(t, "pty", devices.FlowXonXoff, pretend.PlotterOptions{})
	told(t, Look(context.Background(), r.prof), Busy, "held by a job")
	r.line.Close()
	told(t, Look(context.Background(), r.prof), Idle, "ready")
	r.dev.Close()
	told(t, Look(context.Background(), r.prof), Absent, "not there")
}
