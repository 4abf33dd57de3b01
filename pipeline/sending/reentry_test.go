package sending

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife/blade"
	"tracewheel/devices/talk"
	"tracewheel/geom"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/making"
)

// TestHeldIn finds places in a program as a controller would report them, over every move of it.
func TestHeldIn(t *testing.T) {
	w := makeFor(t, making.Sample(), "../../testdata/drafts/satchel-bulge.dxf", "knife-table")
	moves := gcode.Read(w.Program.Bytes(), gcode.ReadOptions{}).Moves
	checked := 0
	for _, m := range moves {
		b := w.Program.Blocks[m.Line-1]
		if b.Stroke < 0 || m.ToZ > 0 || m.FromZ > 0 || m.Arc || m.Length() < 1 {
			continue
		}
		mid := geom.Lerp(m.From, m.To, 0.5)
		place := place(mid, (m.FromZ+m.ToZ)/2)
		stroke, held, left := heldIn(w.Program, w.Profile, &place, sureBlock(m.Line-6), m.Line+4)
		if !left || stroke != b.Stroke || held == nil {
			t.Fatalf("line %d is found in stroke %d (%v), not %d", m.Line, stroke, held, b.Stroke)
		}
		checked++
	}
	if checked < 10 {
		t.Errorf("only %d places", checked)
	}
	end := len(w.Program.Blocks) - 1
	if _, _, left := heldIn(w.Program, w.Profile, nil, sureBlock(end-1), end); left {
		t.Error("something is left behind the last stroke")
	}
}

// TestHeldBesideItsMove: a machine that rounds corners off stands beside its own move, here right on one of
// the next stroke, which it has not come to.
func TestHeldBesideItsMove(t *testing.T) {
	p := devices.Program{Language: devices.GCode, Prelude: 1}
	for i, line := range []string{"G21 G90", "G0 X0 Y0", "G1 Z-0.6 F600", "G1 X100 F3000", "G0 Z5", "G0 X0 Y0.3", "G1 Z-0.6 F600", "G1 X100 F3000", "G0 Z5"} {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte(line + "\n"), Stroke: (i+3)/4 - 1, EndsStroke: i > 0 && i%4 == 0})
	}
	at := place(orb.Point{50, 0.28}, -0.6)
	prof, _ := making.Sample().On("knife-table", "")
	stroke, held, left := heldIn(p, prof, &at, sureBlock(2), 7)
	if !left || stroke != 0 || held == nil || held.Stroke != 0 {
		t.Errorf("held in stroke %d, %+v", stroke, held)
	}
}

// TestMadeBefore: wherever a machine is stopped, also a little beside its own move, no block that it had not
// come to is called made, and most often all strokes before its own are.
func TestMadeBefore(t *testing.T) {
	for _, file := range []string{"../../testdata/drafts/satchel-bulge.dxf", "../../testdata/drafts/tool-roll.dxf"} {
		w := makeFor(t, making.Sample(), file, "knife-table")
		places, whole := 0, 0
		for _, m := range gcode.Read(w.Program.Bytes(), gcode.ReadOptions{}).Moves {
			b := w.Program.Blocks[m.Line-1]
			if b.Stroke < 0 || m.Arc || straightDown(m) {
				continue
			}
			for _, off := range []float64{-0.25, 0, 0.25} {
				for share := 0.0; share <= 1; share += 0.25 {
					at := geom.Add(geom.Lerp(m.From, m.To, share), geom.Mul(geom.Left(geom.Unit(geom.Sub(m.To, m.From))), off))
					made, _ := madeBefore(w.Program, w.Profile, place(at, m.FromZ+share*(m.ToZ-m.FromZ)), 0, talk.Outcome{Sent: len(w.Program.Blocks)})
					if made > m.Line-2 {
						t.Fatalf("%s: stopped %.2f mm beside line %d, block %d is called made", file, off, m.Line, made)
					}
					places++
					if made >= 0 && devices.StrokeEndsOf(w.Program).Stroke(made) == b.Stroke-1 {
						whole++
					}
				}
			}
		}
		t.Logf("%s: all strokes before its own at %d of %d places", file, whole, places)
		if whole < places/2 {
			t.Errorf("%s: all strokes before its own at only %d of %d places", file, whole, places)
		}
	}
	if _, known := madeBefore(devices.Program{}, devices.Profile{}, talk.Place{Machine: true}, 0, talk.Outcome{}); known {
		t.Error("a place in the machine's own coordinates is in no program")
	}
}

