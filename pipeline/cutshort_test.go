package pipeline

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/devices/pretend/pretendtest"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// replugged is a port whose device may be taken away and put back: a link in a folder, as the system
// keeps one for each adapter, that shows where the adapter is now.
type replugged struct {
	t    testing.TB
	path string
	make func(pretend.Link) interface{ Close() }
	now  interface{ Close() }
}

// plug puts a fresh device on a port of another name under the same link.
func (r *replugged) plug() {
	r.t.Helper()
	link := pretendtest.Pty(r.t)
	if r.now != nil {
		r.now.Close()
	}
	r.now = r.make(link)
	_ = os.Remove(r.path)
	if err := os.Symlink(link.Path(), r.path); err != nil {
		r.t.Fatal(err)
	}
}

func newReplugged(t testing.TB, make func(pretend.Link) interface{ Close() }) *replugged {
	dir, err := os.MkdirTemp("", "ports")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	r := &replugged{t: t, path: filepath.Join(dir, "usb-workroom"), make: make}
	r.plug()
	t.Cleanup(func() { r.now.Close() })
	return r
}

// shortCase is one kind of machine for the tests of jobs cut short.
type shortCase struct {
	device, draft string
	room          func(t *testing.T, port string) *config.Workroom
	make          func(f pretend.Faults) func(pretend.Link) interface{ Close() }
	received      func(dev any) []byte
	lines         func(t *testing.T, received []byte, p devices.Profile) []geom.Path
	tol           float64
}

var shortCases = map[string]shortCase{
	"pen": {device: "roll-plotter", draft: "../testdata/drafts/pinafore-in.dxf",
		room: func(t *testing.T, port string) *config.Workroom {
			return roomWith(t, map[string]string{"path: /dev/ttyUSB0 ": "path: " + port + " ", "flow: xon-xoff ": "flow: enq-ack ",
				"serial_control: false ": "serial_control: true ", "baud: 9600\n": "baud: 115200\n", "stall: 300 ": "stall: 3 "})
		},
		make: func(f pretend.Faults) func(pretend.Link) interface{ Close() } {
			return func(l pretend.Link) interface{ Close() } {
				return pretend.NewPlotter(l, pretend.PlotterOptions{Flow: devices.FlowEnqAck, Rate: 5000, Faults: f})
			}
		},
		received: func(dev any) []byte { return dev.(*pretend.Plotter).Received() },
		lines:    drawnBy, tol: 0.03},
	"knife":                  knifeCase("planner: 8, "),
	"knife, unknown planner": knifeCase(""),
}

func knifeCase(planner string) shortCase {
	return shortCase{device: "knife-table", draft: "../testdata/drafts/satchel-bulge.dxf",
		room: func(t *testing.T, port string) *config.Workroom {
			return roomWith(t, map[string]string{"port: {path: /dev/ttyACM0, baud: 115200, flow: line-ack, start_wait: 2}": fmt.Sprintf(
				"port: {path: %s, baud: 115200, flow: line-ack, %sstall: 3}", port, planner)})
		},
		make: func(f pretend.Faults) func(pretend.Link) interface{ Close() } {
			return func(l pretend.Link) interface{ Close() } {
				return pretend.NewCutter(l, pretend.CutterOptions{Rate: 1500, Planner: 8, Truth: true, Faults: f})
			}
		},
		received: func(dev any) []byte { return dev.(*pretend.Cutter).Received() },
		lines: func(t *testing.T, received []byte, p devices.Profile) []geom.Path {
			_, cuts := cutBy(t, received, p)
			var out []geom.Path
			for _, c := range cuts {
				if c.Z <= p.Blade.CutZ+1e-6 {
					out = append(out, c.Path)
				}
			}
			return out
		}, tol: 0.1}
}

// TestCutShortGoesOn breaks a job off in every way that ends a sending, brings the device back under
// another name, and lets it go on from the last whole piece or the last sure stroke. What was made in
// both runs together is the whole drawing.
func TestCutShortGoesOn(t *testing.T) {
	for name, c := range shortCases {
		for _, how := range []string{"stopped daemon", "unplugged", "stalled"} {
			for _, from := range []string{"piece", "stroke", "seen"} {
				if name == "pen" && from != "stroke" {
					continue // it letters and notches all pieces before it draws the last outline
				}
				if name == "knife, unknown planner" && (how != "stopped daemon" || from != "stroke") {
					continue // it only says where it stands where it is asked to stop
				}
				t.Run(strings.Join([]string{name, how, from}, ", "), func(t *testing.T) {
					t.Parallel()
					c.cutShort(t, how, from)
				})
			}
		}
	}
}

