package making

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/cloths"
)

// Two of a one-sided drawing are a pair, and two alike are of one hand, in every format: the second
// copy's outline is held against the first's by its area's sign as drawn, and the figures say the same.
func TestTwoOfAOneSidedPiece(t *testing.T) {
	measured := func(cut string) Request {
		text := "style: Hand\nunit: cm\ndraft hand:\n  A: start\n  B: from A out 20\n  C: from A out 5, up 30\n  foot: line A to B\n  slope: line B to C\n  back: line C to A\n  outline: foot, slope, back\n" +
			"pieces:\n  hand: hand; " + cut + "\nallow: 1\n"
		return Request{Source: []byte(text), Name: "hand.yaml", Device: "roll-plotter"}
	}
	svg := func(q string) Request {
		return Request{Source: fmt.Appendf(nil, `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="hand" data-quantity="%s"><path class="cut" d="M10 310H210L60 10Z"/></g></svg>`, q), Name: "hand.svg", Ticket: []byte("allowance: included\n"), Device: "roll-plotter"}
	}
	h := New(Sample())
	for name, c := range map[string]struct {
		r      Request
		mirror bool
		said   bool // that a pair is meant
	}{
		"svg 2": {svg("2"), true, true}, "svg 2 alike": {svg("2, alike"), false, false}, "svg pair": {svg("2 pair"), true, false},
		"measured 2": {measured("cut 2"), true, true}, "measured alike": {measured("cut 2, alike"), false, false}, "measured pair": {measured("cut 2, a pair"), true, false},
	} {
		c.r.Answers = map[string]string{AnswerPatterns: "every-copy"}
		w, err := h.Make(t.Context(), c.r)
		if err != nil || w.Pieces() != 2 {
			t.Errorf("%s: %d pieces, %v: %+v", name, w.Pieces(), err, w.Findings)
			continue
		}
		ready := wholeOf(t, w).Ready
		if ready[1].Mirrored != c.mirror {
			t.Errorf("%s: mirrored is %v", name, ready[1].Mirrored)
		}
		// The apex of the triangle lies left of the middle of its foot; turned over, right of it.
		side := func(i int) bool {
			b, apex := ready[i].Outline.Bound(), 0.0
			for _, p := range ready[i].Outline.Points {
				if p[1] > b.Max[1]-1 {
					apex = p[0]
				}
			}
			return apex < b.Center()[0]
		}
		if (side(0) != side(1)) != c.mirror {
			t.Errorf("%s: the second copy is of the same hand: %v, want mirrored %v", name, side(0) == side(1), c.mirror)
		}
		said := false
		for _, f := range w.Findings {
			said = said || f.Rule == "pair-assumed"
		}
		if said != c.said {
			t.Errorf("%s: told that a pair is assumed: %v", name, said)
		}
		if strings.HasPrefix(name, "measured") {
			var b bytes.Buffer
			if _, err := h.Figures(t.Context(), &b, Request{Name: c.r.Name, Source: c.r.Source}, cloths.Wish{}, "text"); err != nil {
				t.Fatal(err)
			}
			want := "cut 2, a pair"
			if !c.mirror {
				want = "cut 2, alike"
			}
			if !strings.Contains(b.String(), want) {
				t.Errorf("%s: the figures do not say %q:\n%s", name, want, b.String())
			}
		}
	}
}
