package desk

import (
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
)

// TestWhatMovedInOneUnit: a draft in inches for a card in cm, against its own body in inches: numbers are shown in the
// draft's unit, which is said, and edges in cm on both sides. 36 in are 91.44 cm.
func TestWhatMovedInOneUnit(t *testing.T) {
	const draft = "style: Gore\nunit: in\nbodies:\n  A: {hip: 40}\nnumbers:\n  length: hip - 4\npieces:\n  gore: rectangle 10 by length; cut 2\nallow: 1/2\n"
	v := visit(t)
	v.files(map[string]string{"cards/hale.yaml": "unit: cm\nmeasures: {hip: 127}\n"}) // 50 in
	d := v.desk.draw(t.Context(), wish{Name: "gore", Text: draft, Body: "hale", Before: &wish{Body: "A"}})
	all := strings.Join(d.Changed, "; ")
	if !strings.Contains(all, "length 46, body A has 36, in the draft's inches") || !strings.Contains(all, "116.84, body A has 91.44") || strings.Contains(all, " was ") {
		t.Errorf("%q %+v", all, d.Faults)
	}
}

// TestChoiceIsKept: a draft that was saved while it was drawn for a card is drawn for that card when it is opened
// again.
func TestChoiceIsKept(t *testing.T) {
	const draft = "style: Gore\nunit: cm\nbodies:\n  A: {hip: 97}\npieces:\n  gore: rectangle 10 by hip; cut 2\nallow: 1\n"
	v := visit(t)
	v.files(map[string]string{"drafts/gore.yaml": draft, "drafts/other.yaml": draft, "cards/Ottilie.yaml": "unit: cm\nmeasures: {hip: 118}\n"})
	form := url.Values{"text": {draft}, "version": {folder.VersionOf([]byte(draft))}, "body": {"Ottilie"}, "measure hip": {"118"}, "unit": {"cm"}, "do": {"save"}}
	v.post("/desk/draft/gore", form)
	const chosen = "<option selected>Ottilie</option>"
	if _, page := v.get("/desk/draft/gore"); !strings.Contains(page, chosen) || !strings.Contains(page, "Drawn for Ottilie") {
		t.Errorf("opened again it is not drawn for whom it was saved:\n%s", page)
	}
	if _, page := v.get("/desk/draft/other"); strings.Contains(page, chosen) {
		t.Error("another draft is drawn for whom this one was saved")
	}
	form.Set("body", "A")
	form.Set("measure hip", "97")
	v.post("/desk/draft/gore", form)
	if _, page := v.get("/desk/draft/gore"); strings.Contains(page, chosen) {
		t.Error("saved for body A, it is drawn for the card")
	}
}

// TestMeasuresWrittenInTheWords: measures that were changed in the draft's text count when Draw is pressed, where no
// field was changed; where one was, the field counts, and the text's other new measures do too.
func TestMeasuresWrittenInTheWords(t *testing.T) {
	const was = "style: Gore\nunit: cm\nbodies:\n  A: {hand: 20}\npieces:\n  gore: rectangle hand by hand; cut 2\nallow: 1\n"
	now := strings.NewReplacer("{hand: 20}", "{hand: 21, hip: 97, waist: 70}", "rectangle hand by hand", "rectangle hip by waist + hand").Replace(was)
	v := visit(t)
	v.files(map[string]string{"drafts/gore.yaml": was})
	opened := openedOr("", wish{Name: "gore", Text: was, Body: "A"})
	form := url.Values{"text": {now}, "version": {folder.VersionOf([]byte(was))}, "body": {"A"}, "opened": {opened}, "measure hand": {"20"}, "unit": {"cm"}, "do": {"draw"}}
	_, page := v.post("/desk/draft/gore", form)
	if !strings.Contains(page, "1 piece") || !strings.Contains(page, `value="97"`) || !strings.Contains(page, `value="21"`) {
		t.Errorf("the measures of the words are gone:\n%s", page)
	}
	form.Set("measure hand", "25")
	if _, page = v.post("/desk/draft/gore", form); !strings.Contains(page, "1 piece") || !strings.Contains(page, `value="97"`) || !strings.Contains(page, `value="25"`) {
		t.Errorf("a field that was written, and new measures of the words:\n%s", page)
	}
}

// TestApostropheInAName: the name of a garment may have an apostrophe.
func TestApostropheInAName(t *testing.T) {
	v := visit(t)
	if status, page := v.post("/desk/new", url.Values{"starter": {""}, "name": {"Herald's tabard"}}); status != 200 || !strings.Contains(page, "1 piece") {
		t.Errorf("%d\n%s", status, page)
	}
	if _, err := folder.Read(filepath.Join(v.drafts, "Herald's tabard.yaml")); err != nil {
		t.Error(err)
	}
}
