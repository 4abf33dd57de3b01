package cloths

import (
	"context"
	"slices"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// hemmed are boards with a named hem at their lower end.
func hemmed(names []string, hem string, long, wide float64) []pattern.Ready {
	all := boards(names, long, wide)
	for i := range all {
		all[i].EdgeOf = []string{hem, "side", "waist", "side"}
		all[i].Grain.A[1], all[i].Grain.B[1] = 100, long-20
	}
	return all
}

func compared(t *testing.T, ready []pattern.Ready, m config.Material, unit string) (*Layout, *Cloth) {
	t.Helper()
	l := New(map[string]config.Material{"main": m}, unit)
	p := &pattern.Pattern{}
	for i := range ready {
		ready[i].Index = i
		p.Pieces = append(p.Pieces, pattern.Piece{Name: ready[i].Name})
	}
	l.Drafts = []*pattern.Pattern{p}
	l.Deal(0, ready)
	l.Lay(t.Context(), Wish{Width: m.Width, Fold: pattern.FoldNone, Steps: 60, Seed: 1})
	if len(l.Cloths) != 1 {
		t.Fatal(l.Findings)
	}
	for _, s := range l.Cloths[0].Savings {
		if s.Less <= 0 {
			t.Errorf("it saves nothing: %+v", s)
		}
	}
	return l, l.Cloths[0]
}

// TestShorterHemSaves: two panels are side by side, so that the length to buy is theirs and 3 cm for each end, rounded
// up to 10 cm. By hand: 655 + 60 are 800 to buy and 640 + 60 are 700, so the hem must be 15 mm shorter; from 690 it is
// 50, from 695 more than the limit; and it does not help where a piece without a hem is as long.
func TestShorterHemSaves(t *testing.T) {
	for _, c := range []struct {
		long, other float64
		want        string
	}{
		{655, 300, "the hem of front and back 15 mm shorter: 0.70 m to buy instead of 0.80 m, 7.00 instead of 8.00 to pay"},
		{690, 300, "the hem of front and back 50 mm shorter: 0.70 m to buy instead of 0.80 m, 7.00 instead of 8.00 to pay"},
		{695, 300, ""},
		{655, 650, ""},
	} {
		ready := slices.Concat(hemmed([]string{"front", "back"}, "hem", c.long, 300), boards([]string{"sash"}, c.other, 90))
		l, one := compared(t, ready, config.Material{Cloth: true, Width: 700, Price: 10}, "mm")
		got := slices.DeleteFunc(l.Saves(one), func(s string) bool { return !strings.Contains(s, "shorter") })
		if strings.Join(got, "; ") != c.want {
			t.Errorf("%v mm long beside %v mm: %q, want %q", c.long, c.other, got, c.want)
		}
	}
}

// TestHemOfTheSleeve: the hem that is shortened least is named, here that of the one piece that is too long. 667 to
// 640 mm is more than 25.
func TestHemOfTheSleeve(t *testing.T) {
	ready := slices.Concat(hemmed([]string{"front", "back"}, "hem", 600, 250), hemmed([]string{"sleeve"}, "sleeve hem", 667, 190))
	l, one := compared(t, ready, config.Material{Cloth: true, Width: 700}, "cm")
	if got := strings.Join(l.Saves(one), "; "); !strings.Contains(got, "the sleeve hem of sleeve 3 cm shorter: 0.70 m to buy instead of 0.80 m") {
		t.Errorf("%q", got)
	}
}

// TestHemOnClothAtHand: for cloth that is too short it says how much shorter a hem must be.
func TestHemOnClothAtHand(t *testing.T) {
	l := New(nil, "cm")
	l.Drafts = []*pattern.Pattern{{Pieces: []pattern.Piece{{Name: "front"}, {Name: "back"}}}}
	l.Deal(0, hemmed([]string{"front", "back"}, "hem", 655, 300))
	l.Lay(t.Context(), Wish{Width: 700, Length: 640, Fold: pattern.FoldNone, Steps: 60, Seed: 1})
	if len(l.Findings) != 2 || !strings.Contains(l.Findings[0].Mend, "it fits with the hem of front and back 1.5 cm shorter; else") {
		t.Errorf("%+v", l.Findings)
	}
}

// TestWhatWouldMakeItFit: cloth of 700 by 700 mm is too short for a band of 1300 by 100, and holds two of 660; on
// cloth that is folded without need, the lay in one layer is suggested.
func TestWhatWouldMakeItFit(t *testing.T) {
	for want, wish := range map[string]Wish{
		`it fits with "band" in two, with a seam; else`: {Fold: pattern.FoldNone, Length: 700},
		`it fits with cloth in one layer`:               {Fold: pattern.FoldOnce, Length: 1400},
	} {
		l := New(nil, "mm")
		l.Drafts = []*pattern.Pattern{{Pieces: []pattern.Piece{{Name: "band"}}}}
		l.Deal(0, boards([]string{"band"}, 1300, 100))
		wish.Width, wish.Steps, wish.Seed = 700, 60, 1
		if l.Lay(t.Context(), wish); len(l.Findings) != 1 || !strings.Contains(l.Findings[0].Mend, want) {
			t.Errorf("want %q: %+v", want, l.Findings)
		}
	}
}

// TestAnotherWidthSaves: four panels 300 by 400 mm fit side by side from 1200 mm on, and take two rows below. By hand,
// with 6 cm for the ends and rounded up to 10 cm: 0.5 m of 1.5 m wide are 0.75 square metres, of 1.4 m 0.70, and 0.9 m
// of 0.9 m 0.81. At 1.4 m no other width is better, and none is suggested.
func TestAnotherWidthSaves(t *testing.T) {
	for width, want := range map[float64]string{
		1500: "cloth 1400 mm wide: 0.50 m to buy, 0.70 square metres instead of 0.75 square metres; it costs less where a metre of it costs less than 8.00",
		1400: "",
	} {
		l, c := compared(t, boards([]string{"front", "back", "left", "right"}, 400, 300), config.Material{Cloth: true, Width: width, Price: 8}, "mm")
		if got := strings.Join(l.Saves(c), "; "); got != want {
			t.Errorf("%v: %q, want %q", width, got, want)
		}
		// The other widths are searched briefly, and marked so, until they are searched as long as the lay.
		brief, long := l.AtOtherWidths(c), l.Compared(t.Context(), Wish{Steps: 60, Seed: 1})
		if full := long.AtOtherWidths(long.Cloths[0]); !strings.Contains(brief, " mm wide: about 0.") || strings.Contains(full, "about") {
			t.Errorf("%v: sought briefly %q, and as long %q", width, brief, full)
		}
	}
}

// TestSavingsInInches: six panels of 10 by 20 in take 1 row on cloth 60 in wide, 24 to buy with both ends of 3 cm: 22.36 in
// are 5/8 yd = 22.5 in. On 36 in wide they are two rows: 42.36 in are 1 1/4 yd = 45 in. 60 x 22.5 = 1350 square inches are
// 1.04 square yards, 36 x 45 = 1620 are 1.25.
func TestSavingsInInches(t *testing.T) {
	l, c := compared(t, boards([]string{"a", "b", "c", "d", "e", "f"}, 20*25.4, 10*25.4), config.Material{Cloth: true, Width: 36 * 25.4}, "in")
	if got := strings.Join(l.Saves(c), "; "); got != "cloth 60 in wide: 5/8 yd to buy, 1.04 square yards instead of 1.25 square yards" {
		t.Errorf("%q", got)
	}
	var b strings.Builder
	if err := l.WriteJSON(&b); err != nil || !strings.Contains(b.String(), `"savings":[{"way":"cloth 60 in wide","width_mm":1524,"length_mm":508,"to_buy_mm":571.5,"less_m2":0.1742}]`) {
		t.Errorf("%v: %s", err, b.String()[strings.Index(b.String(), `"to_buy_mm"`):])
	}
}

// TestNothingSavedWhenStopped: a cancelled search suggests no hem.
func TestNothingSavedWhenStopped(t *testing.T) {
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	h := lay.Hems(hemmed([]string{"front"}, "hem", 655, 300))[0]
	if by, _, ok := h.Least(ended, hemmed([]string{"front"}, "hem", 655, 300), pattern.Material{Width: 700, Cloth: true, Fold: pattern.FoldNone}, 640, lay.Options{}); ok {
		t.Errorf("%v mm", by)
	}
}

// TestWiderClothTakesNoMore: a lay of narrower cloth fits on wider cloth, so that a wider one never takes more; the
// fold is said where it differs from the lay above.
func TestWiderClothTakesNoMore(t *testing.T) {
	l := New(nil, "in")
	c := &Cloth{Lay: pattern.Lay{Material: pattern.Material{Width: 55 * 25.4}, LengthUsed: 2600, Fold: pattern.FoldOnce}, Shop: lay.Shop{Step: 914.4 / 8},
		Others: []Width{{36 * 25.4, 4000, pattern.FoldNone}, {45 * 25.4, 0, pattern.FoldNone}, {60 * 25.4, 2750, pattern.FoldOnce}}}
	c.asNarrower()
	if want := "36 in wide: 4 3/8 yd (in one layer), 45 in wide: 4 3/8 yd (in one layer), 60 in wide: 2 7/8 yd"; l.AtOtherWidths(c) != want {
		t.Errorf("%q, want %q", l.AtOtherWidths(c), want)
	}
}
