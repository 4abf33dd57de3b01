package desk

import (
	"html"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
)

const haleSash = "style: Sash\nunit: cm\ncard: hale\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n"

// TestCardWhereverItLies: a draft opens with the measures of the card that it names, in the card's unit and with its
// days, in whichever folder the drawing finds that card; the page names the card and saves to it. No second card is
// made.
func TestCardWhereverItLies(t *testing.T) {
	const card = "unit: in\nwearer: Mrs Hale\ntaken: 2024-10-02\nmeasures:\n  waist: 29 1/2\nchanges:\n  2024-11-02: {waist: 1/4 more}\n"
	for _, c := range []struct{ at, name string }{{"drafts/hale.yaml", "hale"}, {"drafts/cards/hale.yaml", "hale"}, {"cards/hale.yaml", "hale"}, {"cards/hale.yml", "hale"}, {"cards/Zoë.yaml", "Zoë"}} {
		v := visit(t)
		text := strings.Replace(haleSash, "hale", c.name, 1)
		v.files(map[string]string{c.at: card, "drafts/sash.yaml": text})
		_, page := v.get("/desk/draft/sash")
		page = html.UnescapeString(page)
		for _, says := range []string{"Measures, in", `name="measure waist" value="29 1/2"`, "Measures of the card " + c.name + ", taken on 2 October 2024.", "1/4 more at the fitting of 2 November 2024",
			"<option selected>" + c.name + "</option>", `name="card" value="` + c.name + `"`, "1 piece", "Fittings of " + c.name} {
			if !strings.Contains(page, says) {
				t.Errorf("%s: the page never says %q:\n%s", c.at, says, page)
			}
		}
		if strings.Contains(page, v.room.Dir) {
			t.Errorf("%s: the page shows where this machine keeps it", c.at)
		}
		form := url.Values{"text": {text}, "body": {c.name}, "unit": {"in"}, "card-seen": {cardSeen(c.name, []byte(card))}, "do": {"card"}, "card": {strings.ToUpper(c.name)}, "measure waist": {"30 1/4"}}
		if status, page := v.post("/desk/draft/sash", form); status != 200 || !strings.Contains(page, "The measure card is kept.") {
			t.Errorf("%s: %d %s", c.at, status, page)
		}
		kept, err := os.ReadFile(filepath.Join(v.room.Dir, c.at))
		if err != nil || !strings.Contains(string(kept), "waist: 30 1/4") || !strings.Contains(string(kept), "1/4 more") {
			t.Errorf("%s holds %s: %v", c.at, kept, err)
		}
		for _, dir := range []string{"drafts", "drafts/cards", "cards"} {
			if all := folder.Names(filepath.Join(v.room.Dir, dir)); len(all) > 1 && dir != "drafts" || dir != filepath.Dir(c.at) && dir != "drafts" && len(all) > 0 {
				t.Errorf("%s: kept in %s: %v", c.at, dir, all)
			}
		}
		fitting := url.Values{"draft": {"sash"}, "date": {"2024-12-02"}, "name": {"waist"}, "by": {"1/8"}, "how": {"less"}, "do": {"add"}}
		if _, page := v.post("/desk/card/"+url.PathEscape(c.name)+"/fitting", fitting); !strings.Contains(html.UnescapeString(page), "1/8 less at the fitting of 2 December 2024") {
			t.Errorf("%s: a fitting is not added", c.at)
		}
	}
}

// TestCardOfAnyLetters: a new card can have a wearer's name in any letters; a path and a hidden file are refused.
func TestCardOfAnyLetters(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash})
	for name, kept := range map[string]bool{"Zoë Åström": true, "Łucja": true, "zoe\u0308": true, "Μαρία 2": true, "../up": false, ".hidden": false, "a/b": false, "a\u202eb": false} {
		form := url.Values{"text": {haleSash}, "unit": {"in"}, "do": {"card"}, "card": {name}, "measure waist": {"30 1/4"}}
		_, page := v.post("/desk/draft/sash", form)
		_, err := os.Stat(filepath.Join(v.room.Dir, "cards", name+".yaml"))
		if (err == nil) != kept || strings.Contains(page, "The measure card is kept.") != kept {
			t.Errorf("%q: kept %v, want %v", name, err == nil, kept)
		}
	}
}

