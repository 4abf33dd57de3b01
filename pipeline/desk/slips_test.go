package desk

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/mend"
)

// TestLengthMeant: lengths as people first write them, and as the language has them.
func TestLengthMeant(t *testing.T) {
	for said, want := range map[string]string{"92,5": "92.5", "1,5": "1.5", "92 cms": "92 cm", "34 inches": "34 in", `34 3/16"`: "34 3/16 in", "8o": "80", "12 centimetres": "12 cm", "6mms": "6 mm", "14 1/4 in.": "14 1/4 in", "36 cm.": "36 cm", "14 9/8 in": "15 1/8 in", "34/16": "",
		"92": "", "34 3/16 in": "", "92 kg": "", "abc": "", "": "", "1,000,000": "", "92, from the side": "", "92.5.1": ""} {
		if got := mend.Length(said); got != want {
			t.Errorf("%q: %q, want %q", said, got, want)
		}
	}
}

// TestSlipAtItsMeasure: a fault in a measure is shown at its field, and nothing then says that a file is made for the
// measures; an offered length corrects it.
func TestSlipAtItsMeasure(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"princess-tunic"}})
	const made = "Made for the measures as they are typed"
	for said, want := range map[string]string{"92,5": "write 92.5", "92 cms": "write 92 cm", "cm 92": "write the figure", "": "is empty, and the draft needs it", "-4": "more than 0", "920": "lies outside what is usual"} {
		_, page := v.post("/desk/draft/princess-tunic", formOf("princess-tunic", "draw", map[string]string{"bust": said}))
		_, at, _ := strings.Cut(page, `data-measure="bust"`)
		at, _, _ = strings.Cut(at, "</p>")
		if !strings.Contains(at, `class="slip error">`) || !strings.Contains(at, `aria-invalid="true"`) || !strings.Contains(at, want) || strings.Contains(page, made) {
			t.Errorf("%q: at the field stands\n%s", said, at)
		}
		if strings.Count(page, `aria-invalid="true"`) != 1 {
			t.Errorf("%q: %d fields are marked", said, strings.Count(page, `aria-invalid="true"`))
		}
		if meant := mend.Length(said); meant != "" {
			_, page := v.post("/desk/draft/princess-tunic", formOf("princess-tunic", "draw", map[string]string{"bust": meant + " "}))
			if !strings.Contains(page, made) || strings.Contains(page, `aria-invalid="true"`) {
				t.Errorf("%q does not mend it", meant)
			}
		}
	}
}

// TestRefusedFittingKeepsItsForm: a refused form keeps what was typed, with the fault at its field; the offered word
// is put into it without anything being done; with it the fitting is added, and the earlier pieces are drawn behind.
func TestRefusedFittingKeepsItsForm(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	v.files(map[string]string{"cards/Mrs Wren.yaml": wren})
	const at = "/desk/card/Mrs%20Wren/fitting"
	form := url.Values{"draft": {"ferry-smock"}, "date": {"2026-11-07"}, "name": {"slti"}, "by": {"1,5"}, "how": {"less"}, "reason": {"sticks"}, "do": {"add"}}
	field := func(page, id string) string {
		_, at, _ := strings.Cut(page, `id="`+id+`"`)
		at, _, _ = strings.Cut(at, ">")
		return at
	}
	kept := func(page, name, by string) {
		t.Helper()
		if !strings.Contains(field(page, "fit-date"), `value="2026-11-07"`) || !strings.Contains(field(page, "fit-name"), `value="`+name+`"`) || !strings.Contains(field(page, "fit-by"), `value="`+by+`"`) || !strings.Contains(field(page, "fit-why"), `value="sticks"`) || !strings.Contains(page, "<option selected>less</option>") {
			t.Errorf("the form lost %s or %s, or the rest: %s %s %s %s", name, by, field(page, "fit-date"), field(page, "fit-name"), field(page, "fit-by"), field(page, "fit-why"))
		}
	}
	status, page := v.post(at, form)
	if status != 400 || !strings.Contains(page, `value="name=slit"`) || !strings.Contains(field(page, "fit-name"), `aria-invalid="true"`) || strings.Contains(field(page, "fit-by"), "aria-invalid") {
		t.Errorf("a wrong name: %d", status)
	}
	kept(page, "slti", "1,5")
	form.Set("do", "name=slit")
	status, page = v.post(at, form)
	if status != 200 || strings.Contains(page, "1,5 less") {
		t.Errorf("the word is written: %d", status)
	}
	kept(page, "slit", "1,5")
	form.Set("name", "slit")
	form.Set("do", "add")
	status, page = v.post(at, form)
	if status != 400 || !strings.Contains(page, `value="by=1.5"`) || !strings.Contains(field(page, "fit-by"), `aria-invalid="true"`) {
		t.Errorf("a decimal comma: %d %s", status, field(page, "fit-by"))
	}
	kept(page, "slit", "1,5")
	if text := mustReadFile(t, filepath.Join(v.room.Path("cards"), "Mrs Wren.yaml")); text != wren {
		t.Errorf("a refusal changed the card:\n%s", text)
	}
	form.Set("by", "1.5")
	status, page = v.post(at, form)
	if status != 200 || !strings.Contains(page, "slit 1.5 less") || !strings.Contains(page, `class="before"`) || !strings.Contains(page, "slit 10.5, was 12") {
		t.Errorf("added: %d; pale %v, moved %v", status, strings.Contains(page, `class="before"`), strings.Contains(page, "slit 10.5, was 12"))
	}
	if field(page, "fit-name") == "" || strings.Contains(field(page, "fit-name"), "slit") {
		t.Error("the form of the next fitting is not empty")
	}
	if !strings.Contains(page, "103 &#43; 1 by fittings = 104") { // wren's hip
		t.Error("the box of a measure with a fitting does not say its sum")
	}
}

