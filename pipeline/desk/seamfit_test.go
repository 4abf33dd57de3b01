package desk

import (
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/desk/cardtext"
)

// TestFittingsAtSeams: what a fitting let out at a seam is listed as what it changed of a measure, and each is undone
// alone: the pieces are then drawn as if the card never had it, and the rest of the card stays.
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
		forms := strings.Split(page, "<form ")[1:]
		if len(forms) != len(want)+1 {
			t.Fatalf("%d fittings are listed, want %d", len(forms)-1, len(want))
		}
		form := url.Values{"do": {"undo"}}
		for _, m := range field.FindAllStringSubmatch(forms[i], -1) {
			form.Set(m[1], m[2])
		}
		if status, page := v.post("/desk/card/hale/fitting", form); status != 200 {
			t.Fatalf("%+v is not undone: %d %s", want[i], status, page)
		}
		card, err := readPlain(filepath.Join(v.room.Path("cards"), "hale.yaml"))
		if left := slices.Delete(slices.Clone(want), i, i+1); err != nil || !slices.Equal(cardtext.Fittings(card), left) || !strings.Contains(string(card), "# by tape") {
			t.Errorf("without %+v the card holds\n%s%v", want[i], card, err)
		}
		now, never := outline(v), outline(plain)
		if slices.Equal(now.Points, all.Points) || !slices.Equal(now.Points, never.Points) {
			t.Errorf("%+v is undone, and the pieces are not those without it", want[i])
		}
	}
}

// TestFittingOnADayOfSeams: a measure that is changed on the day of a seam leaves the seam's line as it is; a card whose
// lists are no lists is left alone.
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
