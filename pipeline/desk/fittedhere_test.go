package desk

import (
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestFittingOfOneGarment: a fitting for one garment does not change another one with the same card and a number of
// the same name, and both pages say so; a fitting without a garment is reported at each, until it is given one. The
// lengths are arithmetic by hand: 70 cm and 5 more.
func TestFittingOfOneGarment(t *testing.T) {
	const draft = "style: STYLE\nunit: cm\ncard: hale\nnumbers:\n  length: 70\npieces:\n  panel: rectangle hip/2 by length; cut 2\nallow: 1\n"
	v := visit(t)
	v.files(map[string]string{"drafts/tabard.yaml": strings.Replace(draft, "STYLE", "Herald", 1), "drafts/skirt.yaml": strings.Replace(draft, "STYLE", "Skirt", 1),
		"cards/hale.yaml": "unit: cm\nmeasures: {hip: 99}\n"})
	length := func(name string) float64 {
		t.Helper()
		w := v.desk.work(t.Context(), wish{Name: name, Text: mustRead(t, v, name), Body: "hale"})
		if w.figures == nil {
			t.Fatalf("%s is not drawn: %+v", name, w.Findings)
		}
		for _, n := range w.figures.Numbers {
			if n.Name == "length" {
				return n.Value
			}
		}
		return 0
	}
	form := url.Values{"draft": {"tabard"}, "date": {"2026-11-30"}, "name": {"length"}, "by": {"5"}, "how": {"more"}, "for": {"this"}, "do": {"add"}}
	status, page := v.post("/desk/card/hale/fitting", form)
	if status != 200 || !strings.Contains(page, "2026-11-30, only for tabard: length 5 more") {
		t.Errorf("%d\n%s", status, page)
	}
	if a, b := length("tabard"), length("skirt"); a != 75 || b != 70 {
		t.Errorf("the tabard is %v long and the skirt %v, want 75 and 70", a, b)
	}
	if _, page = v.get("/desk/draft/skirt"); !strings.Contains(page, "is only for tabard, and is left out here") || !strings.Contains(page, "(not in these pieces)") {
		t.Errorf("the skirt does not say what it leaves out:\n%s", page)
	}

	form.Set("do", "undo")
	form.Set("date", "2026-11-30, only for tabard")
	form.Set("by", "5 more")
	if status, page := v.post("/desk/card/hale/fitting", form); status != 200 {
		t.Fatalf("not undone: %d\n%s", status, page)
	}
	form = url.Values{"draft": {"tabard"}, "date": {"2026-11-30"}, "name": {"length"}, "by": {"5"}, "how": {"more"}, "for": {"all"}, "reason": {"kneels"}, "do": {"add"}}
	v.post("/desk/card/hale/fitting", form)
	const told = "length is 5 more here by the fitting of 2026-11-30, which names no garment"
	if _, page = v.get("/desk/draft/skirt"); length("skirt") != 75 || !strings.Contains(page, told) || strings.Contains(page, "No faults found") {
		t.Errorf("the skirt is %v long\n%s", length("skirt"), page)
	}
	form.Set("do", "only")
	form.Set("by", "5 more")
	if status, page := v.post("/desk/card/hale/fitting", form); status != 200 || !strings.Contains(page, "only for tabard: length 5 more, kneels") || strings.Contains(page, told) {
		t.Errorf("%d\n%s", status, page)
	}
	if a, b := length("tabard"), length("skirt"); a != 75 || b != 70 {
		t.Errorf("given to the tabard: it is %v long and the skirt %v, want 75 and 70", a, b)
	}
	// The style names the garment too, so that a renamed file keeps its fitting.
	v.put(filepath.Join(v.room.Path("cards"), "hale.yaml"), "unit: cm\nmeasures: {hip: 99}\nchanges:\n  2026-11-30, toile, only for skirt: {length: 5 more}\n")
	v.put(filepath.Join(v.drafts, "other.yaml"), mustRead(t, v, "skirt"))
	if a, b := length("tabard"), length("other"); a != 70 || b != 75 {
		t.Errorf("by the style: the tabard is %v long and the skirt %v, want 70 and 75", a, b)
	}
	// A seam's line belongs to one garment as well.
	const flared = "style: Flared\nunit: cm\ncard: hale\ndraft panel:\n  O: start\n  A: from O out hip/4\n  B: from A down 60\n  C: from O down 60\n" +
		"  waist: line O to A\n  side: line A to B\n  hem: line B to C\n  centre: line C to O\n  outline: waist, side, hem, centre on the fold\npieces:\n  panel: panel; cut 1 on the fold\nallow: 1\n"
	for only, want := range map[string]string{"Flared": "", "tabard": "is only for tabard, and is left out here"} {
		v.put(filepath.Join(v.room.Path("cards"), "hale.yaml"), "unit: cm\nmeasures: {hip: 99}\nchanges:\n  2026-11-30, only for "+only+": let out side 1 at waist, to nothing at B\n")
		w := v.desk.work(t.Context(), wish{Name: "flared", Text: flared, Body: "hale"})
		told := slices.ContainsFunc(w.figures.LeftOut, func(s string) bool { return want != "" && strings.Contains(s, want) })
		if told != (want != "") || len(w.figures.Changes) == 1 != (want == "") {
			t.Errorf("only for %s: %q is left out, %q changed", only, w.figures.LeftOut, w.figures.Changes)
		}
	}
}
