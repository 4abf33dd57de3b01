package making

import (
	"strings"
	"testing"
)

// TestFirstSheetBuysAsLay: what the first sheet says is to be bought of each cloth is what lay's first lay says, for every
// starter sample, in both units.
func TestFirstSheetBuysAsLay(t *testing.T) {
	for _, unit := range []string{"cm", "in"} {
		room := Sample()
		room.Units = unit
		m := New(room)
		n := 0
		for _, r := range allDrafts(t) {
			if strings.Contains(r.Name, "testdata") || testing.Short() && n > 4 {
				continue
			}
			set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{})
			if err != nil && toBeRefused(r) {
				continue
			} else if err != nil {
				t.Fatal(r.Name, err)
			}
			l, err := m.LayFiles(t.Context(), []Request{r}, LayWish{})
			if err != nil { // nobody says how wide its cloth lies
				l, err = m.LayFiles(t.Context(), []Request{r}, LayWish{Width: 1500})
			}
			if err != nil {
				t.Fatal(r.Name, err)
			}
			var b strings.Builder
			l.WriteText(&b)
			said := strings.Join(set.Cloth, "\n")
			for _, c := range l.Cloths {
				if c.Lay.LengthUsed <= 0 || len(c.Others) == 0 {
					t.Errorf("%s: nothing is laid of %s", r.Name, c.Name)
				}
			}
			for line := range strings.Lines(b.String()) {
				kind, words, _ := strings.Cut(strings.TrimSpace(line), "  ")
				words = strings.TrimSpace(words)
				if kind == "or" {
					words = "or " + words
				}
				if kind == "or" || strings.HasPrefix(line, "  to buy") {
					n++
					if !strings.Contains(said, words) {
						t.Errorf("%s: lay says %q, the first sheet:\n%s", r.Name, words, said)
					}
				}
			}
			if want := 2 * len(l.Cloths); len(set.Cloth) != want {
				t.Errorf("%s: %d lines instead of %d: %s", r.Name, len(set.Cloth), want, said)
			}
		}
		if n < 8 {
			t.Fatalf("only %d lines were compared", n)
		}
	}
}
