package making

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/pattern"
)

// plotTruth is what the design promises of a plotter: half a unit of 0.025 mm an axis, and the
// error budget of the line before it.
const plotTruth = 0.025

// wideRoom is the sample workroom with a desk plotter wide enough for the shown drafts.
func wideRoom() *config.Workroom {
	room := Sample()
	d := room.Devices["desk-plotter"]
	d.Width = 800
	room.Devices["desk-plotter"] = d
	m := room.Materials["card-sheet"]
	m.Width = 800
	room.Materials["card-sheet"] = m
	return room
}

// whole is a draft with that by which its program was made.
type whole struct {
	*Work
	Made
}

// wholeOf needs a program of strokes.
func wholeOf(t *testing.T, w *Work) whole {
	t.Helper()
	made, ok := w.Made()
	if !ok {
		t.Fatalf("%s for %s has no program: %s%s", w.Request.Name, w.Request.Device, w.Reason, w.Hold)
	}
	return whole{w, made}
}

func makeFor(t *testing.T, room *config.Workroom, file, device string) whole {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	room.Checks = map[string]string{pattern.RuleOtherCloth: "off"} // the pieces of all cloths in one program
	w, err := New(room).Make(context.Background(), Request{Job: 1, Source: data, Name: filepath.Base(file), Device: device})
	if err != nil {
		t.Fatal(err)
	}
	if w.Refused || w.Hold != "" {
		t.Fatalf("%s for %s is not made: %s%s", file, device, w.Reason, w.Hold)
	}
	return wholeOf(t, w)
}

// TestPlotsAreTrue reads the bytes of every shown draft with the reader, which shares no code with
// the writer, and holds what is drawn against the cut-ready outlines where they lie: shape, hand
// and place at once, both ways.
func TestPlotsAreTrue(t *testing.T) {
	for _, file := range draftFiles(t) {
		for i, device := range []string{"roll-plotter", "desk-plotter", "roll-plotter"} {
			patterns := []devices.Patterns{devices.PatternsOnce, devices.PatternsOnce, devices.PatternsEveryCopy}[i]
			t.Run(device+"/"+string(patterns)+"/"+filepath.Base(file), func(t *testing.T) {
				room := wideRoom()
				d := room.Devices[device]
				d.Patterns = patterns
				room.Devices[device] = d
				w := makeFor(t, room, file, device)
				drawn := plotted(t, w)
				rigid(t, w)
				onto(t, w, drawn)
				nothingElse(t, w, drawn)
			})
		}
	}
}

// plotted gives the traces of all sheets in one frame.
func plotted(t *testing.T, w whole) []geom.Path {
	t.Helper()
	d, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range d.Events {
		if e.Severity == hpgl.SeverityError {
			t.Errorf("the reader complains: %+v", e)
		}
	}
	var out []geom.Path
	for _, tr := range d.Traces {
		shift := 0.0
		if w.Profile.Plot.Long == "sheets" {
			shift = float64(tr.Page) * (w.Profile.Plot.FrameLength - w.Profile.Plot.FrameOverlap)
		}
		out = append(out, tr.Path.Apply(geom.Translate(shift, 0)))
	}
	return out
}

// rigid holds that a piece was only moved, turned, and mirrored where its material lies face down.
func rigid(t *testing.T, w whole) {
	t.Helper()
	for _, p := range w.Lay.Placements {
		m := p.Map
		if math.Abs(m.Det()-1) > 1e-12 || math.Abs(math.Hypot(m.A, m.B)-1) > 1e-12 || p.Mirrored {
			t.Errorf("%s is not just moved and turned: %+v", w.Ready[p.Ready].Name, m)
		}
	}
}

// onto holds that every millimetre of every cut-ready outline is drawn where it lies.
func onto(t *testing.T, w whole, drawn []geom.Path) {
	t.Helper()
	ix := geom.NewIndex(drawn...)
	for _, p := range w.Lay.Placements {
		worst, at := 0.0, orb.Point{}
		for _, q := range everyMMOf(w.Ready[p.Ready].CutLines(), p.Map) {
			if _, near := ix.Nearest(q); near.Dist > worst {
				worst, at = near.Dist, q
			}
		}
		if worst > plotTruth {
			t.Errorf("%s copy %d: the line at %v is drawn %.4f mm away", w.Ready[p.Ready].Name, w.Ready[p.Ready].Copy, at, worst)
		}
	}
}

// everyMMOf are places on several lines, brought to where they lie.
func everyMMOf(paths []geom.Path, by geom.Affine) (out []orb.Point) {
	for _, p := range paths {
		out = append(out, everyMM(p.Apply(by))...)
	}
	return out
}

// nothingElse holds that nothing is drawn that nobody asked for.
func nothingElse(t *testing.T, w whole, drawn []geom.Path) {
	t.Helper()
	var wanted []geom.Path
	for _, s := range w.Strokes {
		wanted = append(wanted, s.Path)
	}
	ix := geom.NewIndex(wanted...)
	for _, d := range drawn {
		if w.Profile.Plot.Long == "sheets" && crossOnly(d) {
			continue // the marks by which two sheets are laid together
		}
		for _, q := range everyMM(d) {
			if _, near := ix.Nearest(q); near.Dist > plotTruth {
				t.Fatalf("something is drawn at %v, %.4f mm from anything wanted", q, near.Dist)
			}
		}
	}
}

