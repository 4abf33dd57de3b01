package sheets

import (
	"strings"
	"testing"
)

// TestClothOfWhichLay: the first sheet says by which lay the cloth is that it tells to buy: a search may find a shorter one.
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
