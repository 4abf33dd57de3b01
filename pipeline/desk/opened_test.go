package desk

import (
	"html"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/moved"
	"tracewheel/pipeline/draft/measured/figures"
)

// TestCardOfTheWordsNotHere: a draft that names a missing card gets the fault at that line, even though another body
// is drawn, at Draw and after Save.
func TestCardOfTheWordsNotHere(t *testing.T) {
	v := visit(t)
	const words = "style: Sash\nunit: cm\ncard: Zoe\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n"
	v.files(map[string]string{"drafts/sash.yaml": words, "cards/Zoe.yaml": "unit: cm\nmeasures: {waist: 75}\n", "cards/Ada.yaml": "unit: cm\nmeasures: {waist: 70}\n"})
	const says = "<b>warning</b>, line 3: drawn for Zoe; the words name the card Clara, which is not here"
	form := url.Values{"text": {strings.Replace(words, "Zoe", "Clara", 1)}, "version": {folder.VersionOf([]byte(words))}, "body": {"Zoe"}, "measure waist": {"75"}, "do": {"draw"}}
	for _, do := range []string{"draw", "save"} {
		form.Set("do", do)
		if _, page := v.post("/desk/draft/sash", form); !strings.Contains(page, says) || strings.Contains(page, "No faults found") || !strings.Contains(page, "1 piece") {
			t.Errorf("after %s:\n%s", do, page)
		}
	}
	for _, ok := range []wish{{Text: words, Body: "Ada"}, {Text: strings.Replace(words, "card: Zoe", "card: Clara\nbody: Ada", 1), Body: "Zoe"}, {Text: words, Body: "Zoe"}} {
		ok.Name = "sash"
		if d := v.desk.draw(t.Context(), ok); d.SVG == "" || slices.ContainsFunc(d.Faults, func(f fault) bool { return strings.Contains(f.Text, "drawn for") }) {
			t.Errorf("%+v: %+v", ok, d.Faults)
		}
	}
}

// TestComparedAsOpened: the page is compared with the draft and the measures with which it was opened, also after a
// button of the form reloaded it.
func TestComparedAsOpened(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	const at = "/desk/draft/ferry-smock"
	opened := regexp.MustCompile(`name="opened" value="([^"]*)"`)
	_, page := v.get(at)
	if !strings.Contains(page, `<option value=" opened" selected>`) || strings.Contains(page, `class="before"`) {
		t.Error("an opened page is compared with something else than itself")
	}
	was := html.UnescapeString(opened.FindStringSubmatch(page)[1])
	form := formOf("ferry-smock", "draw", map[string]string{"bust": "104"})
	form.Set("opened", was)
	form.Set("with", asOpened)
	moved := func(page string) bool {
		return strings.Contains(page, `class="before"`) && strings.Contains(page, "<li>quarter 30, was 27</li>")
	}
	for _, do := range []string{"draw", "save", "draw"} { // 104/4 + 4 is 30, 92/4 + 4 is 27
		form.Set("do", do)
		if _, page = v.post(at, form); !moved(page) || html.UnescapeString(opened.FindStringSubmatch(page)[1]) != was {
			t.Errorf("%s: not compared with body A as it was opened", do)
		}
		form.Set("version", regexp.MustCompile(`name="version" value="([^"]*)"`).FindStringSubmatch(page)[1])
	}
	form.Set("with", "")
	if _, page = v.post(at, form); moved(page) {
		t.Error("compared with nothing, something moved")
	}
	form = formOf("ferry-smock", "draw", nil)
	form.Set("opened", was)
	form.Set("with", asOpened)
	form.Set("text", strings.Replace(string(samples.Read("ferry-smock.yaml")), "P: from O down 4", "P: from O down 5", 1))
	if _, page = v.post(at, form); !strings.Contains(page, `class="before"`) {
		t.Error("words that were changed are not compared with those of the opening")
	}
	form = formOf("ferry-smock", "draw", nil)
	form.Set("opened", was)
	form.Set("with", asOpened)
	form.Del("do")
	form.Set("take", "yes")
	form.Set("body", "B")
	if _, page = v.post(at, form); !strings.Contains(page, `class="before"`) || !strings.Contains(page, "What moved") {
		t.Error("another body's measures are not compared with those of the opening")
	}
}

// TestMovedToATenth: changes are listed to a tenth of a millimetre.
func TestMovedToATenth(t *testing.T) {
	one := func(unit string, v float64) *figures.Figures {
		return &figures.Figures{Unit: unit, Drafted: unit, Numbers: []figures.NamedNumber{{Name: "high bust", Value: v}}}
	}
	for unit, want := range map[string]string{"cm": "high bust 95.89, was 92.12", "mm": "high bust 95.9, was 92.1"} {
		if got := moved.Between(one(unit, 95.8851), one(unit, 92.1234), ""); len(got) != 1 || got[0] != want {
			t.Errorf("%s: %q", unit, got)
		}
	}
	if got := moved.Between(one("cm", 95.8851), one("cm", 95.8899), ""); len(got) > 0 {
		t.Errorf("less than a tenth: %q", got)
	}
}

// TestLegendNamesTheOther: the legend says whose lines are drawn behind.
func TestLegendNamesTheOther(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"cards/Mrs Wren.yaml": wren})
	text := string(samples.Read("ferry-smock.yaml"))
	for _, c := range []struct {
		before wish
		words  string
	}{{wish{Body: "B"}, "body B"}, {wish{Body: "Mrs Wren"}, "card Mrs Wren"}, {wish{Text: text, Body: "B"}, "as it was before"}} {
		svg := v.desk.draw(t.Context(), wish{Name: "x", Text: text, Body: "A", Before: &c.before}).SVG
		for _, words := range []string{"body B", "card Mrs Wren", "as it was before"} {
			if strings.Contains(svg, words+"<") != (words == c.words) {
				t.Errorf("%+v: %q is in the legend: %t", c.words, words, words != c.words)
			}
		}
	}
}
