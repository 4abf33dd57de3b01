package desk

import (
	"errors"
	"fmt"
	"math"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"

	yaml "go.yaml.in/yaml/v4"
)

const (
	apronBlock = "style: Block\nunit: cm\nbodies: {A: {waist: 70, hip: 96}}\nbody: A\nnumbers:\n  band: waist + 2\n"
	apron      = "style: Apron\nunit: cm\nfrom: block\npieces:\n  strip: strip 5 wide, band long; cut 1\n  panel: rectangle hip/2 by 60; cut 1\nallow: 1\n"
)

// files writes files below a visitor's room.
func (v *visitor) files(all map[string]string) {
	v.t.Helper()
	for name, text := range all {
		if err := folder.Create(filepath.Join(v.room.Dir, name), []byte(text)); err != nil {
			v.t.Fatal(err)
		}
	}
}

// TestOwnCardIsDrawn: a draft opens with the body or card that it names, and with no other card.
func TestOwnCardIsDrawn(t *testing.T) {
	const sash = "style: Sash\nunit: cm\n%pieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n"
	for head, want := range map[string]struct{ option, waist string }{
		"card: hale\n":      {"<option selected>hale</option>", "75"},
		"card: hale.yaml\n": {"<option selected>hale</option>", "75"},
		"body: hale\n":      {"<option selected>hale</option>", "75"},
		"sizes: hale\n":     {"<option selected>hale</option>", "75"},
		"bodies: {Z: {waist: 81}, B: {waist: 82}}\nbody: B\n":       {"<option selected>B</option>", "82"},
		"bodies: {Z: {waist: 81}, B: {waist: 82}}\n":                {"<option selected>Z</option>", "81"},
		"bodies: {Z: {waist: 81}, B: {waist: 82}}\ncard: hale\n":    {"<option selected>hale</option>", "75"},
		"bodies: {Z: {waist: 81}, B: {waist: 82}}\nsizes: [B, Z]\n": {"<option selected>B</option>", "82"},
		"bodies: {Z: {waist: 81}, B: {waist: 82}}\nsizes: {B: }\n":  {"<option selected>Z</option>", "81"}, // no list of sizes
		"body: {waist: 83}\n": {`<option value="" selected>as the draft says</option>`, "83"},
		"card: wren\n":        {`<option value="wren" selected>wren, which is not here</option>`, ""}, // its measures are asked for
	} {
		v := visit(t)
		v.files(map[string]string{"cards/anna.yaml": "unit: cm\nmeasures: {waist: 101}\n", "cards/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n",
			"drafts/sash.yaml": strings.Replace(sash, "%", head, 1)})
		_, page := v.get("/desk/draft/sash")
		if !strings.Contains(page, want.option) || want.waist != "" && !strings.Contains(page, `name="measure waist" value="`+want.waist+`"`) || strings.Contains(page, `value="101"`) {
			t.Errorf("%q opens with another body than %v", head, want)
		}
	}
}

// TestMeasuresOfABlock: the page asks for the measures of the draft that is taken from, and draws with those that are
// typed.
func TestMeasuresOfABlock(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/block.yaml": apronBlock, "drafts/apron.yaml": apron, "cards/mill.yaml": "unit: cm\nmeasures: {waist: 80}\n",
		"drafts/mill.yaml": strings.Replace(apron, "from:", "card: mill\nfrom:", 1)})
	_, page := v.get("/desk/draft/apron")
	if !strings.Contains(page, "<option selected>A</option>") || !strings.Contains(page, `name="measure waist" value="70"`) || !strings.Contains(page, `name="measure hip" value="96"`) {
		t.Error("the block's body is not in the form")
	}
	if _, page = v.get("/desk/draft/mill"); !strings.Contains(page, `name="measure waist" value="80"`) || !strings.Contains(page, `name="measure hip" value=""`) {
		t.Error("what the block asks for and the card has not is not in the form")
	}
	form := url.Values{"text": {apron}, "version": {folder.VersionOf([]byte(apron))}, "body": {"A"}, "unit": {"cm"}, "do": {"make chalk"}, "measure waist": {"77"}, "measure hip": {"96"}}
	if _, page = v.post("/desk/draft/apron", form); !strings.Contains(page, "for "+ownCard) || !strings.Contains(page, ">79<") {
		t.Errorf("not drawn for a waist of 77: %.2000s", page)
	}
	form.Set("do", "card")
	form.Set("card", "a")
	if status, page := v.post("/desk/draft/apron", form); status != 400 || !strings.Contains(page, "of its own") {
		t.Errorf("a card is named as the block's body: %d", status)
	}
}

