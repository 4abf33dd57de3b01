package making

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// otherMachines is a workroom with a pen and a turned blade on gantries, and a soft, thick felt.
const otherMachines = `
workroom: Wardrobe room
materials:
  paper: {width: 1000, length: 1600, margin: 10, gap: 5}
  calico: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true}
  felt: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true, cut_z: -4.2, swivel_z: -0.4, lift_angle: 25, feed_cut: 1500, passes: 3, overcut: 2}
devices:
  pen-table: {kind: pen-gantry, language: gcode, material: paper, width: 1000, length: 1600, port: {path: /dev/ttyUSB5}}
  pen-by-lines: {kind: pen-gantry, language: gcode, material: paper, width: 1000, length: 1600, gantry: {pen_up: ["M5"], pen_down: ["M3 S90"]}, port: {path: /dev/ttyUSB6}}
  turned-knife: {kind: tangential-knife, language: gcode, material: calico, width: 1000, length: 1600, gantry: {axis: C}, port: {path: /dev/ttyUSB7}}
  knife-table: {kind: drag-knife, language: gcode, material: calico, width: 1000, length: 1600, port: {path: /dev/ttyUSB8}}
`

func roomOf(t testing.TB, text string) *config.Workroom {
	t.Helper()
	file := filepath.Join(t.TempDir(), "workroom.yaml")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	return room
}

// TestPensAndTurnedKnivesOnGantries: everything is drawn where it lies, and a turned knife stands along
// what it cuts. Both with nothing but the few needed keys.
func TestPensAndTurnedKnivesOnGantries(t *testing.T) {
	room := roomOf(t, otherMachines)
	for _, device := range []string{"pen-table", "pen-by-lines", "turned-knife"} {
		w := makeFor(t, room, "../../testdata/drafts/satchel-bulge.dxf", device)
		tr := gcode.Read(w.Program.Bytes(), gcode.OptionsFor(w.Profile))
		if len(tr.Errors()) > 0 || !tr.Ended {
			t.Fatalf("%s: %v", device, tr.Errors())
		}
		ix := geom.NewIndex(downs(tr, device)...)
		for _, s := range w.Strokes {
			for _, q := range everyMM(s.Path) {
				if _, near := ix.Nearest(q); near.Dist > plotTruth {
					t.Fatalf("%s: %s at %v is %.3f mm off", device, s.Role, q, near.Dist)
				}
			}
		}
		if device == "turned-knife" {
			alongItsCut(t, tr)
		}
		took := gantryTakes(w)
		if device == "pen-table" && math.Abs(w.Program.Seconds-took) > 0.1*took {
			t.Errorf("%s: %.1f s said, %.1f s taken", device, w.Program.Seconds, took)
		}
	}
}

// downs are the ways with the tool down, arcs in chords.
func downs(tr gcode.Trace, device string) []geom.Path {
	var out []geom.Path
	for _, m := range tr.Moves {
		if m.Rapid || device != "pen-by-lines" && (m.FromZ > 0 || m.ToZ > 0) || geom.Dist(m.From, m.To) == 0 {
			continue
		}
		pts := []orb.Point{m.From, m.To}
		if m.Arc {
			u := geom.Sub(m.From, m.Centre)
			v := geom.Mul(geom.Left(u), math.Copysign(1, m.Sweep))
			pts = geom.FlattenArc([]orb.Point{m.From}, m.Centre, u, v, 0, math.Abs(m.Sweep), 0.001)
		}
		out = append(out, geom.Path{Points: pts})
	}
	return out
}

// alongItsCut holds that the rotary axis stands along every straight cut, a half turn or more aside.
func alongItsCut(t *testing.T, tr gcode.Trace) {
	t.Helper()
	n := 0
	for _, m := range tr.Moves {
		if m.Rapid || m.Arc || m.FromZ >= 0 || m.ToZ >= 0 || geom.Dist(m.From, m.To) < 1 {
			continue
		}
		way := geom.Sub(m.To, m.From)
		off := math.Remainder(m.ToTurn-math.Atan2(way[1], way[0]), math.Pi)
		if math.Abs(off) > 2*math.Pi/180 {
			t.Fatalf("line %d: the blade stands %.1f degrees off its cut", m.Line, off*180/math.Pi)
		}
		n++
	}
	if n < 10 {
		t.Errorf("only %d straight cuts", n)
	}
}

