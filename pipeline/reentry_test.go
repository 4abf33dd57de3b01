package pipeline

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/devices/port"
	"tracewheel/devices/pretend"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// seeded is a random source whose seed is printed; TRACEWHEEL_SEED repeats it.
func seeded(t testing.TB) *rand.Rand {
	seed := uint64(time.Now().UnixNano())
	if s, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = s
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

// TestHeldKnifeGoesInAgain holds a cut in the daemon three times at random moments. Each time the blade
// is up at once and stays up until a person lets it go on; it then goes in again the stated overlap
// before the place where it was held, and in the end nothing is missing.
func TestHeldKnifeGoesInAgain(t *testing.T) {
	for name, change := range map[string]map[string]string{
		"one pass":        nil,
		"two passes":      {"passes: 1                # how": "passes: 2                # how"},
		"counted lines":   nil,
		"another overlap": {"reentry_overlap: 5 ": "reentry_overlap: 12 "},
		"turned by motor": {"kind: drag-knife": "kind: tangential-knife", "offset: 0.5 ": "offset: 0 ", "axis: \"\" ": "axis: A "},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			rng := seeded(t)
			flow := "flow: line-ack, planner: 8"
			if name == "counted lines" {
				flow = "flow: line-ack-counted, planner: 8"
			}
			room, cutter := cutterRoom(t, pretend.CutterOptions{Rate: 1500, Planner: 8, Truth: true}, flow, change)
			want := makeFor(t, room, "../testdata/drafts/satchel-bulge.dxf", "knife-table")
			h := serving(t, room)
			h.start()
			h.drop("knife-table", "satchel-bulge.dxf", string(draftBytes(t, "../testdata/drafts/satchel-bulge.dxf")))
			h.becomes(1, ledger.Held)
			if err := h.d.Desk().Release(t.Context(), 1, nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			for range 3 {
				time.Sleep(time.Duration(300+rng.IntN(900)) * time.Millisecond)
				if h.job(1).State == ledger.Completed {
					break
				}
				if err := h.d.Desk().Pause(t.Context(), 1); err != nil {
					break // it was done a moment before
				}
				h.until("it is held", func() bool { return h.job(1).State != ledger.Processing })
				if j := h.job(1); j.State == ledger.Completed {
					break
				} else if !strings.Contains(j.Reason, "only if neither cloth nor machine has shifted") {
					t.Errorf("it says %q", j.Reason)
				}
				n := cutter.Executed()
				if !cutter.ToolUp() || cutter.State() != "Idle" {
					t.Fatal("held with the blade in the cloth")
				}
				time.Sleep(100 * time.Millisecond)
				if cutter.Executed() != n {
					t.Error("it moved while it was held")
				}
				if err := h.d.Desk().Resume(t.Context(), 1, "", control.NotShifted); err != nil {
					t.Fatal(err)
				}
			}
			h.becomes(1, ledger.Completed)
			moves, cuts := cutBy(t, cutter.Received(), want.Profile)
			if name == "turned by motor" { // its tip is its axis
				cuts = nil
				for _, p := range downs(moves) {
					cuts = append(cuts, blade.Cut{Path: p, Z: want.Profile.Blade.CutZ})
				}
			}
			coveredBy(t, want.Strokes, cuts, want.Profile.Blade.CutZ)
			if name != "turned by motor" { // which is lifted at each corner anyway
				overlaps(t, moves, want)
			}
		})
	}
}

// overlaps finds the places where the blade was lifted out of an outline, and holds that it went in
// again before each by the stated overlap.
func overlaps(t *testing.T, moves []devices.Move, want *making.Work) {
	t.Helper()
	d, overlap := want.Profile.Blade.Offset, want.Profile.Blade.ReentryOverlap
	run := 0.0 // mm since the blade last went in
	for i, m := range moves {
		if run += m.Length(); m.FromZ > 0 {
			run = 0
		}
		if m.FromZ >= 0 || m.ToZ < want.Profile.Blade.SafeZ || run < 3*overlap { // nicks are made anew
			continue
		}
		for _, s := range want.Strokes {
			if s.Role != "cut" || !s.Path.Closed || s.Path.Length() < 8*overlap {
				continue
			}
			at, ok := knife.TipAlong(s.Path, d, m.From, orb.Point{})
			if !ok || at < 2*overlap || at > s.Path.Length()-2*overlap {
				continue // at the start and the end the blade is lifted anyway
			}
			in, found := entryBefore(moves[i+1:], s.Path, at, d)
			if !found || at-in < overlap-1 || at-in > overlap+2.2*d+1.5 { // in a turn the place is known to 2.2 d
				t.Errorf("lifted %.1f mm along %q, it went in again at %.1f (found %v), not %.0f mm before", at, s.Name, in, found, overlap)
			}
		}
	}
}

// entryBefore is where along a line the first plunge near to a place is made.
func entryBefore(moves []devices.Move, p geom.Path, at, d float64) (float64, bool) {
	for _, m := range moves {
		if m.ToZ < 0 && m.FromZ > 0 {
			if s := p.Nearest(m.To); s.Dist <= d+0.3 && s.S < at+30 && s.S > at-30 {
				in, ok := knife.TipAlong(p, d, m.To, orb.Point{})
				return in, ok
			}
		}
	}
	return 0, false
}