// crossOnly tells a stroke of a registration cross: straight and no longer than a few millimetres.
func crossOnly(p geom.Path) bool { return len(p.Points) <= 3 && p.Length() <= 20 }

func everyMM(p geom.Path) []orb.Point {
	out := append([]orb.Point(nil), p.Points...)
	for i := range p.Segments() {
		a, b := p.Segment(i)
		n := int(geom.Dist(a, b))
		for k := 1; k <= n; k++ {
			out = append(out, geom.Lerp(a, b, float64(k)/float64(n+1)))
		}
	}
	return out
}

// TestCutsAreTrue runs a simulated blade, written apart from the compensation, over the bytes of
// every shown draft, from headings all round: 0.05 mm along edges, 0.1 mm at corners, and every
// piece comes free.
func TestCutsAreTrue(t *testing.T) {
	for _, file := range draftFiles(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			w := makeFor(t, Sample(), file, "knife-table")
			trace := gcode.Read(w.Program.Bytes(), gcode.ReadOptions{})
			if len(trace.Errors()) > 0 {
				t.Fatalf("the reader complains: %v", trace.Errors())
			}
			for k := range 8 {
				heading := float64(k)*math.Pi/4 + 0.1
				res := blade.Simulate(trace.Moves, blade.Options{Offset: w.Profile.Blade.Offset, Heading: heading})
				for _, d := range blade.Compare(res.Cuts, w.Knife.Wanted, blade.Tolerances{
					Waste: []geom.Path{w.Knife.Align}, WasteReach: 3*w.Profile.Blade.Offset + 1,
				}) {
					t.Errorf("from heading %.1f: %s", heading, d)
				}
				if res.MaxTurn > math.Pi+1e-6 {
					t.Errorf("a swivel turns by %.1f degrees", res.MaxTurn*180/math.Pi)
				}
				for _, s := range w.Strokes {
					if s.Role == string(pattern.RoleCut) && s.Path.Closed && !blade.Severed(res.Cuts, s.Path, w.Profile.Blade.CutZ) {
						t.Errorf("from heading %.1f: %s does not come free", heading, s.Name)
					}
				}
			}
		})
	}
}

// TestNoNameIsAnInstruction gives a piece a name of everything that means something to a machine:
// the bytes must draw the same as with a plain name but for the letters, and hold none of them.
func TestNoNameIsAnInstruction(t *testing.T) {
	const nasty = "A\x1b.K\x03;PD0,0;\nG0 Z-9 (x) ?!~%\x18 é ü"
	for _, device := range []string{"roll-plotter", "desk-plotter", "knife-table"} {
		lines := map[bool]int{}
		for _, bad := range []bool{false, true} {
			name := "plain"
			if bad {
				name = nasty
			}
			w := makeNamed(t, device, name)
			lines[bad] = countRole(w, pattern.RoleCut) + countRole(w, pattern.RoleNotch)
			for _, c := range w.Program.Bytes() {
				if c == 0x1b || c == 3 || c == '?' && device == "knife-table" || c == '!' && device == "knife-table" || c == '~' && device == "knife-table" || c == 0x18 {
					t.Errorf("%s: byte %#x of a name reached the device", device, c)
				}
			}
			if device == "knife-table" {
				trace := gcode.Read(w.Program.Bytes(), gcode.ReadOptions{})
				if len(trace.Errors()) > 0 || len(gcode.Unsafe(trace, w.Profile)) > 0 {
					t.Errorf("a name made the program unsafe: %v", trace.Errors())
				}
				continue
			}
			onto(t, w, plotted(t, w))
		}
		if lines[false] != lines[true] {
			t.Errorf("%s: %d lines with a plain name, %d with a nasty one", device, lines[false], lines[true])
		}
	}
}

func countRole(w whole, r pattern.Role) int {
	n := 0
	for _, s := range w.Strokes {
		if s.Role == string(r) {
			n++
		}
	}
	return n
}

// makeNamed makes a square piece of any name, put into the pattern after reading: no file form could
// bring some of these bytes, a later one may.
func makeNamed(t *testing.T, device, name string) whole {
	t.Helper()
	h := New(Sample())
	w := &Work{Looked: Looked{Request: Request{Name: name, Device: device}}}
	cut := geom.Path{Points: []orb.Point{{0, 0}, {200, 0}, {200, 150}, {0, 150}}, Closed: true}
	w.Pattern = &pattern.Pattern{Style: name, Pieces: []pattern.Piece{{
		Name: name, Named: true, Quantity: 1, Cut: &cut, CutSaid: true,
		Notches: []pattern.Notch{{At: orb.Point{100, 0}, Kind: pattern.NotchNick, Depth: 4}},
		Grain:   &pattern.Segment{A: orb.Point{20, 20}, B: orb.Point{180, 20}},
	}}}
	of := Made{Setup: h.setup(device, "", h.measured(device))}
	goesOn := func(j Judged) {
		if w.add(j); w.Refused || w.Hold != "" {
			t.Fatalf("%q is not made: %s%s", name, w.Reason, w.Hold)
		}
	}
	goesOn(h.judge(w.Read, &of.Setup, nil))
	var j Judged
	of.Prepared, j = h.prepare(w.Read, of.Setup, Request{})
	goesOn(j)
	of.Planned, j = h.plan(t.Context(), w.Read, of.Prepared, Request{}, of.Setup, job.Rest{})
	goesOn(j)
	if err := h.makeProgram(t.Context(), w, of); err != nil {
		t.Fatal(err)
	}
	return wholeOf(t, w)
}