// TestEmptySheet: it is drawn without a fault in both units, and can be named.
func TestEmptySheet(t *testing.T) {
	v := visit(t)
	for _, unit := range []string{"cm", "in"} {
		d := v.desk.draw(t.Context(), wish{Name: "own garment", Text: samples.Empty(unit)})
		if d.SVG == "" || len(d.Faults) > 0 || d.Pieces != "1 piece" {
			t.Errorf("in %s: %q %+v", unit, d.Pieces, d.Faults)
		}
	}
	status, page := v.post("/desk/new", url.Values{"name": {"my sash"}, "unit": {"in"}})
	if status != 200 || !strings.Contains(page, "unit: in") || !strings.Contains(page, `data-desk="my sash"`) {
		t.Errorf("%d", status)
	}
	if status, page := v.post("/desk/new", url.Values{"unit": {"cm"}}); status != 200 || !strings.Contains(page, `data-desk="own garment"`) {
		t.Errorf("without a name: %d", status)
	}
}

// TestUnitOfThePerson: for a person measured in inches, the measures of a draft in cm are shown in inches, and so are
// what is bought, chalked, drawn and checked.
func TestUnitOfThePerson(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"straight-skirt"}})
	form := formOf("straight-skirt", "unit", nil)
	form.Set("unit", "cm")
	form.Set("in-unit", "in")
	hip := form.Get("measure hip")
	status, page := v.post("/desk/draft/straight-skirt", form)
	if status != 200 || !strings.Contains(page, "Measures, in<") || strings.Contains(page, `name="measure hip" value="`+hip+`"`) || strings.Contains(page, `aria-invalid="true"`) {
		t.Fatalf("%d: the measures are not in inches", status)
	}
	for key := range form {
		if name, is := strings.CutPrefix(key, "measure "); is {
			_, at, _ := strings.Cut(page, `name="measure `+name+`" value="`)
			at, _, _ = strings.Cut(at, `"`)
			form.Set(key, at)
		}
	}
	form.Set("unit", "in")
	form.Set("do", "make cloth")
	if _, page := v.post("/desk/draft/straight-skirt", form); !strings.Contains(page, " yd") || strings.Contains(page, " mm") {
		t.Errorf("to buy:\n%s", page[strings.Index(page, "<pre"):])
	}
	form.Set("do", "make steps")
	if _, page := v.post("/desk/draft/straight-skirt", form); !strings.Contains(page, " yd") {
		t.Error("the steps do not say yards")
	}
}

func mustReadFile(t *testing.T, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestRefusedCardKeepsThePieces: a card refused for a fault in a measure leaves the earlier pieces on the page, marked
// as stale; a refused name is no fault of a measure. Where the body's own measures cannot be drawn either, they are
// the pieces at opening.
func TestRefusedCardKeepsThePieces(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "cards/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	const stale = `<div id="picture" class="stale"`
	form := url.Values{"text": {haleSash}, "version": {folder.VersionOf([]byte(haleSash))}, "body": {"hale"}, "unit": {"cm"}, "do": {"card"}, "card": {"hale"}, "measure waist": {"7,5"}}
	status, page := v.post("/desk/draft/sash", form)
	if status != 400 || !strings.Contains(page, "Not done: ") || !strings.Contains(page, `role="alert" id="slipped"`) || !strings.Contains(page, stale) || !strings.Contains(page, "<svg") || !strings.Contains(page, "Not drawn: see the errors. The pieces as they were stand below.") {
		t.Errorf("refused for a slip: %d\n%s", status, page)
	}
	form.Set("body", "gone")
	form.Set("opened", openedOr("", wish{Name: "sash", Text: haleSash, Body: "hale"}))
	if _, page = v.post("/desk/draft/sash", form); !strings.Contains(page, stale) || !strings.Contains(page, "<svg") {
		t.Errorf("the pieces of the opening are gone:\n%s", page)
	}
	form.Set("measure waist", "76")
	form.Set("card", "")
	if _, page = v.post("/desk/draft/sash", form); !strings.Contains(page, "Not done: ") || strings.Contains(page, `id="slipped"`) || strings.Contains(page, stale) || !strings.Contains(page, "1 piece") {
		t.Errorf("refused for its name:\n%s", page)
	}
}
