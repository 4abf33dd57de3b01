package desk

import (
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
)

// TestFittingsAtSeams: a fitting at a seam is listed like one of a measure, and can be undone by itself: the pieces
// are then drawn as without it, and the rest of the card stays.
func TestFittingsAtSeams(t *testing.T) {
	const head = "unit: cm\nmeasures: {waist: 75, hip: 99} # by tape\nchanges:\n"
	lines := []string{
		"  2026-11-20, toile: let out side 0.6 at waist, to nothing at H # too tight\n",
		"  2026-11-25: let out side 1 at H\n",
		"  2026-11-27:\n    - take in side 0.4 at H\n",
		"    - let out side 0.2 at waist, to nothing at H\n",
		"  2026-11-28: {hip: 1 more}\n",
	}
	const draft = "style: Skirt\nunit: cm\ncard: hale\ndraft panel:\n  O: start\n  A: from O out waist/4\n  H: from O out hip/4, down 20\n  B: from O out hip/4, down 60\n  C: from O down 60\n" +
		"  waist: line O to A\n  side: line A to H to B\n  hem: line B to C\n  centre: line C to O\n  outline: waist, side, hem, centre on the fold\npieces:\n  panel: panel; cut 1 on the fold\nallow: 1\n"
	want := []cardtext.Fitting{
		{Date: "2026-11-20, toile", Name: "", By: "let out side 0.6 at waist, to nothing at H", Reason: "too tight"},
		{Date: "2026-11-25", Name: "", By: "let out side 1 at H", Reason: ""},
		{Date: "2026-11-27", Name: "", By: "take in side 0.4 at H", Reason: ""},
		{Date: "2026-11-27", Name: "", By: "let out side 0.2 at waist, to nothing at H", Reason: ""},
		{Date: "2026-11-28", Name: "hip", By: "1 more", Reason: ""},
	}
	outline := func(v *visitor) geom.Path {
		t.Helper()
		w := v.desk.work(t.Context(), wish{Name: "skirt", Text: draft, Body: "hale"})
		if w.Pattern == nil || len(w.Pattern.Pieces) != 1 || len(w.Findings) > 0 && w.Findings[0].Severity == "error" {
			t.Fatalf("not drawn: %+v", w.Findings)
		}
		return w.Pattern.Pieces[0].Outline().Clone()
	}
	field := regexp.MustCompile(`type="hidden" name="(draft|date|name|by)" value="([^"]*)"`)
	for i := range want {
		v, plain := visit(t), visit(t)
		v.files(map[string]string{"drafts/skirt.yaml": draft, "cards/hale.yaml": head + strings.Join(lines, "")})
		rest := slices.Delete(slices.Clone(lines), i, i+1)
		if i == 2 {
			rest[2] = "  2026-11-27:\n" + rest[2]
		}
		plain.files(map[string]string{"drafts/skirt.yaml": draft, "cards/hale.yaml": head + strings.Join(rest, "")})
		all := outline(v)
		_, page := v.get("/desk/draft/skirt")
		_, page, _ = strings.Cut(page, `id="h-fit"`)
		page, _, _ = strings.Cut(page, "</ul>")
		forms := strings.Split(page, "<form ")[1:]
		if len(forms) != len(want) {
			t.Fatalf("%d fittings are listed, want %d", len(forms), len(want))
		}
		form := url.Values{"do": {"undo"}}
		for _, m := range field.FindAllStringSubmatch(forms[i], -1) {
			form.Set(m[1], m[2])
		}
		if status, page := v.post("/desk/card/hale/fitting", form); status != 200 {
			t.Fatalf("%+v is not undone: %d %s", want[i], status, page)
		}
		card, err := folder.Read(filepath.Join(v.room.Path("cards"), "hale.yaml"))
		if left := slices.Delete(slices.Clone(want), i, i+1); err != nil || !slices.Equal(cardtext.Fittings(card), left) || !strings.Contains(string(card), "# by tape") {
			t.Errorf("without %+v the card holds\n%s%v", want[i], card, err)
		}
		now, never := outline(v), outline(plain)
		if slices.Equal(now.Points, all.Points) || !slices.Equal(now.Points, never.Points) {
			t.Errorf("%+v is undone, and the pieces are not those without it", want[i])
		}
	}
}

