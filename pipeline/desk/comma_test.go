package desk

import (
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
)

// TestDecimalCommaIsNeverCut: a measure with a decimal comma is not saved on a card by any button; the fault is at its
// field, and everything typed stays. A card, or a draft's body, that has one shows it whole with the fault; 9,5 is
// never drawn as 9.
func TestDecimalCommaIsNeverCut(t *testing.T) {
	const draft = "style: Yoke\nunit: cm\n%pieces:\n  yoke: rectangle shoulder by waist; cut 2\nallow: 1\n"
	words := strings.Replace(draft, "%", "", 1)
	v := visit(t)
	v.files(map[string]string{"drafts/yoke.yaml": words, "cards/Nell.yaml": "unit: cm\nmeasures:\n  shoulder: 9\n  waist: 70\n"})
	field := func(page, name string) string {
		_, at, _ := strings.Cut(page, `name="measure `+name+`"`)
		at, _, _ = strings.Cut(at, "</p>")
		return at
	}
	file := filepath.Join(v.room.Dir, "cards", "Nell.yaml")
	before := mustReadFile(t, file)
	for _, card := range []string{"Pia", "Nell"} {
		form := url.Values{"text": {words}, "version": {folder.VersionOf([]byte(words))}, "unit": {"cm"}, "kind": {"child"}, "do": {"card"}, "card": {card}, "card-seen": {cardSeen("Nell", []byte(before))}, "measure shoulder": {"9,5"}, "measure waist": {"71"}}
		_, page := v.post("/desk/draft/yoke", form)
		if at := field(page, "shoulder"); !strings.Contains(page, "Not done: ") || !strings.Contains(at, `value="9,5"`) || !strings.Contains(at, "write 9.5") || !strings.Contains(field(page, "waist"), `value="71"`) || !strings.Contains(page, `id="card" name="card" value="`+card+`"`) {
			t.Errorf("%s: kept 9,5, or not told at its field: %s", card, page)
		}
		if _, err := folder.Read(filepath.Join(v.room.Dir, "cards", "Pia.yaml")); err == nil || mustReadFile(t, file) != before {
			t.Errorf("%s: a card was written", card)
		}
	}

	for name, card := range map[string]string{"plain": "unit: cm\nmeasures:\n  shoulder: 9,5\n  waist: 70\n", "flow": "unit: cm\nmeasures: {shoulder: 9,5, waist: 70}\n"} {
		v.files(map[string]string{"cards/" + name + ".yaml": card})
		_, page := v.get("/desk/draft/yoke?body=" + name)
		if at := field(page, "shoulder"); !strings.Contains(at, `value="9,5"`) || strings.Contains(page, "1 piece") || strings.Contains(page, `name="measure 5"`) || name == "plain" && !strings.Contains(at, "write 9.5") {
			t.Errorf("%s: %s", name, page)
		}
		form := url.Values{"text": {words}, "unit": {"cm"}, "body": {name}, "measure shoulder": {"9,5"}, "measure waist": {"71"}, "do": {"draw"}}
		if _, page := v.post("/desk/draft/yoke", form); strings.Contains(page, "1 piece") || !strings.Contains(field(page, "shoulder"), "write 9.5") {
			t.Errorf("%s: drawn after another box was written: %s", name, page)
		}
	}
	if d := v.desk.draw(t.Context(), wish{Name: "yoke", Text: strings.Replace(draft, "%", "bodies:\n  A: {shoulder: 9,5, waist: 70}\n", 1)}); d.SVG != "" {
		t.Error("a body with 9,5 is drawn")
	}
	if h := headOfText("bodies:\n  A: {shoulder: 9,5, waist: 70}\n"); h.Bodies["A"]["shoulder"] != "9,5" || len(h.Bodies["A"]) != 2 {
		t.Errorf("the body's measures: %q", h.Bodies)
	}
}

// TestOldCardThatCannotBeRead: an older version of a card with an unreadable measure is not restored.
func TestOldCardThatCannotBeRead(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "cards/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	file := filepath.Join(v.room.Dir, "cards", "hale.yaml")
	id, err := folder.KeepShown(file, []byte("unit: cm\nmeasures:\n  waist: 74,5\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, page := v.post("/desk/card/hale/versions", url.Values{"draft": {"sash"}, "version": {id}}); !strings.Contains(page, "waist") || !strings.Contains(page, "Not done") || strings.Contains(mustReadFile(t, file), "74,5") {
		t.Errorf("brought back: %s", page)
	}
}
