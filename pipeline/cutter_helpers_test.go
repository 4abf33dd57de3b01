package pipeline

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/devices/pretend"
	"tracewheel/devices/pretend/pretendtest"
	"tracewheel/geom"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/sending"
)

// roomWith is the sample workroom with other lines in place of some of its own.
func roomWith(t *testing.T, change map[string]string) *config.Workroom {
	t.Helper()
	text := strings.Replace(string(config.SampleFile()), "    kind: drag-knife\n", "    kind: drag-knife\n    lay_wait: 0\n", 1)
	for from, to := range change {
		if !strings.Contains(text, from) {
			t.Fatalf("the sample workroom has no %q", from)
		}
		text = strings.Replace(text, from, to, 1)
	}
	return roomOf(t, text)
}

// cutterRoom is the sample workroom with a pretend cutter on a pseudo-terminal.
func cutterRoom(t *testing.T, opt pretend.CutterOptions, port string, change map[string]string) (*config.Workroom, *pretend.Cutter) {
	t.Helper()
	link := pretendtest.Pty(t)
	c := pretend.NewCutter(link, opt)
	t.Cleanup(c.Close)
	all := map[string]string{"port: {path: /dev/ttyACM0, baud: 115200, flow: line-ack, start_wait: 2}": fmt.Sprintf("port: {path: %s, baud: 115200, %s}", c.Path(), port)}
	for k, v := range change {
		all[k] = v
	}
	return roomWith(t, all), c
}

// serving makes a house of a workroom's own builder and sender.
func serving(t *testing.T, room *config.Workroom) *daemontest.Workroom {
	t.Helper()
	h := daemontest.New(t)
	h.Settings.Devices = nil
	for _, name := range room.DeviceNames() {
		h.Settings.Devices = append(h.Settings.Devices, job.Device{Name: name, Cuts: room.Devices[name].Kind.Cuts()})
	}
	house := making.New(room)
	h.Options.Build = house.Build
	sender := sending.New(func() *config.Workroom { return room }, house.Rest, h.Options.Log)
	h.Options.Send, h.Options.Port = sender.Send, sender.Port
	return h
}

// draftBytes reads a sample draft, or one of the tests' own.
func draftBytes(t *testing.T, name string) []byte {
	t.Helper()
	if strings.Contains(name, "/") {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	return samples.Read(name)
}

// cutBy are the ways of a simulated tip over all that a cutter ran, from the first line to the last,
// whatever programs they came of.
func cutBy(t *testing.T, received []byte, p devices.Profile) (moves []devices.Move, cuts []blade.Cut) {
	t.Helper()
	at := [3]float64{0, 0, p.Blade.SafeZ}
	line := 0
	for _, part := range bytes.SplitAfter(received, []byte("M2\n")) {
		opt := gcode.OptionsFor(p)
		opt.Start = at
		tr := gcode.Read(part, opt)
		for _, f := range tr.Errors() {
			t.Errorf("line %d of what was run: %v", line+f.Line, f)
		}
		for _, m := range tr.Moves {
			m.Line += line
			moves = append(moves, m)
			at = [3]float64{m.To[0], m.To[1], m.ToZ}
		}
		line += bytes.Count(part, []byte("\n"))
	}
	res := blade.Simulate(moves, blade.Options{Offset: p.Blade.Offset, Top: 0})
	return moves, res.Cuts
}

// coveredBy holds that every millimetre of the strokes lies under a cut at full depth.
func coveredBy(t *testing.T, strokes []devices.Stroke, cuts []blade.Cut, depth float64) {
	t.Helper()
	var paths []geom.Path
	for _, c := range cuts {
		if c.Z <= depth+1e-6 {
			paths = append(paths, c.Path)
		}
	}
	if len(paths) == 0 {
		t.Fatal("nothing was cut at full depth")
	}
	covered(t, strokes, geom.NewIndex(paths...), 0.1)
}

// covered holds that every millimetre of the strokes lies within tol of what was made.
func covered(t *testing.T, strokes []devices.Stroke, made *geom.Index, tol float64) {
	t.Helper()
	missing := 0
	for i, s := range strokes {
		for _, q := range everyMM(s.Path) {
			if _, n := made.Nearest(q); n.Dist > tol {
				if missing++; missing < 5 {
					t.Errorf("stroke %d (%s of %q) is missing at (%.1f, %.1f): %.2f mm off", i, s.Role, s.Name, q[0], q[1], n.Dist)
				}
			}
		}
	}
	if missing > 0 {
		t.Errorf("%d mm are missing", missing)
	}
}

// drawnBy are the lines of all that a plotter received.
func drawnBy(t *testing.T, received []byte, p devices.Profile) []geom.Path {
	t.Helper()
	d, err := hpgl.Read(received, hpgl.OptionsFor(p))
	if err != nil {
		t.Fatal(err)
	}
	var out []geom.Path
	for _, tr := range d.Traces {
		if len(tr.Path.Points) == 1 {
			tr.Path.Points = append(tr.Path.Points, orb.Point{tr.Path.Points[0][0] + 1e-4, tr.Path.Points[0][1]})
		}
		out = append(out, tr.Path)
	}
	return out
}
