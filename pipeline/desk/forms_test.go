package desk

import (
	"bytes"
	"encoding/json"
	"html"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/steps"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/tape"
)

// formOf is the form on a starter's page, with some measures typed over.
func formOf(starter, do string, typed map[string]string) url.Values {
	text := samples.Read(starter + ".yaml")
	h := headOfText(string(text))
	form := url.Values{"text": {string(text)}, "version": {folder.VersionOf(text)}, "body": {bodyOf(h, "")}, "kind": {""}, "do": {do}}
	for name, v := range h.Bodies[bodyOf(h, "")] {
		form.Set("measure "+name, v)
	}
	for name, v := range typed {
		form.Set("measure "+name, v)
	}
	return form
}

// TestTypedMeasuresStay: typed measures stay after a save and after every refusal; files are made for them.
func TestTypedMeasuresStay(t *testing.T) {
	v := visit(t)
	if status, text := v.post("/desk/new", url.Values{"starter": {"princess-tunic"}}); status != 200 {
		t.Fatalf("%d %s", status, text)
	}
	const page = "/desk/draft/princess-tunic"
	typed := map[string]string{"bust": "101.25"}
	stay := func(text string) bool {
		return strings.Contains(text, `value="101.25"`) && !strings.Contains(text, `class="unkept" hidden`)
	}
	form := formOf("princess-tunic", "save", typed)
	form.Set("text", form.Get("text")+"# mine\n")
	status, text := v.post(page, form)
	if status != 200 || !stay(text) || !strings.Contains(text, "not kept yet") || !strings.Contains(text, "Saved.") {
		t.Errorf("saved with measures that are typed: %d\n%s", status, text)
	}
	saved, err := os.ReadFile(filepath.Join(v.drafts, "princess-tunic.yaml"))
	if err != nil || !strings.HasSuffix(string(saved), "# mine\n") {
		t.Errorf("what was saved: %v", err)
	}
	for _, bad := range []struct{ do, card, says string }{
		{"card", "", "no name"},
		{"card", "a", "of its own"}, // the draft's body A would hide it
		{"card", "../store", "without folders"},
		{"make nonsense", "", "nothing that is made"},
	} {
		form := formOf("princess-tunic", bad.do, typed)
		form.Set("card", bad.card)
		if status, text := v.post(page, form); status != 400 || !stay(text) || !strings.Contains(text, bad.says) {
			t.Errorf("%+v: %d, the measures stay %v", bad, status, stay(text))
		}
	}
	if _, err := os.Stat(v.room.Path("cards")); err == nil {
		t.Error("a refused card made the folder of cards")
	}

	_, asKept := v.post(page, formOf("princess-tunic", "make chalk", nil))
	_, asTyped := v.post(page, formOf("princess-tunic", "make chalk", typed))
	if !strings.Contains(asKept, "for A") || !strings.Contains(asTyped, "for "+ownCard) || !strings.Contains(asTyped, "101.25") {
		t.Errorf("the chalking list is not for the measures of the form:\n%s", asTyped[strings.Index(asTyped, "<body"):][:900])
	}
	if status, pdf := v.post(page, formOf("princess-tunic", "make sheets a4", typed)); status != 200 || !strings.HasPrefix(pdf, "%PDF-") {
		t.Errorf("the sheets: %d %.300s", status, pdf)
	} else if status, toile := v.post(page, formOf("princess-tunic", "make toile a4", typed)); status != 200 || !strings.HasPrefix(toile, "%PDF-") || toile == pdf {
		t.Errorf("the toile: %d %.300s", status, toile)
	}
	// After a card is saved the page still has its draft, saved or not.
	form = formOf("princess-tunic", "card", typed)
	form.Set("text", form.Get("text")+"# not saved\n")
	form.Set("card", "Mrs  Wren")
	if status, text := v.post(page, form); status != 200 || !strings.Contains(text, "# not saved") || !strings.Contains(text, " data-unsaved") || !strings.Contains(text, "<option selected>Mrs Wren") || !strings.Contains(text, `class="unkept" hidden`) {
		t.Errorf("a card is kept: %d\n%s", status, text)
	}
	form.Set("card", "mrs wren")
	form.Set("kind", "woman")
	if status, text := v.post(page, form); status != 200 || !strings.Contains(text, "<option selected>Mrs Wren") {
		t.Errorf("kept once more: %d", status)
	}
	if names := folder.Names(v.room.Path("cards")); !slices.Equal(names, []string{"Mrs Wren"}) {
		t.Errorf("cards of one wearer: %q", names)
	}
	if m, kind := v.desk.card("Mrs Wren"); m["bust"] != "101.25" || kind != "woman" {
		t.Errorf("the card holds %v, for a %s", m, kind)
	}
}