// TestBodyChosenOfABlock: REFERENCE.md, from: a draft without bodies chooses among the block's by body: and sizes:.
// The page offers them with their measures, draws the chosen one, and leaves them out where the draft is shared.
func TestBodyChosenOfABlock(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/block.yaml": strings.Replace(apronBlock, "}}", "}, B: {waist: 90, hip: 116}}", 1), "cards/mill.yaml": "unit: cm\nmeasures: {waist: 80, hip: 104}\n"})
	for i, c := range []struct{ head, chosen, waist, bodies string }{
		{"", "A", "70", "A B"}, {"body: A\n", "A", "70", "A B"}, {"body: B\n", "B", "90", "A B"}, {"sizes: B, A\n", "B", "90", "A B"}, {"body: mill\n", "mill", "80", ""}, {"card: mill\n", "mill", "80", ""},
	} {
		name := fmt.Sprint("apron", i)
		text := strings.Replace(apron, "from:", c.head+"from:", 1)
		v.files(map[string]string{"drafts/" + name + ".yaml": text})
		_, page := v.get("/desk/draft/" + name)
		if !strings.Contains(page, "<option selected>"+c.chosen+"</option>") || strings.Contains(page, "which is not here") || strings.Contains(page, "There is no card") ||
			!strings.Contains(page, `name="measure waist" value="`+c.waist+`"`) || !strings.Contains(page, `name="measure hip" value="1`) && c.waist == "90" {
			t.Errorf("%q: %s is not in the form", c.head, c.chosen)
		}
		if got := strings.Join(v.desk.headWith(name, text).bodyNames(), " "); got != c.bodies {
			t.Errorf("%q: the bodies %q, want %q", c.head, got, c.bodies)
		}
		told := strings.Contains(page, "; the measures in its words go along</a>") && strings.Contains(page, ">Share without any measures</a>")
		_, shared := v.get("/desk/draft/" + name + "/share")
		if gives := strings.Contains(shared, "hip: 96"); told != gives || gives != (c.bodies != "") {
			t.Errorf("%q: shared with measures %t, the page says %t:\n%s", c.head, gives, told, shared)
		}
		if _, bare := v.get("/desk/draft/" + name + "/share?bodies=no"); strings.Contains(bare, "hip: 96") || strings.Contains(bare, "hip: 116") || !strings.Contains(bare, "band") {
			t.Errorf("%q: without measures it is\n%s", c.head, bare)
		}
		if _, page = v.post("/desk/draft/"+name, url.Values{"text": {text}, "body": {c.chosen}, "with": {"A"}, "do": {"draw"}}); c.bodies != "" && c.chosen != "A" && !strings.Contains(page, "body A has 72") {
			t.Errorf("%q: not compared with the block's body A", c.head)
		}
	}
}