// TestClothChangesTheCut takes depth, passes, feed, lifting and overcut from the cloth that the ticket
// names: three passes to 4.2 mm, turns lifted from 25 degrees on to 0.4 mm, the tip 3 mm past the start.
func TestClothChangesTheCut(t *testing.T) {
	room := roomOf(t, otherMachines)
	thin := clothed(t, room, "calico")
	thick := clothed(t, room, "felt")
	if thin.Knife.Lifts >= thick.Knife.Lifts {
		t.Errorf("%d turns lifted in thin cloth, %d in thick", thin.Knife.Lifts, thick.Knife.Lifts)
	}
	tr := gcode.Read(thick.Program.Bytes(), gcode.ReadOptions{})
	depths, past := map[float64]int{}, 0.0
	for _, m := range tr.Moves {
		if !m.Rapid && m.FromZ == m.ToZ && geom.Dist(m.From, m.To) > 5 {
			depths[m.ToZ]++
			if m.Feed > 1500 {
				t.Fatalf("line %d cuts at F%v", m.Line, m.Feed)
			}
		}
	}
	if depths[-1.4] == 0 || depths[-2.8] == 0 || depths[-4.2] == 0 {
		t.Errorf("straight cuts by depth: %v; want three passes", depths)
	}
	sum := func(w whole) (s float64) {
		for _, p := range w.Strokes {
			s += p.Path.Length()
		}
		return s
	}
	// What is drawn over is what the passes are, plus 1 and 3 mm for each closed line.
	closed := 0.0
	for _, s := range thin.Strokes {
		if s.Path.Closed {
			closed++
		}
	}
	past = tipLength(thick, -4.2) - sum(thick)
	if math.Abs(past-3*closed) > 0.2*closed {
		t.Errorf("the last pass in felt runs %.2f mm further than %0.f closed lines; want 3 mm each", past, closed)
	}
	if past = tipLength(thin, -0.6) - sum(thin); math.Abs(past-closed) > 0.2*closed {
		t.Errorf("in calico %.2f mm further; want 1 mm each of %0.f", past, closed)
	}
}

// tipLength is how far the simulated tip cuts at a depth, without the alignment stroke.
func tipLength(w whole, z float64) (sum float64) {
	waste := geom.NewIndex(w.Knife.Align)
	for _, c := range w.Cuts {
		if _, near := waste.Nearest(c.Path.Points[0]); math.Abs(c.Z-z) < 1e-9 && near.Dist > 1 {
			sum += c.Path.Length()
		}
	}
	return sum
}

func clothed(t *testing.T, room *config.Workroom, cloth string) whole {
	t.Helper()
	data, err := os.ReadFile("../../testdata/drafts/satchel-bulge.dxf")
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(room).Make(context.Background(), Request{Source: data, Name: "satchel-bulge.dxf",
		Device: "knife-table", Ticket: []byte("material: " + cloth + "\n")})
	if err != nil || w.Refused || w.Hold != "" {
		t.Fatalf("%v %s%s", err, w.Reason, w.Hold)
	}
	return wholeOf(t, w)
}

// fineDraft has a hole of 1.2 mm, a step of 0.3 mm in its outline, and a piece of 1.5 mm.
const fineDraft = `<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<g data-piece="Cuff"><path class="cut" d="M10,10 H150 V60 H150.3 V120 H10 Z"/><circle class="cutout" cx="80" cy="60" r="0.6"/></g>
%s</svg>`

const finePiece = `<g data-piece="Spangle"><rect class="cut" x="200" y="20" width="1.5" height="1.5"/></g>`

