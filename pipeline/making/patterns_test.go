package making

import (
	"math"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestPatternsInTheBytes reads the smock's plots back: drawn once, the front is one open stroke from fold end
// to fold end; every copy is one closed stroke, and the bindings and loops are there as often as they are cut.
func TestPatternsInTheBytes(t *testing.T) {
	for patterns, want := range map[string]struct{ open, closed int }{"": {2, 5}, "once": {2, 5}, "every-copy": {0, 9}} {
		r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Device: "roll-plotter", Answers: map[string]string{"body": "A"}}
		if patterns != "" {
			r.Answers[AnswerPatterns] = patterns
		}
		w := made(t, New(Sample()), r)
		drawn := plotted(t, w)
		var open, closed int
		for _, p := range w.Lay.Placements {
			for _, c := range w.Ready[p.Ready].CutLines() {
				c = c.Apply(p.Map)
				if !drawnInOne(drawn, c) {
					t.Errorf("%q: the cut line of %s is no stroke of its own", patterns, w.Ready[p.Ready].Name)
				}
				if c.Closed {
					closed++
				} else {
					open++
				}
			}
		}
		if open != want.open || closed != want.closed {
			t.Errorf("%q: %d open and %d closed cut lines, want %d and %d", patterns, open, closed, want.open, want.closed)
		}
	}
	knife := makeFor(t, Sample(), "../../config/samples/drafts/tool-roll.yaml", "knife-table")
	for i := range knife.Ready {
		if knife.Ready[i].Fold != nil || len(knife.Ready) != 6 {
			t.Errorf("a cutter gets %d pieces of the tool roll, want all 6, opened out", len(knife.Ready))
		}
	}
}

// drawnInOne tells whether one of the strokes begins and ends where a line does and is as long.
func drawnInOne(drawn []geom.Path, c geom.Path) bool {
	for _, d := range drawn {
		n := len(d.Points)
		if math.Abs(d.Length()-c.Length()) > 0.5 || n < 2 {
			continue
		}
		a, b := d.Points[0], d.Points[n-1]
		if d.Closed {
			b = a
		}
		if c.Closed {
			_, near := geom.NewIndex(c).Nearest(a)
			if geom.Dist(a, b) < 0.05 && near.Dist < 0.05 {
				return true
			}
			continue
		}
		from, to := c.Points[0], c.Points[len(c.Points)-1]
		if math.Min(geom.Dist(a, from)+geom.Dist(b, to), geom.Dist(a, to)+geom.Dist(b, from)) < 0.1 {
			return true
		}
	}
	return false
}

// TestHalfFitsWhereTheWholeDoesNot: on paper a piece on the fold needs the room of its half.
func TestHalfFitsWhereTheWholeDoesNot(t *testing.T) {
	src := []byte(`style: Cloak
unit: cm
draft cloak:
  O: start
  A: from O down 150
  B: from A out 60
  C: from O out 60
  centre: line O to A
  hem: line A to B
  side: line B to C
  top: line C to O
  outline: centre on the fold, hem, side, top
pieces:
  cloak: cloak; cut 1 on the fold
allow:
  hem: 1
  side: 1
  top: 1
`)
	for patterns, fits := range map[string]bool{"once": true, "every-copy": false} {
		w, err := New(Sample()).Make(t.Context(), Request{Name: "cloak.yaml", Source: src, Device: "roll-plotter", Answers: map[string]string{AnswerPatterns: patterns}})
		if err != nil {
			t.Fatal(err)
		}
		tooWide := false
		for _, f := range w.Findings {
			tooWide = tooWide || f.Rule == pattern.RuleTooWide
		}
		if w.Refused == fits || tooWide == fits {
			t.Errorf("%s: refused %v, %+v", patterns, w.Refused, w.Findings)
		}
	}
}