// firstUncut is the first piece, in the order in which they end, of which something is not made.
func firstUncut(t *testing.T, strokes []devices.Stroke, made *geom.Index, tol float64) int {
	t.Helper()
	ends, whole := map[int]int{}, map[int]bool{}
	for i, s := range strokes {
		if _, begun := whole[s.Piece]; !begun {
			whole[s.Piece] = true
		}
		ends[s.Piece] = i
		for _, q := range everyMM(s.Path) {
			_, n := made.Nearest(q)
			whole[s.Piece] = whole[s.Piece] && n.Dist <= tol
		}
	}
	first := -1
	for piece, end := range ends {
		if !whole[piece] && piece >= 0 && (first < 0 || end < ends[first]) {
			first = piece
		}
	}
	if first < 0 {
		t.Fatal("all is made")
	}
	return first
}

func (c shortCase) cutShort(t *testing.T, how, from string) {
	rng := seeded(t)
	scratch := c.room(t, "/dev/null")
	want := makeFor(t, scratch, c.draft, c.device)
	at := want.Program.Len()/2 + rng.IntN(want.Program.Len()/3)
	var f pretend.Faults
	switch how {
	case "unplugged":
		f.UnplugAfter = at
	case "stalled":
		f.StallAfter = at
	}
	port := newReplugged(t, c.make(f))
	room := c.room(t, port.path)
	h := serving(t, room)
	h.Start()
	h.Drop(c.device, filepath.Base(c.draft), string(draftBytes(t, c.draft)))
	if room.Devices[c.device].Kind.Cuts() {
		h.Becomes(1, ledger.Held)
		if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
			t.Fatal(err)
		}
	}
	if how == "stopped daemon" {
		h.Until("half is sent", func() bool {
			now := h.Daemon.Jobs().Now()
			return len(now) == 1 && now[0].Bytes > int64(at)
		})
		h.Stop()
		h.Start()
	}
	j := h.Becomes(1, ledger.Stopped)
	t.Logf("%s; sure is block %d of %d; tool %s", j.Reason, j.Send.Sure, j.Send.Blocks, j.Send.Tool)
	if how != "stopped daemon" && j.Send.Tool != ledger.Unknown {
		t.Errorf("the tool is called %s", j.Send.Tool)
	}
	time.Sleep(500 * time.Millisecond) // what it still holds
	lines := c.lines(t, c.received(port.now), want.Profile)
	port.make = c.make(pretend.Faults{})
	port.plug()
	points, err := h.Daemon.Jobs().Points(t.Context(), 1)
	if err != nil || len(points) < 2 {
		t.Fatalf("offered are %+v, %v", points, err)
	}
	for _, p := range points {
		t.Logf("%s: %s", p.From, p.Text)
	}
	offered := false
	for _, p := range points {
		offered = offered || from == "seen"
		offered = offered || p.From == from
	}
	if !offered {
		from = "stroke"
	}
	if from == "seen" {
		from = places.FromPiece(firstUncut(t, want.Strokes, geom.NewIndex(lines...), c.tol) + 1)
		t.Logf("a person sees: %s", from)
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), 1, from, control.NotShifted); err != nil {
		t.Fatal(err)
	}
	j = h.Becomes(1, ledger.Completed)
	if j.Sends != 2 {
		t.Errorf("sent %d times", j.Sends)
	}
	if j.Send.Bytes != j.Send.Total || j.Send.Total < int64(want.Program.Len()) {
		t.Errorf("done, and %d of %d bytes are called sent of a job of %d", j.Send.Bytes, j.Send.Total, want.Program.Len())
	}
	again := c.received(port.now)
	if len(again) >= want.Program.Len() {
		t.Errorf("the second run has %d bytes, the whole program %d", len(again), want.Program.Len())
	}
	lines = append(lines, c.lines(t, again, want.Profile)...)
	covered(t, want.Strokes, geom.NewIndex(lines...), c.tol)
}