// TestTooFineIsToldByPieceAndPlace: stabbed features warn, refused pieces are errors by name, and what
// the checks said is not said again.
func TestTooFineIsToldByPieceAndPlace(t *testing.T) {
	for _, more := range []string{"", finePiece} {
		src := []byte(strings.Replace(fineDraft, "%s", more, 1))
		w, err := New(Sample()).Make(context.Background(), Request{Source: src, Name: "fine.svg", Device: "knife-table"})
		if err != nil {
			t.Fatal(err)
		}
		var said []string
		for _, f := range w.Findings {
			if f.Rule != pattern.RuleTooFine {
				continue
			}
			said = append(said, f.Piece+": "+f.Message)
			if f.At == nil {
				t.Errorf("%q has no place", f.Message)
			}
			if more == "" && strings.Contains(f.Message, "stabbed") {
				if f.Severity != pattern.Warning || geom.Dist(*f.At, orb.Point{80, 140}) > 0.01 {
					t.Errorf("the hole is told as %s at %v", f.Severity, *f.At)
				}
			}
			if f.Piece == "Spangle" && (f.Severity != pattern.Error && strings.Contains(f.Message, "too small") || geom.Dist(*f.At, orb.Point{200.75, 179.25}) > 2) {
				t.Errorf("the small piece is told as %s at %v", f.Severity, *f.At)
			}
		}
		all := strings.Join(said, "\n")
		if w.Refused != (more != "") {
			t.Errorf("refused %v: %s\n%s", w.Refused, w.Reason, all)
		}
		if more == "" && (strings.Count(all, "Cuff") != 2 || !strings.Contains(all, "stabbed")) {
			t.Errorf("want the step by the checks and the hole by the knife:\n%s", all)
		}
		if more != "" && !strings.Contains(all, "Spangle: its outline") {
			t.Errorf("want the small piece by name:\n%s", all)
		}
	}
}

// TestWordsAreSentAsText: a device that letters by itself is sent words, in the pieces' own places,
// allow-listed; any other one strokes.
func TestWordsAreSentAsText(t *testing.T) {
	room := wideRoom()
	d := room.Devices["roll-plotter"]
	strokes := makeFor(t, room, "../../testdata/drafts/satchel-bulge.dxf", "roll-plotter")
	d.Plot.Labels = "text"
	room.Devices["roll-plotter"] = d
	w := makeFor(t, room, "../../testdata/drafts/satchel-bulge.dxf", "roll-plotter")
	read, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
	if err != nil || len(read.Errors()) > 0 {
		t.Fatal(err, read.Errors())
	}
	if len(read.Labels) < len(w.Ready) {
		t.Fatalf("%d labels for %d pieces", len(read.Labels), len(w.Ready))
	}
	for _, r := range w.Ready {
		found := false
		for _, l := range read.Labels {
			found = found || strings.Contains(l.Text, r.Name)
		}
		if !found {
			t.Errorf("no label names %q: %+v", r.Name, read.Labels)
		}
	}
	for _, l := range read.Labels {
		inside := strings.HasSuffix(l.Text, " mm") // beside the test square
		for _, p := range w.Lay.Placements {
			inside = inside || w.Ready[p.Ready].Outline.Apply(p.Map).Contains(l.At)
		}
		if !inside {
			t.Errorf("%q is lettered at %v, on no piece", l.Text, l.At)
		}
	}
	if len(w.Strokes) >= len(strokes.Strokes)-50 {
		t.Errorf("%d strokes with words, %d with letters in strokes", len(w.Strokes), len(strokes.Strokes))
	}
}

// TestDepartureHoldsTheJob gives the device a blade that trails further than the bytes allow for: the
// job waits, with the picture, and goes when a person has looked.
func TestDepartureHoldsTheJob(t *testing.T) {
	m := New(roomOf(t, otherMachines))
	w := clothed(t, m.Room, "calico")
	w.Profile.Blade.Offset *= 1.6
	prove := func(answers map[string]string) {
		t.Helper()
		var j Judged
		var err error
		if w.Proved, j, err = m.prove(Encoded{w.Program, w.Knife}, w.Planned, w.Setup, answers); err != nil || j.Refused {
			t.Fatal(err, j.Findings)
		}
		w.Hold = j.Hold
	}
	prove(nil)
	if w.Hold == "" || len(w.Departures) == 0 || !strings.Contains(w.Hold, "as-simulated") || !strings.Contains(w.Hold, "piece \"") {
		t.Fatalf("held: %q, %d departures", w.Hold, len(w.Departures))
	}
	for _, name := range []string{"as-cut.svg", "lay.svg"} {
		if pictures := New(Sample()).pictures(w.Work, w.Made); len(pictures[name]) == 0 {
			t.Errorf("no %s with the held job", name)
		}
	}
	prove(map[string]string{answers.AsSimulated: "yes"})
	if w.Hold != "" {
		t.Errorf("still held: %s", w.Hold)
	}
	if text := departure(blade.Departure{Bridge: true, At: orb.Point{3, 4}}, []devices.Stroke{{Name: "Cuff"}}); !strings.Contains(text, "not cut free") || !strings.Contains(text, "Cuff") {
		t.Error(text)
	}
}
