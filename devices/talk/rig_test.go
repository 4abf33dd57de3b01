package talk

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"testing/synctest"

	"go.uber.org/goleak"

	"tracewheel/devices"
	"tracewheel/devices/port"
	"tracewheel/devices/pretend"
	"tracewheel/devices/pretend/pretendtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// machine is what a test wants of a pretend device.
type machine interface {
	Received() []byte
	Lost() int
	Close()
	Path() string
}

// rig is a line with a pretend device at its far end.
type rig struct {
	line devices.Line
	dev  machine
	prof devices.Profile
}

// plotProgram draws n strokes, some in several blocks, none of which is worth looking at.
func plotProgram(n int) devices.Program {
	p := devices.Program{Language: devices.HPGL, Prelude: 1, Strokes: n, Abort: []byte("\x1b.J\x1b.K\x03;PU;SP0;")}
	add := func(text string, stroke int, ends, down bool) {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte(text), Stroke: stroke, Piece: stroke / 3, EndsStroke: ends, Down: down})
	}
	add("IN;SP1;PA;", -1, false, false)
	for i := range n {
		add(fmt.Sprintf("PU%d,%d;PD%d,%d,%d,%d;", i, 2*i, 3*i, 4*i, 5*i+1, 6*i+2), i, false, true)
		add(fmt.Sprintf("PD%d,%d;PU;", 7*i, 8*i), i, true, false)
	}
	add("PU;SP0;", -1, false, false)
	return p
}

// cutProgram cuts n strokes.
func cutProgram(n int) devices.Program {
	p := devices.Program{Language: devices.GCode, Prelude: 1, Strokes: n, Abort: []byte("G21\nG90\nG0 Z5\nM2\n")}
	add := func(text string, stroke int, ends, down bool) {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte(text), Stroke: stroke, Piece: stroke / 3, EndsStroke: ends, Down: down})
	}
	add("G21\nG90\nG0 Z5\n", -1, false, false)
	for i := range n {
		add(fmt.Sprintf("G0 X%d Y%d\nG1 Z-0.5 F600\n", i, 2*i), i, false, true)
		add(fmt.Sprintf("G1 X%d.5 Y%d.25 F3000\n", 3*i, 4*i), i, false, true)
		add(fmt.Sprintf("G1 X%d Y%d\nG0 Z5\n", 5*i, 6*i), i, true, false)
	}
	add("M2\n", -1, false, false)
	return p
}

// plotterOn and cutterOn put a device on a line and give the profile that belongs to it.
func plotterOn(t testing.TB, lineKind string, flow devices.Flow, opt pretend.PlotterOptions) rig {
	prof := devices.Profile{Name: "plotter", Kind: devices.PenPlotter, Language: devices.HPGL}
	prof.Port = devices.PortProfile{Baud: 115200, Flow: flow, Margin: 64, Buffer: 1024, Stall: 5, Pace: 5000}
	prof.Plot.SerialControl = true
	opt.Flow = flow
	if opt.Buffer == 0 {
		opt.Buffer = prof.Port.Buffer
	}
	prof.Port.Buffer = opt.Buffer
	return onLine(t, lineKind, prof, func(l pretend.Link) machine { return pretend.NewPlotter(l, opt) })
}

func cutterOn(t testing.TB, lineKind string, flow devices.Flow, opt pretend.CutterOptions) rig {
	prof := devices.Profile{Name: "cutter", Kind: devices.DragKnife, Language: devices.GCode}
	prof.Port = devices.PortProfile{Baud: 115200, Flow: flow, Margin: 64, Stall: 5, Planner: 15, Pace: 5000}
	return onLine(t, lineKind, prof, func(l pretend.Link) machine { return pretend.NewCutter(l, opt) })
}

func onLine(t testing.TB, lineKind string, prof devices.Profile, dev func(pretend.Link) machine) rig {
	t.Helper()
	r := rig{prof: prof}
	switch lineKind {
	case "pty":
		link := pretendtest.Pty(t)
		r.dev = dev(link)
		r.prof.Port.Path = link.Path()
		var err error
		if r.line, err = port.Open(r.prof.Port); err != nil {
			r.dev.Close()
			t.Fatal(err)
		}
	case "memory", "memory, blind":
		opt := pretend.LineOptions{Baud: prof.Port.Baud, Flow: prof.Port.Flow}
		if lineKind != "memory" { // like a pseudo-terminal, which takes next to nothing while held
			opt.Blind, opt.Queue = true, 64
		}
		host, end := pretend.NewLine(opt)
		r.dev, r.line = dev(end), host
	case "memory, flow in the program":
		host, end := pretend.NewLine(pretend.LineOptions{Baud: prof.Port.Baud})
		r.dev, r.line = dev(end), host
	default:
		t.Fatalf("line kind %q is not known", lineKind)
	}
	return r
}

func (r rig) close() {
	r.line.Close()
	r.dev.Close()
}

func (r rig) send(p devices.Program, opt Options) Outcome {
	return Send(context.Background(), r.line, p, r.prof, opt)
}

// inTime runs f with a fast clock where the line is in memory, and as it is on a pseudo-terminal.
func inTime(t *testing.T, lineKind string, f func(t *testing.T)) {
	if lineKind == "pty" {
		f(t)
		return
	}
	synctest.Test(t, f)
}

// program drops the questions that a sender puts in their turn, and what it first ends of an earlier
// one.
func program(received []byte) []byte {
	received = bytes.TrimPrefix(received, []byte("\x03;"))
	for _, q := range []string{"OE;", "OS;"} {
		received = bytes.ReplaceAll(received, []byte(q), nil)
	}
	return bytes.TrimPrefix(received, []byte("\n")) // of counting
}
