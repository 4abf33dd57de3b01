package assemble

import (
	"testing"

	"tracewheel/pipeline/pattern"
)

func TestQuantity(t *testing.T) {
	for text, want := range map[string][3]int{"2": {2, 0, 0}, "2 pairs": {4, 1, 0}, "2 PAIR": {2, 1, 0}, "1 pair": {2, 1, 0}, "cut 4": {4, 0, 0},
		"": {0, 0, 0}, "pair": {2, 1, 0}, "2 mirrored": {2, 1, 0}, "2, alike": {2, 0, 1}, "cut 4 ALIKE": {4, 0, 1},
		"1000000000": {-1, 0, 0}, "99999999999999999999 pair": {-1, 1, 0}, "article 20301, cut 2": {2, 0, 0}, "10000": {10000, 0, 0}} {
		n, pair, alike := Quantity(text)
		if n != want[0] || pair != (want[1] == 1) || alike != (want[2] == 1) {
			t.Errorf("Quantity(%q) = %d, %v, %v", text, n, pair, alike)
		}
	}
}

// A number that nobody cuts refuses the draft and is not taken for one that says nothing.
func TestQuantityTooLarge(t *testing.T) {
	said := square(pattern.RoleCut, 0, 0, 300)
	pieces, fs := Pieces(Drawing{Items: []Item{said, text(50, 50, "Quantity: 1000000000")}})
	if len(pieces) != 1 || pieces[0].Quantity != 0 || rulesOf(fs)[pattern.RuleUnreadable] != 1 || pattern.Worst(fs) != pattern.Error {
		t.Errorf("%+v, %v", pieces, fs)
	}
}
