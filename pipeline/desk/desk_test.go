package desk

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
)

// TestForms is the page without scripts: a starter, a changed measure, a save that conflicts with another one, and
// names of other folders.
func TestForms(t *testing.T) {
	v := visit(t)
	room, drafts, post := v.room, v.drafts, v.post
	if status, text := post("/desk/new", url.Values{"starter": {"ferry-smock"}, "name": {"my smock"}}); status != 200 || !strings.Contains(text, "7 pieces") {
		t.Fatalf("%d %s", status, text)
	}
	smock := samples.Read("ferry-smock.yaml")
	form := url.Values{"text": {string(smock)}, "version": {folder.VersionOf(smock)}, "body": {"A"}, "do": {"draw"}}
	for name, v := range map[string]string{"bust": "92", "hip": "98", "across front": "33", "nape to waist": "41", "head": "57"} {
		form.Set("measure "+name, v)
	}
	_, as := post("/desk/draft/my%20smock", form)
	form.Set("measure bust", "108")
	_, wider := post("/desk/draft/my%20smock", form)
	svg := func(page string) string {
		_, page, _ = strings.Cut(page, `<div id="picture"`)
		page, _, _ = strings.Cut(page, "</div>")
		return page
	}
	if svg(as) == "" || svg(as) == svg(wider) {
		t.Error("the pieces do not follow the bust")
	}
	file := filepath.Join(drafts, "my smock.yaml")
	if err := os.WriteFile(file, []byte("# by an editor\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	form.Set("do", "save")
	if status, text := post("/desk/draft/my%20smock", form); status != http.StatusConflict || !strings.Contains(text, "# by an editor") || !strings.Contains(text, "harbour play") {
		t.Errorf("a save that meets another: %d", status)
	}
	if now, err := os.ReadFile(file); err != nil || string(now) != "# by an editor\n" {
		t.Errorf("the file holds %q: %v", now, err)
	}
	for _, name := range []string{"..%2f..%2fstolen", ".hidden", "a%2fb", "a%00b"} {
		form.Set("version", "")
		if status, _ := post("/desk/draft/"+name, form); status < 400 {
			t.Errorf("the name %s is taken", name)
		}
	}
	if status, _ := post("/desk/new", url.Values{"starter": {"../../cards/chorus-4"}}); status < 400 {
		t.Error("a starter leads elsewhere")
	}
	form.Set("do", "card")
	form.Set("card", "../store/ledger")
	if status, _ := post("/desk/draft/my%20smock", form); status < 400 {
		t.Error("a card leads elsewhere")
	}
	err := filepath.WalkDir(room.Dir, func(path string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() && path != file && filepath.Base(path) != "browsers.json" {
			t.Errorf("there is %s", path)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// TestCardText: any text in the form becomes a value of the card, never a line of it.
func TestCardText(t *testing.T) {
	text, _ := cardtext.New("in", "Bo\nkind: man", "", map[string]string{"bust": "34 3/16", "hip\nwaist": "1\nunit: mm"})
	if got, kind := cardtext.Measures(text); kind != "" || got["bust"] != "34 3/16" || got["hip\nwaist"] != "1\nunit: mm" || len(got) != 2 || !strings.HasPrefix(string(text), "unit: in\n") {
		t.Errorf("%s gives %v", text, got)
	}
}

// TestShelfPictures: the shelf's pictures are small, so their outlines are wide and they have no words, legend or seam
// lines: every stroke is 3 units of a thousand or more.
func TestShelfPictures(t *testing.T) {
	v := visit(t)
	widths := regexp.MustCompile(`stroke-width="([0-9.]+)"`)
	for _, name := range samples.Starters() {
		status, svg := v.get("/desk/starter/" + name + "/picture")
		if status != 200 || !strings.Contains(svg, `class="cut"`) && !strings.Contains(svg, `class="outline"`) || strings.Contains(svg, `class="sew"`) || strings.Contains(svg, "<desc>") {
			t.Errorf("%s: %d, or seam lines or a legend in it", name, status)
		}
		for _, m := range widths.FindAllStringSubmatch(svg, -1) {
			if w, err := strconv.ParseFloat(m[1], 64); err != nil || w < 3 {
				t.Errorf("%s: a line %s wide", name, m[1])
			}
		}
	}
}
