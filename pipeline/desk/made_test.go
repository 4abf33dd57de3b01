package desk

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/sharing"
	"tracewheel/pipeline/desk/steps"
	"tracewheel/pipeline/desk/taken"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/store"
)

// TestVersions: an old version can be seen and opened without a change of the file; the text that a save replaces is
// kept then.
func TestVersions(t *testing.T) {
	v := visit(t)
	file := filepath.Join(v.drafts, "smock.yaml")
	long := filepath.Join(v.drafts, "smock 2.yaml") // its versions' names begin with the other's name
	for _, s := range []struct{ file, was, is string }{{file, "", "# one\n"}, {file, "# one\n", "# two\n"}, {file, "# two\n", "# three\n"}, {long, "", "# a\n"}, {long, "# a\n", "# b\n"}} {
		version := folder.VersionOf([]byte(s.was))
		if s.was == "" {
			version = ""
		}
		if err := folder.Save(s.file, []byte(s.is), version); err != nil {
			t.Fatal(err)
		}
	}
	_, list := v.get("/desk/draft/smock/versions")
	links := regexp.MustCompile(`/desk/draft/smock/version/[0-9.-]+`).FindAllString(list, -1)
	if len(links) != 2 {
		t.Fatalf("%d versions are listed:\n%s", len(links), list)
	}
	status, page := v.get(links[1]) // the older one
	if status != 200 || !strings.Contains(page, "# one\n") || !strings.Contains(page, " data-unsaved") || !strings.Contains(page, `value="`+folder.VersionOf([]byte("# three\n"))+`"`) {
		t.Errorf("an old version is opened: %d\n%s", status, page)
	}
	if now, err := os.ReadFile(file); err != nil || string(now) != "# three\n" {
		t.Errorf("looking at it changed the file: %q %v", now, err)
	}
	v.post("/desk/draft/smock", url.Values{"text": {"# one\n"}, "version": {folder.VersionOf([]byte("# three\n"))}, "do": {"save"}})
	if all, err := folder.Versions(file); err != nil || len(all) != 3 {
		t.Errorf("versions after it was brought back: %v %v", all, err)
	}
	for _, id := range []string{"..%2fsmock", "20260101-000000.000", "x"} {
		if status, _ := v.get("/desk/draft/smock/version/" + id); status != 404 {
			t.Errorf("version %s: %d", id, status)
		}
	}
	if _, now := v.get("/desk/draft/smock/version"); now != folder.VersionOf([]byte("# one\n")) {
		t.Errorf("the page hears that the file is %q", now)
	}
}

// TestVersionsAreReadOnce: a list of versions reads no texts, and earlier measures read each text once. Reading is
// measured by the memory that it takes.
func TestVersionsAreReadOnce(t *testing.T) {
	v := visit(t)
	card := filepath.Join(v.room.Path("cards"), "wren.yaml")
	const size = 8 << 20
	text := "measures: {hand: 20}\n...\n" + strings.Repeat("\x00", size) // YAML ends at the three dots
	v.put(card, "measures: {hand: 21}\n")
	v.put(store.VersionAt(card, time.Now()).File, text)
	took := func(do func()) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		do()
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	list := took(func() {
		if all, err := folder.Versions(card); err != nil || len(all) != 1 {
			t.Errorf("%+v %v", all, err)
		}
	})
	if list > size/2 {
		t.Errorf("the list takes %d bytes", list)
	}
	history := took(func() {
		if all := taken.History(card); len(all) != 2 {
			t.Errorf("%d texts", len(all))
		}
	})
	t.Logf("list %d bytes, history %d of one text of %d", list, history, size)
	if history > size*3/2 {
		t.Errorf("the history takes %d bytes", history)
	}
}

// TestShared: a shared draft names no wearer and no card; a body of its own stays.
func TestShared(t *testing.T) {
	const head = "# mine\nstyle: S\nunit: cm\n"
	for text, want := range map[string]string{
		head + "wearer: Mrs Wren\ncard: wren\nnumbers:\n  a: 1\n":           head + "numbers:\n  a: 1\n",
		head + "card: wren.yml\nnumbers:\n  a: 1 # as for Wren\n":           head + "numbers:\n  a: 1\n",
		head + "body: wren\nnumbers: {}\n":                                  head + "numbers: {}\n",
		head + "body:\n  bust: 90\n\n  hip: 98\nnumbers: {}\n":              head + "numbers: {}\n",
		head + "bodies: {A: {bust: 90}}\nbody: A\nnumbers: {wearer x: 1}\n": head + "bodies: {A: {bust: 90}}\nbody: A\nnumbers: {wearer x: 1}\n",
	} {
		if got, err := sharing.Plain([]byte(text)); string(got) != want || err != nil {
			t.Errorf("%q is shared as %q, %v", text, got, err)
		}
	}
}

// TestSteps: the steps contain each line of lettered points of each piece and each place of its outline once, and the
// page as a file needs no script and nothing from elsewhere.
func TestSteps(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"princess-tunic"}})
	f, err := measured.FiguresOf(samples.Read("princess-tunic.yaml"), "x.yaml", measured.Options{Body: "A"})
	if err != nil {
		t.Fatal(err)
	}
	lines, places := 0, 0
	for _, p := range f.Pieces {
		lines += len(p.Marking.Lines)
		places += len(p.Marking.Outline)
	}
	told, rows, edges := 0, 0, 0
	for i, s := range steps.Of(f) {
		if s.N != i+1 {
			t.Errorf("step %d is numbered %d", i+1, s.N)
		}
		if first := strings.HasPrefix(s.Note, "Measure across"); first != strings.HasPrefix(string(s.Picture), "<svg") {
			t.Errorf("step %d, %s: a picture begins each piece, and only that: %.40s", s.N, s.Head, s.Picture)
		}
		if s.Lies != "" && len(s.Spots) > 0 {
			told++
		}
		if strings.HasPrefix(s.Head, "Join") {
			rows += len(s.Rows)
			edges++
		}
	}
	if told != lines || rows-edges != places { // each edge ends where the next begins
		t.Errorf("%d of %d lines, %d of %d places", told, lines, rows-edges, places)
	}
	form := formOf("princess-tunic", "make steps", map[string]string{"bust": "101.25"})
	status, page := v.post("/desk/draft/princess-tunic", form)
	if status != 200 || !strings.Contains(page, `id="step-2"`) || !strings.Contains(page, "for "+ownCard) {
		t.Errorf("the page of steps: %d", status)
	}
	form.Set("do", "make steps-file")
	_, file := v.post("/desk/draft/princess-tunic", form)
	if !strings.HasPrefix(file, "<!doctype html>") || !strings.Contains(file, `href="#step-2"`) || !strings.Contains(file, "<style>:root") || regexp.MustCompile(`<script|src=|href="[^#]|url\(`).MatchString(file) {
		t.Errorf("the file of steps:\n%.1500s", file)
	}
}

// TestCloth: what to buy is shown at the draft's width and at others, with the notions.
func TestCloth(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	status, page := v.post("/desk/draft/ferry-smock", formOf("ferry-smock", "make cloth", map[string]string{"bust": "94"}))
	if status != 200 || !strings.Contains(page, "to buy") || !strings.Contains(page, " wide: ") || !strings.Contains(page, "tell the same lay") || !strings.Contains(page, "bias tape") {
		t.Errorf("%d\n%s", status, page)
	}
}