// TestHeldIn finds places in a program as a controller would report them, over every move of it.
func TestHeldIn(t *testing.T) {
	w := makeFor(t, making.Sample(), "../testdata/drafts/satchel-bulge.dxf", "knife-table")
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
	for _, file := range []string{"../testdata/drafts/satchel-bulge.dxf", "../testdata/drafts/tool-roll.dxf"} {
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
					made := madeBefore(w.Program, w.Profile, place(at, m.FromZ+share*(m.ToZ-m.FromZ)), 0, port.Outcome{Sent: len(w.Program.Blocks)})
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
	if madeBefore(devices.Program{}, devices.Profile{}, port.Place{Machine: true}, 0, port.Outcome{}) >= 0 {
		t.Error("a place in the machine's own coordinates is in no program")
	}
}

// TestHeldAsItGoesInAgain holds a cut half round its longest outline, and then twice more while the
// blade comes down to go in again: it has cut nothing since, so it goes in at the same place, not an
// overlap farther back each time.
func TestHeldAsItGoesInAgain(t *testing.T) {
	const file = "../testdata/drafts/satchel-bulge.dxf"
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
		_, cuts := cutBy(t, prog.Bytes(), w.Profile)
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

func place(p orb.Point, z float64) port.Place { return port.Place{X: p[0], Y: p[1], Z: z} }

func sureBlock(b int) port.Mark { return port.Mark{Block: b, Known: true} }

// TestStoppedKnifeKeepsItsPlace ends the daemon in the middle of a cut, in an orderly way, as often as it
// takes until the blade went in again three times at the place where it had stood. In the end nothing is
// missing, and no more than the stated overlap was cut twice each time.
func TestStoppedKnifeKeepsItsPlace(t *testing.T) {
	for name, change := range map[string]map[string]string{
		"one pass":        nil,
		"paused before":   nil,
		"counted lines":   nil,
		"another overlap": {"reentry_overlap: 5 ": "reentry_overlap: 12 "},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			rng := seeded(t)
			flow := "flow: line-ack, planner: 8"
			if name == "counted lines" {
				flow = "flow: line-ack-counted, planner: 8"
			}
			room, cutter := cutterRoom(t, pretend.CutterOptions{Rate: 1500, Planner: 8, Truth: true}, flow, change)
			want := makeFor(t, room, "../testdata/drafts/satchel-bulge.dxf", "knife-table")
			h := serving(t, room)
			h.start()
			h.drop("knife-table", "satchel-bulge.dxf", string(draftBytes(t, "../testdata/drafts/satchel-bulge.dxf")))
			h.becomes(1, ledger.Held)
			if err := h.d.Desk().Release(t.Context(), 1, nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			stops, places, round := 0, 0, 0.0
			for places < 3 && stops < 8 && h.job(1).State != ledger.Completed {
				bytes := int64(want.Program.Len()/8 + rng.IntN(want.Program.Len()/6))
				if stops == 0 {
					bytes += int64(want.Program.Len() / 8) // its first stroke is whole by then
				}
				h.until("some of it is sent", func() bool {
					now := h.d.Desk().Now()
					return h.job(1).State == ledger.Completed || len(now) == 1 && now[0].Bytes > bytes
				})
				if name == "paused before" && h.d.Desk().Pause(t.Context(), 1) == nil {
					h.until("it is held", func() bool { return h.job(1).State != ledger.Processing })
				}
				h.stop()
				h.start()
				j := h.job(1)
				if j.State == ledger.Completed {
					break
				}
				points, err := h.d.Desk().Points(t.Context(), 1)
				if err != nil {
					t.Fatal(err)
				}
				from := points[len(points)-1]
				t.Logf("%s; %+v; %s: %s", j.Reason, j.Send.Held, from.From, from.Text)
				stops++
				if from.From == control.AtPlace {
					places++
					// A closed line passes its start twice; held there, it is cut round once more.
					line, b := want.Strokes[j.Send.Held.Stroke].Path, want.Profile.Blade
					if geom.Dist(j.Send.Held.At, line.Points[0]) < b.ReentryOverlap+b.Overcut+2*b.Offset {
						round += line.Length()
					}
				} else if from.From == "start" {
					t.Fatal("no place is offered")
				}
				if err := h.d.Desk().Resume(t.Context(), 1, from.From, control.NotShifted); err != nil {
					t.Fatal(err)
				}
			}
			h.becomes(1, ledger.Completed)
			if places == 0 {
				t.Error("it never kept its place")
			}
			moves, cuts := cutBy(t, cutter.Received(), want.Profile)
			coveredBy(t, want.Strokes, cuts, want.Profile.Blade.CutZ)
			overlaps(t, moves, want)
			_, once := cutBy(t, want.Program.Bytes(), want.Profile)
			// A stroke of less than four overlaps is cut as a whole; each time there is a stroke in the waste.
			b := want.Profile.Blade
			each := 4*b.ReentryOverlap + b.Overcut + want.Knife.Align.Length() + 5*b.Offset
			if more := length(cuts) - length(once); more > float64(stops)*each+round {
				t.Errorf("%d stops, and %.0f mm were cut twice, more than %.0f each time", stops, more, each)
			} else {
				t.Logf("%d stops, %d at a place: %.0f mm were cut twice", stops, places, more)
			}
		})
	}
}

func length(cuts []blade.Cut) (mm float64) {
	for _, c := range cuts {
		mm += c.Path.Length()
	}
	return mm
}
