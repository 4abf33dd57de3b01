package pipeline

import (
	"context"
	"fmt"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// BenchmarkWish measures, through the whole daemon and by the real clock, how soon a person's cancel, and
// on a knife a pause, reaches a pretend device that holds the sender back nearly all the time. It prints
// the share of wishes within half a second; -benchtime 100x gives the hundred.
func BenchmarkWish(b *testing.B) {
	for _, flow := range []devices.Flow{devices.FlowXonXoff, devices.FlowEnqAck, devices.FlowQuery} {
		b.Run("cancel/"+string(flow), func(b *testing.B) { wishes(b, flow, "roll-plotter", (*control.Jobs).Cancel) })
	}
	for _, flow := range []devices.Flow{devices.FlowLineAck, devices.FlowLineWin} {
		b.Run("cancel/"+string(flow), func(b *testing.B) { wishes(b, flow, "knife-table", (*control.Jobs).Cancel) })
		b.Run("pause/"+string(flow), func(b *testing.B) { wishes(b, flow, "knife-table", (*control.Jobs).Pause) })
	}
}

type wishing = func(d *control.Jobs, ctx context.Context, id int64) error

func wishes(b *testing.B, flow devices.Flow, device string, wish wishing) {
	knife := device == "knife-table"
	var told func() time.Time
	var lines func() int
	p := newReplugged(b, func(l pretend.Link) interface{ Close() } {
		if knife {
			c := pretend.NewCutter(l, pretend.CutterOptions{Rate: 60, Planner: 8})
			told, lines = c.StopReceived, func() int { return int(c.Executed()) }
			return c
		}
		c := pretend.NewPlotter(l, pretend.PlotterOptions{Flow: flow, Rate: 300})
		told, lines = c.StopReceived, func() int { return int(c.Executed()) }
		return c
	})
	room := wishRoom(b, p.path, flow, knife)
	h := daemontest.New(b)
	h.Settings, h.Options = faultDaemon(room)
	h.Start()
	jobs := h.Daemon.Jobs()
	within, worst := 0, time.Duration(0)
	for id := int64(1); b.Loop(); id++ {
		h.DropWhole(device, fmt.Sprintf("cuff-%d.svg", id), faultDraft)
		if knife {
			h.Becomes(id, ledger.Held)
			if err := jobs.Release(b.Context(), id, nil, control.BedClear); err != nil {
				b.Fatal(err)
			}
		}
		h.Becomes(id, ledger.Processing)
		before := lines()
		h.Until("bytes move", func() bool { return lines() > before+60 })
		time.Sleep(time.Duration(id*37%400) * time.Millisecond)
		asked := time.Now()
		if err := wish(jobs, b.Context(), id); err != nil {
			b.Fatal(err)
		}
		h.Until("the device is told", func() bool { return told().After(asked) })
		d := told().Sub(asked)
		worst = max(worst, d)
		if d <= 500*time.Millisecond {
			within++
		}
		_ = jobs.Cancel(b.Context(), id)
		h.Becomes(id, ledger.Canceled)
	}
	b.ReportMetric(100*float64(within)/float64(b.N), "%in-half-a-second")
	b.ReportMetric(float64(worst.Microseconds())/1000, "ms-worst")
	h.Stop()
}

func wishRoom(b *testing.B, port string, flow devices.Flow, knife bool) *config.Workroom {
	device := fmt.Sprintf("roll-plotter: {kind: pen-plotter, language: hpgl, material: paper, width: 914, plot: {serial_control: true, long: page-size}, port: {path: %s, baud: 115200, flow: %s}}", port, flow)
	if knife {
		device = fmt.Sprintf("knife-table: {kind: drag-knife, language: gcode, material: calico, width: 1000, length: 1600, port: {path: %s, baud: 115200, flow: %s, planner: 8, start_wait: 0}}", port, flow)
	}
	dir := b.TempDir()
	return roomOf(b, fmt.Sprintf(`workroom: Wardrobe room
folders: {inbox: %[1]s/inbox, returned: %[1]s/returned, store: %[1]s/store}
materials: {calico: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true}, paper: {width: 914, margin: 10, gap: 5}}
devices:
  %[2]s
`, dir, device))
}
