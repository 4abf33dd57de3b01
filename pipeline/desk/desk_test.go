package desk

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/desk/cardtext"
)

// TestSave: what a page did not begin from is never overwritten, and what is replaced lies in .versions, fifty
// of it.
func TestSave(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	read := func() string {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	if err := save(file, []byte("0"), ""); err != nil || read() != "0" {
		t.Fatal(err)
	}
	if err := create(file, []byte("x")); err == nil || read() != "0" {
		t.Errorf("a new draft took the place of one that is there (%v)", err)
	}
	if err := save(file, []byte("mine"), versionOf([]byte("what a page began from"))); !errors.Is(err, errChanged) || read() != "0" {
		t.Errorf("saved over somebody else's: %v", err)
	}
	if err := save(file, []byte("mine"), ""); !errors.Is(err, errChanged) || read() != "0" {
		t.Errorf("saved over a file that came meanwhile: %v", err)
	}
	for n := range 60 {
		if err := save(file, fmt.Append(nil, n+1), versionOf([]byte(read()))); err != nil {
			t.Fatal(err)
		}
	}
	old, err := filepath.Glob(filepath.Join(dir, ".versions", "smock *.yaml"))
	if err != nil || len(old) != versionsKept || read() != "60" {
		t.Fatalf("%d old versions, the file holds %s: %v", len(old), read(), err)
	}
	last, err := os.ReadFile(old[len(old)-1])
	if err != nil || string(last) != "59" {
		t.Errorf("the newest old version holds %s: %v", last, err)
	}
}

// TestPruneOwn: the oldest versions of a draft go when there are too many of it, and none of a draft whose name begins with
// its name, a blank and a 2.
func TestPruneOwn(t *testing.T) {
	dir := t.TempDir()
	versions := filepath.Join(dir, ".versions")
	if err := os.Mkdir(versions, 0o700); err != nil {
		t.Fatal(err)
	}
	for n := range 60 {
		for _, name := range []string{"smock", "smock 2"} {
			if err := os.WriteFile(filepath.Join(versions, fmt.Sprintf("%s 20261003-1010%02d.000.yaml", name, n)), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := prune(filepath.Join(dir, "smock.yaml")); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]int{"smock": versionsKept, "smock 2": 60} {
		if all, err := versionsOf(filepath.Join(dir, name+".yaml")); err != nil || len(all) != want || all[0].ID != "20261003-101059.000" {
			t.Errorf("of %q there are %d versions, want %d: %v", name, len(all), want, err)
		}
	}
}

// TestSaveAtOnce: of pages that save at one moment one wins, and the others are told.
func TestSaveAtOnce(t *testing.T) {
	file := filepath.Join(t.TempDir(), "smock.yaml")
	if err := create(file, []byte("0")); err != nil {
		t.Fatal(err)
	}
	told := make(chan error, 20)
	for n := range cap(told) {
		go func() { told <- save(file, fmt.Append(nil, "by page ", n), versionOf([]byte("0"))) }()
	}
	won := 0
	for range cap(told) {
		if err := <-told; err == nil {
			won++
		} else if !errors.Is(err, errChanged) {
			t.Error(err)
		}
	}
	if won != 1 {
		t.Errorf("%d pages were told that they saved", won)
	}
}

// TestLinks: a link in the folder leads nowhere.
func TestLinks(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(t.TempDir(), "other.yaml")
	file := filepath.Join(dir, "link.yaml")
	if err := errors.Join(os.WriteFile(out, []byte("theirs"), 0o600), os.Symlink(out, file)); err != nil {
		t.Fatal(err)
	}
	if text, err := readPlain(file); err == nil {
		t.Errorf("reads %s", text)
	}
	if err := save(file, []byte("mine"), versionOf([]byte("theirs"))); err == nil {
		t.Error("saves over a link")
	}
}

// TestForms is the page without scripts, as its forms ask: a starter, a changed measure, a save that meets
// somebody else's, and names that lead elsewhere.
func TestForms(t *testing.T) {
	v := visit(t)
	room, drafts, post := v.room, v.drafts, v.post
	if status, text := post("/desk/new", url.Values{"starter": {"ferry-smock"}, "name": {"my smock"}}); status != 200 || !strings.Contains(text, "7 pieces") {
		t.Fatalf("%d %s", status, text)
	}
	smock := samples.Read("ferry-smock.yaml")
	form := url.Values{"text": {string(smock)}, "version": {versionOf(smock)}, "body": {"A"}, "do": {"draw"}}
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

// TestCardText: whatever stands in the form is a value of the card and no line of it.
func TestCardText(t *testing.T) {
	text := cardText("in", "Bo\nkind: man", "", map[string]string{"bust": "34 3/16", "hip\nwaist": "1\nunit: mm"}).text
	if got, kind := cardtext.Measures(text); kind != "" || got["bust"] != "34 3/16" || got["hip\nwaist"] != "1\nunit: mm" || len(got) != 2 || !strings.HasPrefix(string(text), "unit: in\n") {
		t.Errorf("%s gives %v", text, got)
	}
}

// TestLinkedVersions: a link in place of .versions is not followed, and nothing is written over then.
func TestLinkedVersions(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	if err := os.WriteFile(file, []byte("a: 1"), 0o600); err != nil {
		t.Fatal(err)
	}
	needs.Link(t, elsewhere, filepath.Join(dir, ".versions"))
	if err := save(file, []byte("a: 2"), versionOf([]byte("a: 1"))); err == nil {
		t.Error("it is followed")
	}
	if entries, err := os.ReadDir(elsewhere); err != nil || len(entries) != 0 {
		t.Errorf("%v, %v", entries, err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "a: 1" {
		t.Errorf("%s, %v", text, err)
	}
}

// TestShelfPictures: the shelf's pictures are small, so their outlines are wide and they hold no words, legend or seam
// lines: every stroke of a shelf picture is 3 units of a thousand or more.
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