// TestCardsOwnUnit: a card in another unit than the draft's is shown, drawn and saved in its own. Read back, the
// wearer has the typed measures, in mm: an inch is 25.4 mm.
func TestCardsOwnUnit(t *testing.T) {
	for _, c := range []struct {
		unit, card, waist, hip, typed string
		mm, was                       float64 // the strip is as long as the waist and 100 mm
	}{
		{"cm", "unit: in\nwearer: Mrs Hale\nmeasures: {waist: 29 1/2, hip: 39}\n", "29 1/2", "39", "30 3/8", 30.375*25.4 + 100, 29.5*25.4 + 100},
		{"in", "unit: cm\nwearer: Mrs Hale\nmeasures: {waist: 75, hip: 99}\n", "75", "99", "77.5", 775 + 100, 750 + 100},
		{"mm", "unit: in\nwearer: Mrs Hale\nmeasures: {waist: 29 1/2, hip: 39}\n", "29 1/2", "39", "30 3/8", 30.375*25.4 + 100, 29.5*25.4 + 100},
	} {
		draft := map[string]string{"cm": "waist + 10", "in": "waist + 10 cm", "mm": "waist + 100"}[c.unit]
		text := "style: Sash\nunit: " + c.unit + "\ncard: hale\nnumbers: {long: " + draft + ", wide: hip/10}\npieces:\n  sash: strip wide wide, long long; cut 1\nallow: 0\n"
		own, _, _ := strings.Cut(strings.TrimPrefix(c.card, "unit: "), "\n")
		v := visit(t)
		v.files(map[string]string{"cards/hale.yaml": c.card, "drafts/sash.yaml": text})
		_, page := v.get("/desk/draft/sash")
		if !strings.Contains(page, "Measures, "+own) || !strings.Contains(page, `name="measure waist" value="`+c.waist+`"`) || !strings.Contains(page, "The card is in "+deskPage{}.Spelt(own)+", the draft in "+deskPage{}.Spelt(c.unit)+".") {
			t.Errorf("%s: the form says another unit than its measures have", c.unit)
		}
		long := func(in wish) float64 {
			t.Helper()
			w := v.desk.work(t.Context(), in)
			if w.Pattern == nil || len(w.Pattern.Pieces) != 1 {
				t.Fatalf("not drawn: %+v", w.Findings)
			}
			b := w.Pattern.Pieces[0].Outline().Bound()
			return math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
		}
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 0.01 {
				t.Errorf("draft in %s, card in %s: %s is %.3f mm long, want %.3f", c.unit, own, what, got, want)
			}
		}
		near("as the card is", long(wish{Name: "sash", Text: text, Body: "hale"}), c.was)
		near("with the card's measures in the form", long(wish{Name: "sash", Text: text, Body: "hale", Measures: map[string]string{"waist": c.waist, "hip": c.hip}}), c.was)
		near("as typed", long(wish{Name: "sash", Text: text, Body: "hale", Unit: own, Measures: map[string]string{"waist": c.typed, "hip": c.hip}}), c.mm)

		form := url.Values{"text": {text}, "version": {folder.VersionOf([]byte(text))}, "body": {"hale"}, "unit": {own}, "do": {"draw"}, "measure waist": {c.typed}, "measure hip": {c.hip}}
		if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, "Measures, "+own) || !strings.Contains(page, `name="unit" value="`+own+`"`) || strings.Contains(page, `class="unkept" hidden`) {
			t.Errorf("%s: what is typed has lost its unit", c.unit)
		}
		for _, card := range []string{"hale", "new one"} { // saved on the existing card and on a new one
			form.Set("do", "card")
			form.Set("card", card)
			form.Set("card-seen", cardSeen("hale", []byte(c.card)))
			if status, page := v.post("/desk/draft/sash", form); status != 200 {
				t.Fatalf("not kept: %d %s", status, page)
			}
			near("card "+card+", read back", long(wish{Name: "sash", Text: text, Body: card}), c.mm)
			file, err := folder.Read(filepath.Join(v.room.Path("cards"), card+".yaml"))
			var read struct {
				Unit     string
				Measures map[string]string
			}
			if err := errors.Join(err, yaml.Unmarshal(file, &read)); err != nil || read.Unit != own || read.Measures["waist"] != c.typed || read.Measures["hip"] != c.hip {
				t.Errorf("the card %s holds %s: %v", card, file, err)
			}
		}
		// The card's measures in the form are still the card's when another body is chosen.
		form = url.Values{"text": {text}, "body": {"anna"}, "unit": {own}, "do": {"card"}, "card": {"third"}, "measure waist": {c.typed}, "measure hip": {c.hip}}
		v.files(map[string]string{"cards/anna.yaml": "unit: " + c.unit + "\nmeasures: {waist: " + c.typed + ", hip: " + c.hip + "}\n"})
		if status, page := v.post("/desk/draft/sash", form); status != 200 {
			t.Fatalf("not kept: %d %s", status, page)
		}
		near("card third, read back", long(wish{Name: "sash", Text: text, Body: "third"}), c.mm)
	}
}
