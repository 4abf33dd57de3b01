package sheets

import (
	"strings"
	"testing"
)

// TestClothOfWhichLay: a longer search may find a shorter lay, so the first sheet says for which lay its length of
// cloth is.
func TestClothOfWhichLay(t *testing.T) {
	b := &book{set: Set{Cloth: []string{"main, 150 cm wide: 2.2 m"}}}
	got := b.cloth()
	if len(got) != 2 || !strings.Contains(got[0].words, "by the first lay") {
		t.Errorf("it says %+v", got)
	}
	if b.set.Cloth = nil; len(b.cloth()) > 0 {
		t.Error("without cloth something is said of it")
	}
}
