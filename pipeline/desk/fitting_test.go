package desk

import (
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
)

const wren = "# kept by hand\nunit: cm\nwearer: Mrs Wren\nnote: wears a corset\nmeasures:\n  bust: 97 # in October\n  hip: 103\n  across front: \"34, at the arm's crease\"\n  nape to waist: 41\n  head: 57\nchanges:\n  2026-10-31:\n    hip: 1 more\n"

// TestFittings: a fitting is a line with its reason, each can be undone by itself; the rest of the card stays, and the
// draft is drawn with it.
func TestFittings(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	file := filepath.Join(v.room.Path("cards"), "Mrs Wren.yaml")
	if err := folder.Create(file, []byte(wren)); err != nil {
		t.Fatal(err)
	}
	read := func() string {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	const at = "/desk/card/Mrs%20Wren/fitting"
	form := url.Values{"draft": {"ferry-smock"}, "date": {"2026-11-07"}, "name": {"slit"}, "by": {"1.5"}, "how": {"more"}, "reason": {"sticks\nat the: ears # really"}, "do": {"add"}}
	status, page := v.post(at, form)
	if status != 200 || !strings.Contains(page, "2026-11-07: slit 1.5 more, sticks at the: ears # really") || !strings.Contains(page, "2026-10-31: hip 1 more") {
		t.Errorf("a fitting is added: %d\n%s", status, page)
	}
	want := []cardtext.Fitting{{Date: "2026-10-31", Name: "hip", By: "1 more", Reason: ""}, {Date: "2026-11-07", Name: "slit", By: "1.5 more", Reason: "sticks at the: ears # really"}}
	if got := cardtext.Fittings([]byte(read())); !slices.Equal(got, want) {
		t.Errorf("the card holds %+v", got)
	}
	for _, line := range []string{"# kept by hand", "note: wears a corset", "# in October", "34, at the arm's crease"} {
		if !strings.Contains(read(), line) {
			t.Errorf("the card lost %q:\n%s", line, read())
		}
	}
	if d := v.desk.draw(t.Context(), wish{Name: "ferry-smock", Text: mustRead(t, v, "ferry-smock"), Body: "Mrs Wren", Before: &wish{Body: "A"}}); !slices.Contains(d.Changed, "slit 13.5, body A has 12") {
		t.Errorf("the fitting does not move the slit: %v %+v", d.Changed, d.Faults)
	}
	for _, bad := range []url.Values{{"date": {"yesterday"}}, {"by": {""}, "how": {""}}, {"name": {""}}, {}} { // the last exists already
		f := url.Values{}
		for k, was := range form {
			f[k] = was
		}
		for k, is := range bad {
			f[k] = is
		}
		if status, _ := v.post(at, f); status != 400 {
			t.Errorf("%v: %d", bad, status)
		}
	}
	form.Set("do", "undo")
	if status, _ := v.post(at, form); status != 200 || !slices.Equal(cardtext.Fittings([]byte(read())), want[:1]) {
		t.Errorf("undone: %d\n%s", status, read())
	}
	if all, err := folder.Versions(file); err != nil || len(all) != 2 {
		t.Errorf("versions of the card: %v %v", all, err)
	}
}

func mustRead(t *testing.T, v *visitor, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(v.drafts, name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestCardKeepsTheRest: saving measures under a card's name changes its numbers only; a card in another unit is not
// changed.
func TestCardKeepsTheRest(t *testing.T) {
	v := visit(t)
	file := filepath.Join(v.room.Path("cards"), "Mrs Wren.yaml")
	if err := folder.Create(file, []byte(wren)); err != nil {
		t.Fatal(err)
	}
	if _, err := v.desk.keepCard("mrs wren", "", "cm", head{}, map[string]string{"bust": "98", "hip": "103", "across front": "34.5", "waist": "80"}, cardSeen("Mrs Wren", []byte(wren))); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"# kept by hand", "wearer: Mrs Wren", "note: wears a corset", "bust: 98", "hip: 103", "34.5, at the arm's crease", "head: 57", "waist: 80", "hip: 1 more", "taken: "} {
		if !strings.Contains(string(text), line) {
			t.Errorf("the card lost %q:\n%s", line, text)
		}
	}
	if _, err := v.desk.keepCard("Mrs Wren", "", "in", head{}, map[string]string{"bust": "38"}, ""); err == nil {
		t.Error("inches are written on a card in cm")
	}
	if now, err := os.ReadFile(file); err != nil || string(now) != string(text) {
		t.Errorf("a refusal changed the card: %v", err)
	}
}

// TestFittingSaysHowMuch: a text that is no amount is not written on a card.
func TestFittingSaysHowMuch(t *testing.T) {
	const card = "unit: cm\nmeasures: {waist: 75}\n"
	for by, is := range map[string]bool{"0.6 more": true, "3/16 less": true, "1 1/2 more": true, ".5 more": true, "6 mm less": true, "1/4in more": true,
		"x more": false, " more": false, "more": false, "a bit less": false, "-1 more": false, "1 mroe": false, "1": false, "2 tons more": false} {
		text, err := cardtext.Add([]byte(card), cardtext.Fitting{Date: "2026-11-30", Name: "waist", By: by})
		if err == nil != is {
			t.Errorf("%q: %s %v", by, text, err)
		}
	}
}

// TestFittingOfAnUnknownName: a word that is no measure or number of the draft is reported with the nearest names, on
// the draft's page, and nothing is written; without a card the page says that one is needed.
func TestFittingOfAnUnknownName(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	v.files(map[string]string{"cards/Mrs Wren.yaml": wren})
	if _, page := v.get("/desk/draft/ferry-smock"); !strings.Contains(page, "keep the measures as a card first") {
		t.Error("nothing says that a fitting needs a card")
	}
	for name, near := range map[string]string{"side": "known here are ", "hpi": "&#34;hip&#34;?"} {
		status, page := v.post("/desk/card/Mrs%20Wren/fitting", url.Values{"draft": {"ferry-smock"}, "date": {"2026-11-07"}, "name": {name}, "by": {"1.5"}, "how": {"more"}, "do": {"add"}})
		if status != 400 || !strings.Contains(page, "&#34;"+name+"&#34; is no measure and no number of this draft; ") || !strings.Contains(page, near) || !strings.Contains(page, "by the form below, At a seam") || !strings.Contains(page, `data-desk="ferry-smock"`) {
			t.Errorf("%s: %d\n%s", name, status, page[:min(len(page), 3000)])
		}
	}
	if text, err := os.ReadFile(filepath.Join(v.room.Path("cards"), "Mrs Wren.yaml")); err != nil || string(text) != wren {
		t.Errorf("the card was written: %v\n%s", err, text)
	}
	if status, page := v.post("/desk/card/Mrs%20Wren/fitting", url.Values{"draft": {"ferry-smock"}, "date": {"2026-11-07"}, "name": {"slit"}, "by": {"1.5 more"}, "how": {"more"}, "do": {"add"}}); status != 200 || !strings.Contains(page, "slit 1.5 more") {
		t.Errorf("an amount that says more itself: %d", status)
	}
}