// TestCardIsGone: for a draft whose card is missing the page asks for the measures and says so, with those of an older
// version of the card in the form. A page that is open when its card is removed keeps its measures. Saving makes the
// card again.
func TestCardIsGone(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "drafts/skirt.yaml": "style: Hip skirt\nunit: cm\ncard: hale\nnumbers:\n  deep: hip depth\n  quarter: (waist + 2)/4\ndraft half:\n  O: start\n  neck: line O to P\npieces:\n  skirt: rectangle quarter by deep; cut 2\nallow: 1\n"})
	_, page := v.get("/desk/draft/skirt")
	if n := strings.Count(page, "data-measure="); n != 2 || !strings.Contains(page, `name="measure waist" value=""`) || !strings.Contains(page, `name="measure hip depth" value=""`) {
		t.Errorf("the form asks for %d measures:\n%s", n, page)
	}
	if page = html.UnescapeString(page); !strings.Contains(page, `There is no card "hale"`) || !strings.Contains(page, "Write the measures and keep them as that card") || !strings.Contains(page, `name="card" value="hale"`) {
		t.Error("the missing card is not told")
	}

	// Entered and saved, it exists.
	form := url.Values{"text": {haleSash}, "version": {folder.VersionOf([]byte(haleSash))}, "body": {"hale"}, "unit": {"cm"}, "do": {"card"}, "card": {"hale"}, "measure waist": {"75"}}
	if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, "The measure card is kept.") || !strings.Contains(page, "1 piece") {
		t.Errorf("not kept: %s", page)
	}
	card := filepath.Join(v.room.Path("cards"), "hale.yaml")
	seen, err := folder.Read(card)
	if err != nil {
		t.Fatal(err)
	}

	// It is removed under an open page: the page's measures stay, are drawn, and can be saved again.
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	if _, said := v.get("/desk/draft/sash/version?card=hale"); said != folder.VersionOf([]byte(haleSash)) {
		t.Errorf("the page hears %q of a card that is gone", said)
	}
	form.Set("do", "save")
	form.Set("card-seen", cardSeen("hale", seen))
	_, page = v.post("/desk/draft/sash", form)
	if page = html.UnescapeString(page); !strings.Contains(page, `There is no card "hale"`) || !strings.Contains(page, `value="75"`) || strings.Contains(page, `class="unkept" hidden`) || !strings.Contains(page, "1 piece") {
		t.Errorf("a page whose card is gone: %s", page)
	}
	form.Set("do", "card")
	if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, "The measure card is kept.") {
		t.Errorf("not kept again: %s", page)
	}

	// An older version is offered.
	form.Set("measure waist", "77")
	form.Set("card-seen", cardSeen("hale", seen))
	if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, "The measure card is kept.") {
		t.Errorf("not changed: %s", page)
	}
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	_, page = v.get("/desk/draft/sash")
	if page = html.UnescapeString(page); !strings.Contains(page, "Below are its measures as they were until") || !strings.Contains(page, `value="75"`) || !strings.Contains(page, "1 piece") || strings.Contains(page, `class="unkept" hidden`) {
		t.Errorf("the older version is not offered: %s", page)
	}
}

// TestTwoPagesOnACard: a page does not overwrite a card that another page changed; it shows both, and writes when it
// is asked again. An existing card of another wearer is not overwritten silently either.
func TestTwoPagesOnACard(t *testing.T) {
	v := visit(t)
	const card, theirs = "unit: cm\nmeasures: {waist: 75}\n", "unit: cm\nmeasures: {waist: 76, hip: 99}\n"
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "cards/hale.yaml": theirs, "cards/wren.yaml": "unit: cm\nmeasures: {waist: 61}\n"})
	for _, name := range []string{"hale", "wren"} {
		file := filepath.Join(v.room.Path("cards"), name+".yaml")
		was, err := folder.Read(file)
		if err != nil {
			t.Fatal(err)
		}
		form := url.Values{"text": {haleSash}, "body": {"hale"}, "unit": {"cm"}, "do": {"card"}, "card": {name}, "card-seen": {cardSeen("hale", []byte(card))}, "measure waist": {"80"}}
		status, page := v.post("/desk/draft/sash", form)
		if now, err := folder.Read(file); status != 400 || !strings.Contains(page, "on the card, 80 here") || !strings.Contains(page, `value="80"`) || err != nil || string(now) != string(was) {
			t.Errorf("%s: %d, the card holds %s: %v", name, status, now, err)
		}
		_, seen, _ := strings.Cut(page, `name="card-seen" value="`)
		seen, _, _ = strings.Cut(seen, `"`)
		form.Set("card-seen", seen)
		if status, page = v.post("/desk/draft/sash", form); status != 200 {
			t.Errorf("%s: asked once more: %d %s", name, status, page)
		}
		if now, err := folder.Read(file); err != nil || !strings.Contains(string(now), "80") {
			t.Errorf("%s holds %s: %v", name, now, err)
		}
		if old, err := folder.Versions(file); err != nil || len(old) != 1 {
			t.Errorf("%s has %d older versions: %v", name, len(old), err)
		}
	}
	form := url.Values{"text": {haleSash}, "body": {"hale"}, "unit": {"cm"}, "do": {"draw"}, "card-seen": {cardSeen("hale", []byte(card))}, "measure waist": {"75"}}
	if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, "The card hale was changed by somebody else") || !strings.Contains(page, "waist 80 on the card, 75 here") {
		t.Errorf("a page that began from an older card is not told: %s", page)
	}
}

