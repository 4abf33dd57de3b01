package taken

import (
	"testing"

	"tracewheel/pipeline/desk/cardtext"
)

// TestWithFittings: sums by hand, in the unit of the card.
func TestWithFittings(t *testing.T) {
	for _, c := range []struct{ value, by1, by2, unit, want string }{
		{"84", "1.2 more", "", "cm", "84 + 1.2 by fittings = 85.2"}, {"84, from the side", "1.2 more", "6 mm less", "cm", "84 + 0.6 by fittings = 84.6"},
		{"34 3/16", "3/8 less", "", "in", "34 3/16 - 3/8 by fittings = 33 13/16"}, {"34 1/2", "1 cm more", "", "in", "34 1/2 + 3/8 by fittings = 34 7/8"}, {"x", "1 more", "", "cm", ""}, {"84", "", "", "cm", ""},
	} {
		f := fittingsFor("waist", c.by1, c.by2)
		if got := withFittings(f, "waist", c.value, c.unit); got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
		if got := withFittings(f, "hip", c.value, c.unit); got != "" {
			t.Errorf("of another measure: %q", got)
		}
	}
}

func fittingsFor(name string, by ...string) (out []cardtext.Fitting) {
	for _, b := range by {
		if b != "" {
			out = append(out, cardtext.Fitting{Date: "2026-11-07", Name: name, By: b})
		}
	}
	return out
}
