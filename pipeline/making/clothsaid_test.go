package making

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/pattern"
)

// TestClothOfADraft: two panels 30 by 40 cm on cloth 45 cm wide follow one another. Apart by a gap, behind a flaw across
// the whole width and with so much bought at each end they take the sums that are worked out by hand beside them, bought
// by 10 cm; what is longer than the cloth is refused.
func TestClothOfADraft(t *testing.T) {
	lay := func(said string) (*cloths.Layout, error) {
		text := fmt.Sprintf("style: Panels\nunit: cm\npieces:\n  panel: rectangle 30 by 40; cut 2\nallow: 0\ncloth:\n  main: 45 wide, in one layer%s\n", said)
		return New(Sample()).LayFiles(t.Context(), []Request{{Name: "panels.yaml", Source: []byte(text)}}, cloths.Wish{Steps: 50, Seed: 1})
	}
	for said, want := range map[string][2]float64{
		"":                                {400 + 400, 900},      // 80 + 2*3 = 86
		", 3 apart":                       {400 + 30 + 400, 900}, // 83 + 2*3 = 89
		", 1 1/2 in apart, in this order": {400 + 38.1 + 400, 900},
		", 8 for each end":                {400 + 400, 1000}, // 80 + 2*8 = 96
		", a flaw 0 to 10 along and 0 to 45 across, washed at 40 degrees": {100 + 400 + 400, 1000},
		", flaw 40 to 50 along and 20 to 25 across":                       {400 + 100 + 400, 1000}, // 95
		", 80 long":                {400 + 400, 900},
		", 2 degrees off grain":    {400 + 400, 900},
		", 100 % linen, 3 buttons": {400 + 400, 900},
	} {
		l, err := lay(said)
		if err != nil || len(l.Cloths) != 1 {
			t.Errorf("%q: %v: %+v", said, err, l.Findings)
			continue
		}
		c := l.Cloths[0]
		if math.Abs(c.Lay.LengthUsed-want[0]) > 0.01 || c.ToBuy() != want[1] {
			t.Errorf("%q: %.2f mm laid and %.0f to buy, want %.2f and %.0f", said, c.Lay.LengthUsed, c.ToBuy(), want[0], want[1])
		}
		if tilt := c.Lay.Material.Tilt; (tilt == 2) != strings.Contains(said, "degrees off") {
			t.Errorf("%q: %v degrees off the grain", said, tilt)
		}
	}
	for said, rule := range map[string]string{
		", 79 long": pattern.RuleTooShort, ", 79 cm long, 0 apart": pattern.RuleTooShort,
		", flaw 10 along": "unreadable",
		", 0,5 apart":     "unreadable", ", -5 apart": "unreadable", ", 2 degree off grain": "unreadable", ", 5 for each ends": "unreadable",
		", 300 long, 400 long": "unreadable", ", flaw 0 to 999999999 along and 0 to 9 across": "unreadable",
		", 12 degrees off grain":  "unreadable",
		", flaw at 3 to 4 along ": "unreadable",
	} {
		if l, err := lay(said); err == nil || len(l.Findings) == 0 || l.Findings[0].Rule != rule || l.Findings[0].Mend == "" || len(l.Cloths) > 0 {
			t.Errorf("%q: %v: %+v", said, err, l.Findings)
		}
	}
}

// TestSavingsKeepTheFlaw: a pair of panels 30 by 40 cm lies side by side in one layer of 90 cm, or in two of 45 cm, on 40 cm either
// way. Behind a flaw 10 cm long across the whole cloth both take 50 cm: another fold saves nothing.
func TestSavingsKeepTheFlaw(t *testing.T) {
	text := "style: Panels\nunit: cm\npieces:\n  panel: rectangle 30 by 40; cut 2, a pair\nallow: 0\ncloth:\n  main: 90 wide, in one layer, flaw 0 to 10 along and 0 to 90 across\n"
	l, err := New(Sample()).LayFiles(t.Context(), []Request{{Name: "panels.yaml", Source: []byte(text)}}, cloths.Wish{Steps: 200, Seed: 1})
	if err != nil || len(l.Cloths) != 1 || math.Abs(l.Cloths[0].Lay.LengthUsed-500) > 0.01 {
		t.Fatalf("%v: %+v", err, l)
	}
	for _, s := range l.Cloths[0].Savings {
		if s.Width == 900 && s.Laid < 499.9 {
			t.Errorf("%s is said to take %.0f mm", s.Way, s.Laid)
		}
	}
}