// TestMadeBeforeAWaitingLine: a machine that stands where a move begins may not have read the line before
// it that moves nothing, here a dwell.
func TestMadeBeforeAWaitingLine(t *testing.T) {
	p := devices.Program{Language: devices.GCode, Prelude: 1}
	for _, line := range []string{"G21 G90", "G0 Z5", "G0 X10 Y0", "G4 P1", "G0 X20 Y0", "G0 X30 Y0"} {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte(line + "\n"), Stroke: -1})
	}
	prof, _ := making.Sample().On("knife-table", "")
	for _, c := range []struct {
		x          float64
		sure, want int
	}{{10, 2, 2}, {15, 2, 2}, {25, 2, 4}} {
		o := talk.Outcome{Sent: 5, Sure: sureBlock(c.sure)}
		if made, known := madeBefore(p, prof, place(orb.Point{c.x, 0}, 5), 0, o); !known || made != c.want {
			t.Errorf("stopped at X%g behind block %d, block %d is called made (%v), want %d", c.x, c.sure, made, known, c.want)
		}
	}
}

// TestHeldAsItGoesInAgain holds a cut half round its longest outline, and then twice more while the
// blade comes down to go in again: it has cut nothing since, so it goes in at the same place, not an
// overlap farther back each time.
func TestHeldAsItGoesInAgain(t *testing.T) {
	const file = "../../testdata/drafts/satchel-bulge.dxf"
	h := &making.Maker{Room: making.Sample()}
	w := makeFor(t, h.Room, file, "knife-table")
	longest := 0
	for i, s := range w.Strokes {
		if s.Path.Length() > w.Strokes[longest].Path.Length() {
			longest = i
		}
	}
	line := w.Strokes[longest].Path
	prog := w.Program
	rest := func(at devices.Move, z float64) {
		t.Helper()
		held := place(geom.Lerp(at.From, at.To, 0.5), z)
		stroke, in, left := heldIn(prog, w.Profile, &held, sureBlock(max(0, at.Line-6)), at.Line+4)
		if !left || stroke != longest || in == nil {
			t.Fatalf("line %d is found in stroke %d (%+v), not %d", at.Line, stroke, in, longest)
		}
		var err error
		prog, err = h.Rest(t.Context(), job.Draft{Source: draftBytes(t, file), Name: file, Device: "knife-table"},
			job.Rest{Whole: w.Program, Stroke: stroke, Held: in})
		if err != nil {
			t.Fatal(err)
		}
	}
	find := func(what string, is func(m devices.Move, along geom.Near) bool) devices.Move {
		t.Helper()
		for _, m := range gcode.Read(prog.Bytes(), gcode.ReadOptions{}).Moves {
			if b := prog.Blocks[m.Line-1]; b.Stroke == longest && is(m, line.Nearest(geom.Lerp(m.From, m.To, 0.5))) {
				return m
			}
		}
		t.Fatalf("no move %s in\n%s", what, prog.Bytes())
		return devices.Move{}
	}
	half := find("half round", func(m devices.Move, n geom.Near) bool {
		return m.ToZ < 0 && m.FromZ < 0 && !m.Arc && m.Length() > 10 && n.S > line.Length()/3
	})
	rest(half, half.ToZ)
	goesIn := func() devices.Move {
		t.Helper()
		return find("down", func(m devices.Move, n geom.Near) bool { return m.FromZ > 0 && m.ToZ < 0 && n.Dist < 1 })
	}
	in := func() float64 { // where the simulated blade enters the outline
		t.Helper()
		cuts := blade.Simulate(gcode.Read(prog.Bytes(), gcode.OptionsFor(w.Profile)).Moves, blade.Options{Offset: w.Profile.Blade.Offset}).Cuts
		for _, c := range cuts {
			if n := line.Nearest(c.Path.Points[0]); n.Dist < 0.3 {
				return n.S
			}
		}
		t.Fatal("it does not go in on the line")
		return 0
	}
	first, tip := in(), line.Nearest(geom.Lerp(half.From, half.To, 0.5)).S-w.Profile.Blade.Offset
	if back := tip - first; math.Abs(back-w.Profile.Blade.ReentryOverlap) > 0.5 {
		t.Errorf("it went in again %.2f mm before the place where it was held", back)
	}
	for range 2 {
		rest(goesIn(), 2)
		if back := first - in(); math.Abs(back) > 0.3 {
			t.Errorf("held as it came down, it went in again %.2f mm farther back", back)
		}
	}
}

func place(p orb.Point, z float64) talk.Place { return talk.Place{X: p[0], Y: p[1], Z: z} }

func sureBlock(b int) talk.Mark { return talk.Mark{Block: b, Known: true} }