// TestWordsOfTheForm: a fault of a measure names it, and does not advise releasing a job.
func TestWordsOfTheForm(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	for value, says := range map[string]string{"3.4.5": "the measure bust: ", "204": "the measure bust: ", "44": "the measure bust: "} {
		_, text := v.post("/desk/draft/ferry-smock", formOf("ferry-smock", "draw", map[string]string{"bust": value}))
		_, list, _ := strings.Cut(text, `<ul id="faults"`)
		list, _, _ = strings.Cut(list, "</ul>")
		if list = html.UnescapeString(list); !strings.Contains(list, says) || strings.Contains(list, "the card") || strings.Contains(list, "--") {
			t.Errorf("a bust of %s:\n%s", value, list)
		}
	}
	_, mend, _ := (formCard{}).plainly("", "take the measure once more; if it is right, release the job with --as-measured")
	if mend != "take the measure once more" {
		t.Errorf("%q", mend)
	}
}

// TestHowLines: each measure of each starter says where the tape goes.
func TestHowLines(t *testing.T) {
	for _, starter := range samples.Starters() {
		for _, body := range headOfText(string(samples.Read(starter + ".yaml"))).Bodies {
			for _, name := range slices.Sorted(maps.Keys(body)) {
				if tape.How(name) == "" {
					t.Errorf("%s: %s has no line on how it is taken", starter, name)
				}
			}
		}
	}
}

// TestTapeDrawings: each measure of each starter, and each that the desk knows, has a drawing; its tape is on a figure
// in the page, from one place to another. A screen reader gets the line of text instead.
func TestTapeDrawings(t *testing.T) {
	names := map[string]bool{"tool 1": true}
	for _, name := range tape.Names() {
		names[name] = true
	}
	for _, starter := range samples.Starters() {
		for _, body := range headOfText(string(samples.Read(starter + ".yaml"))).Bodies {
			for name := range body {
				names[name] = true
			}
		}
	}
	held, drawn := string(tape.FiguresSVG()), map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		svg := string(tape.SVG(name))
		_, of, _ := strings.Cut(svg, `<use href="#`)
		of, _, _ = strings.Cut(of, `"`)
		if of == "" || !strings.Contains(held, `<g id="`+of+`">`) || !strings.Contains(svg, `class="way"`) || !strings.HasPrefix(svg, `<span class="tape" aria-hidden="true">`) {
			t.Errorf("%s has no drawing: %s", name, svg)
		}
		if other, is := drawn[svg]; is && other+name != "body riserise" && !strings.HasPrefix(name, "tool ") {
			t.Errorf("%s and %s are drawn alike", name, other)
		}
		drawn[svg] = name
	}
	if tape.SVG("moonlight") != "" {
		t.Error("a measure that nobody knows is drawn")
	}
	v := visit(t)
	if status, text := v.post("/desk/new", url.Values{"starter": {"princess-tunic"}}); status != 200 || strings.Count(text, `class="way"`) != strings.Count(text, "data-measure=") {
		t.Errorf("%d: %d drawings for %d fields", status, strings.Count(text, `class="way"`), strings.Count(text, "data-measure="))
	}
}

// TestEighths: a draft in inches has a row of eighths, hidden until a script shows it, whose buttons do not send the
// form; one in centimetres has none.
func TestEighths(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	form := formOf("ferry-smock", "draw", nil)
	_, cm := v.post("/desk/draft/ferry-smock", form)
	form.Set("text", strings.Replace(form.Get("text"), "unit: cm", "unit: in", 1))
	_, in := v.post("/desk/draft/ferry-smock", form)
	_, row, is := strings.Cut(in, `id="eighths"`)
	row, _, _ = strings.Cut(row, "</div>")
	if strings.Contains(cm, "eighths\"") || !is || !strings.Contains(row, " hidden>") || !strings.Contains(row, `aria-label="Eighths`) {
		t.Errorf("the row: %s", row)
	}
	if n := strings.Count(row, `<button type="button">`); n != 7 || strings.Count(row, "<button") != n {
		t.Errorf("%d buttons: %s", n, row)
	}
}

// TestChalkingListOpens: the chalking list opens in the browser as a page without scripts.
func TestChalkingListOpens(t *testing.T) {
	v := visit(t)
	if status, text := v.post("/desk/new", url.Values{"starter": {"princess-tunic"}}); status != 200 {
		t.Fatalf("%d %s", status, text)
	}
	resp, err := v.browser.PostForm(v.address+"/desk/draft/princess-tunic", formOf("princess-tunic", "make chalk", nil))
	if err != nil {
		t.Fatal(err)
	}
	header := resp.Header
	_, text := v.answer(resp, nil)
	if ct := header.Get("Content-Type"); !strings.HasPrefix(ct, "text/html") || header.Get("Content-Disposition") != "" {
		t.Errorf("it comes as %q, %q", ct, header.Get("Content-Disposition"))
	}
	policy := header.Get("Content-Security-Policy")
	if !strings.Contains(policy, "sandbox;") || !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "script-src") || strings.Contains(policy, "allow-scripts") {
		t.Errorf("the policy is %q", policy)
	}
	if strings.Contains(text, "<script") || !strings.Contains(text, "To chalk it") || !strings.Contains(text, "<svg") {
		t.Errorf("the page: %.300s", text)
	}
}

