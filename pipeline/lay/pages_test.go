package lay

import (
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// onOne reports whether a placed piece is on one page within its margins; with clear, also outside the overlap with
// the page before.
func onOne(b orb.Bound, m pattern.Material, clear bool) bool {
	p, before := m.Pages, 0.0
	for k := 0.0; k*p.Step < b.Max[0]; k++ {
		from, to := k*p.Step+m.Margin, k*p.Step+p.Room-m.Margin
		if clear {
			from = max(from, before)
		}
		if b.Min[0] >= from-rounding && b.Max[0] <= to+rounding {
			return true
		}
		before = k*p.Step + p.Room
	}
	return false
}

// A piece of 540 by 380 mm is on one sheet of 594 by 420 mm, however many copies there are; a strip longer than a
// sheet crosses the joins.
func TestPiecesOnSheetsAreWhole(t *testing.T) {
	m := pattern.Material{Width: 420, Gap: 3, Margin: 5, Pages: pattern.Pages{Step: 584, Room: 594}}
	ready := []pattern.Ready{rect("panel", 540, 380), rect("panel", 540, 380), rect("flap", 300, 200), rect("flap", 300, 200), rect("strip", 1500, 40)}
	l, found := OnMachine(t.Context(), ready, m, few)
	if len(found) > 0 {
		t.Fatal(found)
	}
	mustLieRight(t, l, ready)
	for _, p := range l.Placements {
		r := &ready[p.Ready]
		if b := r.Outline.Apply(p.Map).Bound(); r.Name != "strip" && !onOne(b, m, true) {
			t.Errorf("%s lies from %.1f to %.1f", r.Name, b.Min[0], b.Max[0])
		}
	}
	if l.LengthUsed > 6*584 { // the strip takes three sheets, the panels one each, the flaps share one
		t.Errorf("%.0f mm are used", l.LengthUsed)
	}
	if l, _ = OnMachine(t.Context(), ready[:1], m, few); l.LengthUsed > 594 {
		t.Errorf("one panel takes %.0f mm", l.LengthUsed)
	}
}

// For random pieces and sheets: all are placed, soundly, and a piece that fits on a sheet is on one.
func TestRandomPiecesOnSheets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.Float64Range(200, 700).Draw(t, "step")
		m := pattern.Material{Width: rapid.Float64Range(300, 900).Draw(t, "width"), Gap: rapid.Float64Range(0, 8).Draw(t, "gap"), Margin: rapid.Float64Range(0, 10).Draw(t, "margin"),
			Pages: pattern.Pages{Step: step, Room: step + rapid.Float64Range(0, 20).Draw(t, "overlap")}}
		var ready []pattern.Ready
		for range rapid.IntRange(1, 12).Draw(t, "pieces") {
			w, h := rapid.Float64Range(20, 800).Draw(t, "w"), rapid.Float64Range(20, 250).Draw(t, "h")
			r := rect("p", w, h)
			if rapid.Bool().Draw(t, "three") {
				r.Outline = geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {w, 0}, {0, h}}}
			}
			ready = append(ready, r)
		}
		l, found := OnMachine(t.Context(), ready, m, few)
		if len(found) > 0 || len(l.Placements) != len(ready) {
			t.Fatalf("%d of %d pieces: %v", len(l.Placements), len(ready), found)
		}
		mustLieRight(t, l, ready)
		for _, p := range l.Placements {
			r := &ready[p.Ready]
			b, own := r.Outline.Apply(p.Map).Bound(), r.Outline.Bound().Max
			held := own[0]
			if held <= m.Width-2*m.Margin { // it may be turned by a quarter
				held = min(held, own[1])
			}
			if clear := held+max(m.Margin, 1)+max(m.Margin, m.Pages.Room-step)+0.01 < m.Pages.Room; (clear || held+2*m.Margin+0.01 < m.Pages.Room) && !onOne(b, m, clear) {
				t.Fatalf("a piece of %v lies from %.1f to %.1f on sheets of %v", own, b.Min[0], b.Max[0], m.Pages)
			}
		}
	})
}

// Panels that fill a sheet from end to end each begin with one; a strip longer than a sheet does not divide them.
func TestPiecesThatFillASheet(t *testing.T) {
	m := pattern.Material{Width: 420, Gap: 5, Margin: 10, Pages: pattern.Pages{Step: 574, Room: 594}}
	ready := []pattern.Ready{rect("panel", 560, 380), rect("panel", 560, 380), rect("panel", 560, 380), rect("strip", 700, 40)}
	l, found := OnMachine(t.Context(), ready, m, few)
	if len(found) > 0 {
		t.Fatal(found)
	}
	mustLieRight(t, l, ready)
	for _, p := range l.Placements {
		r := &ready[p.Ready]
		if b := r.Outline.Apply(p.Map).Bound(); r.Name == "panel" && !onOne(b, m, false) {
			t.Errorf("%s lies from %.1f to %.1f", r.Name, b.Min[0], b.Max[0])
		}
	}
}
