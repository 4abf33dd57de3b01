package cloths

import (
	"bytes"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// laidOn are panels laid by a workroom's materials.
func laidOn(t *testing.T, materials map[string]config.Material, wish Wish) *Layout {
	t.Helper()
	l := New(materials, "mm")
	ready := boards([]string{"front", "back"}, 400, 300)
	l.Drafts = []*pattern.Pattern{{Pieces: []pattern.Piece{{Name: "front"}, {Name: "back"}}}}
	l.Deal(0, ready)
	wish.Steps, wish.Seed = 20, 1
	l.Lay(t.Context(), wish)
	return l
}

// TestFaceOfTheCloth: on cloth with its wrong side up each piece is turned over, whether the draft or a person names
// it.
func TestFaceOfTheCloth(t *testing.T) {
	for face, want := range map[string]bool{"right": false, "wrong": true} {
		m := config.Material{Cloth: true, Width: 700, Face: face}
		for _, wish := range []Wish{{}, {Material: "calico"}} {
			for _, p := range laidOn(t, map[string]config.Material{"main": m, "calico": m}, wish).Cloths[0].Lay.Placements {
				if p.Mirrored != want {
					t.Errorf("%s side up, %q: turned over is %v", face, wish.Material, p.Mirrored)
				}
			}
		}
	}
}

// TestOnPaper: pieces of cloth that are laid on paper may be turned by quarters, so that 400 by 300 mm fits across 450
// mm too; its flaws are avoided, and nothing is said about buying.
func TestOnPaper(t *testing.T) {
	paper := config.Material{Width: 450, Price: 2, Avoid: [][][2]float64{{{0, 0}, {100, 0}, {100, 450}, {0, 450}}}}
	l := laidOn(t, map[string]config.Material{"paper": paper}, Wish{Material: "paper"})
	c := l.Cloths[0]
	var text bytes.Buffer
	l.WriteText(&text)
	if c.Lay.LengthUsed < 699.9 || c.Lay.LengthUsed > 700.1 {
		t.Errorf("%v mm, by hand 100 and twice 300", c.Lay.LengthUsed)
	}
	for _, not := range []string{"to buy", "cost", "or ", "saves"} {
		if strings.Contains(text.String(), not) {
			t.Errorf("paper is bought by no shop's habit: %s", &text)
		}
	}
	if c.Bought() || len(c.Others) > 0 {
		t.Errorf("%+v", c)
	}
}

// TestWiderWouldFit: of 450 mm at hand in a width of 350 mm two panels of 400 by 300 take 800; side by side they need
// 600, which the narrowest usual width has.
func TestWiderWouldFit(t *testing.T) {
	l := laidOn(t, nil, Wish{Width: 350, Length: 450, Fold: pattern.FoldNone})
	if len(l.Findings) != 1 || !strings.Contains(l.Findings[0].Mend, "cloth 900 mm wide") {
		t.Errorf("%+v", l.Findings)
	}
}
