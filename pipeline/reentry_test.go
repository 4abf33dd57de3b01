package pipeline

import (
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/devices/pretend"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
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
			h.Start()
			h.Drop("knife-table", "satchel-bulge.dxf", string(draftBytes(t, "../testdata/drafts/satchel-bulge.dxf")))
			h.Becomes(1, ledger.Held)
			if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			for range 3 {
				time.Sleep(time.Duration(300+rng.IntN(900)) * time.Millisecond)
				if h.Job(1).State == ledger.Completed {
					break
				}
				if err := h.Daemon.Jobs().Pause(t.Context(), 1); err != nil {
					break // it was done a moment before
				}
				h.Until("it is held", func() bool { return h.Job(1).State != ledger.Processing })
				if j := h.Job(1); j.State == ledger.Completed {
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
				if err := h.Daemon.Jobs().Resume(t.Context(), 1, "", control.NotShifted); err != nil {
					t.Fatal(err)
				}
			}
			h.Becomes(1, ledger.Completed)
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
func overlaps(t *testing.T, moves []devices.Move, want work) {
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
			h.Start()
			h.Drop("knife-table", "satchel-bulge.dxf", string(draftBytes(t, "../testdata/drafts/satchel-bulge.dxf")))
			h.Becomes(1, ledger.Held)
			if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			stops, held, round := 0, 0, 0.0
			for held < 3 && stops < 8 && h.Job(1).State != ledger.Completed {
				bytes := int64(want.Program.Len()/8 + rng.IntN(want.Program.Len()/6))
				if stops == 0 {
					bytes += int64(want.Program.Len() / 8) // its first stroke is whole by then
				}
				before := int64(-1) // what is told counts what earlier runs sent
				h.Until("some of it is sent", func() bool {
					now := h.Daemon.Jobs().Now()
					if before < 0 && len(now) == 1 && now[0].Bytes > 0 {
						before = now[0].Bytes
					}
					return h.Job(1).State == ledger.Completed || before >= 0 && len(now) == 1 && now[0].Bytes-before > bytes
				})
				if name == "paused before" && h.Daemon.Jobs().Pause(t.Context(), 1) == nil {
					h.Until("it is held", func() bool { return h.Job(1).State != ledger.Processing })
				}
				h.Stop()
				h.Start()
				j := h.Job(1)
				if j.State == ledger.Completed {
					break
				}
				points, err := h.Daemon.Jobs().Points(t.Context(), 1)
				if err != nil {
					t.Fatal(err)
				}
				from := points[len(points)-1]
				t.Logf("%s; %+v; %s: %s", j.Reason, j.Send.Held, from.From, from.Text)
				stops++
				if from.From == places.AtPlace {
					held++
					// A closed line passes its start twice; held there, it is cut round once more.
					line, b := want.Strokes[j.Send.Held.Stroke].Path, want.Profile.Blade
					if geom.Dist(j.Send.Held.At, line.Points[0]) < b.ReentryOverlap+b.Overcut+2*b.Offset {
						round += line.Length()
					}
				} else if from.From == "start" {
					t.Fatal("no place is offered")
				}
				if err := h.Daemon.Jobs().Resume(t.Context(), 1, from.From, control.NotShifted); err != nil {
					t.Fatal(err)
				}
			}
			h.Becomes(1, ledger.Completed)
			if held == 0 {
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
				t.Logf("%d stops, %d at a place: %.0f mm were cut twice", stops, held, more)
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