// TestTypedMeasuresKeepFittings: measures that are typed over those of a card are drawn with that card's fittings.
func TestTypedMeasuresKeepFittings(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "cards/hale.yaml": "unit: cm\nmeasures: {waist: 75}\nchanges:\n  2024-11-02: {waist: 4 more}\n"})
	long := func(in wish) float64 {
		t.Helper()
		w := v.desk.work(t.Context(), in)
		if w.Pattern == nil || len(w.Pattern.Pieces) != 1 {
			t.Fatalf("not drawn: %+v", w.Findings)
		}
		b := w.Pattern.Pieces[0].Outline().Bound()
		return max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
	}
	kept := long(wish{Name: "sash", Text: haleSash, Body: "hale"})
	typed := long(wish{Name: "sash", Text: haleSash, Body: "hale", Unit: "cm", Measures: map[string]string{"waist": "76"}})
	if d := typed - kept; d < 9.99 || d > 10.01 {
		t.Errorf("1 cm more of waist makes the sash %.2f mm longer", d)
	}
}

// TestWhatIsSaidOfFiles: the desk's messages name a file without this machine's folders, and a draft whose file is
// gone is reported and kept in the page.
func TestWhatIsSaidOfFiles(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/broken.yaml": "style: [Sash\nunit: cm\n", "drafts/sash.yaml": strings.Replace(haleSash, "card: hale", "body: {waist: 75}", 1), "drafts/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	for _, path := range []string{"draft/nothere", "draft/broken", "draft/broken/steps", "draft/broken/cloth", "draft/broken/chalk", "draft/broken/sheets", "draft/broken/share", "draft/nothere/steps", "draft/nothere/share", "draft/nothere/versions", "draft/sash/version/nothing"} {
		if _, page := v.get("/desk/" + path); strings.Contains(page, v.room.Dir) || strings.Contains(page, "lstat") || strings.Contains(page, "as they were stand below") {
			t.Errorf("%s says %s", path, page)
		}
	}
	_, page := v.get("/desk/draft/nothere")
	if page = html.UnescapeString(page); !strings.Contains(page, `there is no file "nothere.yaml" here`) {
		t.Errorf("a draft that is not there: %s", page)
	}
	if _, page := v.get("/desk"); !strings.Contains(page, `href="/desk/draft/sash"`) || !strings.Contains(page, `href="/desk/draft/broken"`) || strings.Contains(page, `href="/desk/draft/hale"`) {
		t.Error("the shelf lists a card as a draft, or not all drafts")
	}
	text, err := folder.Read(filepath.Join(v.drafts, "sash.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(v.drafts, "sash.yaml")); err != nil {
		t.Fatal(err)
	}
	form := url.Values{"text": {string(text) + "# mine\n"}, "version": {folder.VersionOf(text)}, "do": {"save"}}
	if status, page := v.post("/desk/draft/sash", form); status != 409 || !strings.Contains(page, "deleted, renamed or emptied") || !strings.Contains(page, "# mine") || !strings.Contains(page, `name="version" value=""`) {
		t.Errorf("saved where the file is gone: %d %s", status, page)
	}
	form.Set("version", "")
	if status, _ := v.post("/desk/draft/sash", form); status != 200 {
		t.Errorf("saved once more: %d", status)
	}
	if now, err := folder.Read(filepath.Join(v.drafts, "sash.yaml")); err != nil || !strings.HasSuffix(string(now), "# mine\n") {
		t.Errorf("the file holds %s: %v", now, err)
	}
}