// TestFittingOnADayOfSeams: changing a measure on the day of a seam's fitting does not change the seam's line; a card
// whose lists are malformed is not changed.
func TestFittingOnADayOfSeams(t *testing.T) {
	card := []byte("unit: cm\nmeasures: {waist: 75}\nchanges:\n  2026-11-25: let out side 1 at H\n")
	f := cardtext.Fitting{Date: "2026-11-25", Name: "waist", By: "1 more", Reason: ""}
	text, err := cardtext.Add(card, f)
	if err != nil {
		t.Fatal(err)
	}
	want := []cardtext.Fitting{{Date: "2026-11-25", Name: "", By: "let out side 1 at H", Reason: ""}, {Date: "2026-11-25, measures", Name: "waist", By: "1 more", Reason: ""}}
	if got := cardtext.Fittings(text); !slices.Equal(got, want) {
		t.Errorf("the card holds %+v\n%s", got, text)
	}
	if _, err := cardtext.Add(text, f); err == nil {
		t.Error("the waist is changed twice on one day")
	}
	if text, err = cardtext.Undo(text, want[1]); err != nil || !slices.Equal(cardtext.Fittings(text), want[:1]) {
		t.Errorf("undone: %v\n%s", err, text)
	}
	for _, bad := range []string{"unit: cm\nmeasures: {waist: 75}\nchanges: [let out side 1 at H]\n", "unit: cm\nmeasures: [waist 75]\n"} {
		if text, err := cardtext.Add([]byte(bad), f); err == nil {
			t.Errorf("%q became %q", bad, text)
		}
	}
	if _, err := cardtext.Add([]byte("unit: cm\nmeasures: {waist: 75}\nchanges:\n"), f); err != nil {
		t.Errorf("an empty list of changes: %v", err)
	}
}

// TestSeamIsFittedOnThePage: the page offers the draft's seams and the places along them; a line is written on the
// card, drawn and undone; a refusal keeps the form.
func TestSeamIsFittedOnThePage(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"princess-tunic"}})
	card := "unit: cm\nmeasures:\n"
	for name, m := range headOfText(string(samples.Read("princess-tunic.yaml"))).Bodies["A"] {
		card += "  " + name + ": " + cardtext.Quote(m) + "\n"
	}
	v.files(map[string]string{"cards/Ottilie.yaml": card + "changes:\n  2026-11-20: {bust: 1 more}\n"})
	_, page := v.get("/desk/draft/princess-tunic?body=Ottilie")
	_, page, _ = strings.Cut(page, `id="fitting-seam"`)
	for _, want := range []string{"<option>shoulder</option>", "<option>side</option>", `<optgroup label="side">`, "<option>Ws</option>", "<option>armhole</option>"} {
		if !strings.Contains(page, want) {
			t.Errorf("the form does not offer %s", want)
		}
	}
	if strings.Contains(page, "<option>princess</option>") {
		t.Error("a seam that no sentence of a drawing draws is offered")
	}
	width := func() float64 {
		w := v.desk.work(t.Context(), wish{Name: "princess-tunic", Text: string(samples.Read("princess-tunic.yaml")), Body: "Ottilie"})
		return w.figures.Girths[1].Finished
	}
	before := width()
	form := url.Values{"draft": {"princess-tunic"}, "date": {"2026-11-20"}, "verb": {"take in"}, "seam": {"side"}, "by": {"0.5"}, "at": {"Ws"}, "to": {"U"}, "and": {"Hs"}, "reason": {"loose"}, "for": {"this"}, "do": {"seam"}}
	if status, page := v.post("/desk/card/Ottilie/fitting", form); status != 200 || !strings.Contains(page, "take in side 0.5 at Ws, to nothing at U and Hs, loose") {
		t.Fatalf("%d %s", status, page)
	}
	if after := width(); after > before-1.5 || after < before-2.05 { // both edges of two side seams: four times a half
		t.Errorf("the waist is %.2f round, and was %.2f", after, before)
	}
	v.post("/desk/new", url.Values{"starter": {"princess-tunic"}, "name": {"other"}})
	other := strings.Replace(string(samples.Read("princess-tunic.yaml")), "Mermaid's princess tunic", "Another tunic", 1)
	if w := v.desk.work(t.Context(), wish{Name: "other", Text: other, Body: "Ottilie"}); w.figures.Girths[1].Finished != before {
		t.Errorf("another garment's waist is %.2f round", w.figures.Girths[1].Finished)
	}
	form.Set("seam", "shoulder") // Ws is not on it
	form.Set("by", "0.3")
	if status, page := v.post("/desk/card/Ottilie/fitting", form); status != 400 || !strings.Contains(page, `id="seam-slip"`) || !strings.Contains(page, `<option selected>shoulder</option>`) || !strings.Contains(page, `name="by" value="0.3"`) {
		t.Errorf("a place of another seam: %d", status)
	}
	text, err := folder.Read(filepath.Join(v.room.Path("cards"), "Ottilie.yaml"))
	got := cardtext.Fittings(text)
	if err != nil || len(got) != 2 {
		t.Fatalf("the card holds %+v", got)
	}
	f := got[1]
	v.post("/desk/card/Ottilie/fitting", url.Values{"draft": {"princess-tunic"}, "date": {f.Date}, "name": {f.Name}, "by": {f.By}, "do": {"undo"}})
	if after := width(); after != before {
		t.Errorf("undone, the waist is %.2f round, and was %.2f", after, before)
	}
}