// TestLessonsOpen: the tutorial and the examples open from a draft's page, as pages without scripts, each draft with
// its picture.
func TestLessonsOpen(t *testing.T) {
	v := visit(t)
	_, draft := v.post("/desk/new", url.Values{"starter": {"hood"}})
	for name, text := range map[string][]byte{"tutorial": measured.Tutorial, "examples": measured.Examples} {
		if !strings.Contains(draft, `href="/desk/draft/hood/`+name+`"`) {
			t.Errorf("no link to the %s", name)
		}
		status, page := v.get("/desk/draft/hood/" + name)
		if status != 200 || strings.Contains(page, "<script") || strings.Count(page, "<svg") != bytes.Count(text, []byte("```yaml")) {
			t.Errorf("%s: %d: %.300s", name, status, page)
		}
	}
}

// TestWordLeadsToItsExample: a word in a draft's text or in the reference links to its example; links between the
// language's pages work.
func TestWordLeadsToItsExample(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"hood"}})
	_, examples := v.get("/desk/draft/hood/examples")
	for line, want := range map[string]string{
		"  K: where square to N T at T meets plumb through A": "where, square to, meets, plumb through",
		"  front: front; cut 1 on the fold":                   "cut, on the fold",
		"  pleat: box, 2 deep, overlapping":                   "pleat, box, deep, overlapping",
		"  A: 12.5":                                           "",
	} {
		status, text := v.get("/desk/words?line=" + url.QueryEscape(line))
		var found []struct{ Words, ID string }
		if err := json.Unmarshal([]byte(text), &found); err != nil || status != 200 {
			t.Fatalf("%s: %d: %v: %s", line, status, err, text)
		}
		var words []string
		for _, f := range found {
			words = append(words, f.Words)
			if !strings.Contains(examples, ` id="`+f.ID+`"`) {
				t.Errorf("%s: no example is called %q", f.Words, f.ID)
			}
		}
		if strings.Join(words, ", ") != want {
			t.Errorf("%s: %q, want %q", line, words, want)
		}
	}
	link := regexp.MustCompile(`<a href="([^"#]*)(#[^"]*)?"`)
	for _, from := range []string{"reference", "examples"} {
		_, page := v.get("/desk/draft/hood/" + from)
		links := link.FindAllStringSubmatch(page, -1)
		to := map[string]bool{}
		for _, l := range links {
			to[l[1]] = true
		}
		for file := range to {
			if status, text := v.get("/desk/draft/hood/" + file); status != 200 || !strings.Contains(text, "<h1>") {
				t.Errorf("%s leads to %s: %d", from, file, status)
			}
		}
		if len(links) == 0 || from == "reference" && len(links) < 300 {
			t.Errorf("%s has %d links", from, len(links))
		}
	}
	resp, err := v.browser.Get(v.address + "/desk/draft/hood/reference")
	if err != nil {
		t.Fatal(err)
	}
	v.answer(resp, nil)
	if policy := resp.Header.Get("Content-Security-Policy"); strings.Contains(policy, "sandbox") || !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "script-src") {
		t.Errorf("the policy is %q", policy)
	}
}

// TestStepsSayTheWay: a step that joins an edge says how each part of it runs: an arc is not called straight.
func TestStepsSayTheWay(t *testing.T) {
	f, err := measured.FiguresOf(samples.Read("half-circle-skirt.yaml"), "half-circle-skirt.yaml", measured.Options{})
	if err != nil {
		t.Fatal(err)
	}
	swings := 0
	for _, s := range steps.Of(f) {
		for k, r := range s.Rows {
			if strings.HasPrefix(r.Way(), "swing ") && k == len(s.Rows)-1 {
				t.Errorf("%s: a way leads on from the last place", s.Head)
			}
			if strings.HasPrefix(r.Way(), "swing ") {
				swings++
			}
		}
	}
	if swings == 0 {
		t.Error("no step swings the tape, and the skirt is round")
	}
	v := visit(t)
	if status, text := v.post("/desk/new", url.Values{"starter": {"half-circle-skirt"}}); status != 200 {
		t.Fatalf("%d %s", status, text)
	}
	if _, text := v.post("/desk/draft/half-circle-skirt", formOf("half-circle-skirt", "make steps", nil)); !strings.Contains(text, "swing ") || !strings.Contains(text, "across, cm<") {
		t.Error("the page of steps says no swing, or a step says not in what its lengths are")
	}
}
