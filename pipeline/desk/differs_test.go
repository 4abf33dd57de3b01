package desk

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
)

// TestVersionsSayWhatDiffers: each older version of a draft and of a card shows what was changed then.
func TestVersionsSayWhatDiffers(t *testing.T) {
	v := visit(t)
	file := filepath.Join(v.drafts, "own.yaml")
	v.post("/desk/new", url.Values{"name": {"own"}})
	first := samples.Empty("cm")
	for _, then := range [][2]string{{first, strings.Replace(first, "hand: 20", "hand: 22.5", 1)}, {strings.Replace(first, "hand: 20", "hand: 22.5", 1), first + "# mine\n"}} {
		if err := folder.Save(file, []byte(then[1]), folder.VersionOf([]byte(then[0]))); err != nil {
			t.Fatal(err)
		}
	}
	_, page := v.get("/desk/draft/own/versions")
	for _, says := range []string{"hand 22.5, was 20", "hand 20, was 22.5", "<b>new</b>, line " + "34: <code># mine</code>"} {
		if !strings.Contains(page, says) {
			t.Errorf("never %q", says)
		}
	}
	card := filepath.Join(v.room.Path("cards"), "wren.yaml")
	v.put(card, "measures: {hand: 20}\n")
	if err := folder.Save(card, []byte("measures: {hand: 21}\n"), folder.VersionOf([]byte("measures: {hand: 20}\n"))); err != nil {
		t.Fatal(err)
	}
	if _, page := v.get("/desk/card/wren/versions?draft=own"); !strings.Contains(page, "hand 21, was 20") {
		t.Errorf("the card's versions do not say what differs:\n%s", page)
	}
}

// TestChangedByAnotherProgram: the page's text is kept as an older version and the lines that differ are shown; asking
// again keeps it only once.
func TestChangedByAnotherProgram(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"name": {"own"}})
	file, was := filepath.Join(v.drafts, "own.yaml"), samples.Empty("cm")
	v.put(file, strings.Replace(was, "wide: hand - 4", "wide: hand - 5", 1))
	form := url.Values{"do": {"renew"}, "text": {strings.ReplaceAll(was, "\n", "\r\n")}, "body": {"A"}, "version": {folder.VersionOf([]byte(was))}}
	for range 2 {
		status, page := v.post("/desk/draft/own", form)
		for _, says := range []string{"changed by another program, and is shown as it is now", "<b>gone</b>, line 11: <code>  wide: hand - 4</code>", "<b>new</b>, line 11: <code>  wide: hand - 5</code>"} {
			if status != 200 || !strings.Contains(page, says) {
				t.Errorf("%d: never %q", status, says)
			}
		}
		old, err := folder.Versions(file)
		if err != nil || len(old) != 1 {
			t.Fatalf("%d versions, %v", len(old), err)
		}
		if text, err := os.ReadFile(old[0].File); err != nil || string(text) != was {
			t.Errorf("kept is %q, %v", text, err)
		}
	}
	if _, said := v.post("/desk/draft/own/differs", url.Values{"text": {was}}); !strings.Contains(said, `"gone, line 11:   wide: hand - 4","new, line 11:   wide: hand - 5"`) {
		t.Errorf("a page in which somebody writes hears %s", said)
	}
}

// TestRefusedNameStandsInTheForm: the fault of a refused name is at its field, which keeps what was typed.
func TestRefusedNameStandsInTheForm(t *testing.T) {
	v := visit(t)
	status, page := v.post("/desk/new", url.Values{"name": {"tabard: the herald's"}, "unit": {"in"}})
	for _, says := range []string{`value="tabard: the herald&#39;s"`, `aria-describedby="own-slip"`, `<b>Name</b>: &#34;tabard: the herald&#39;s&#34; is no name here`, `<option value="in" selected>`, "Begin with a garment"} {
		if status != 400 || !strings.Contains(page, says) {
			t.Errorf("%d: never %q", status, says)
		}
	}
}

// TestFittingSaysWhatMoved: lengthening the hem of a tunic makes its hip narrower, since its flare runs to the hem;
// the page says so at once after the fitting.
func TestFittingSaysWhatMoved(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"princess-tunic"}, "name": {"tunic"}})
	v.put(filepath.Join(v.room.Path("cards"), "wren.yaml"), "unit: cm\nmeasures: {bust: 97, high bust: 92, waist: 79, hip: 103, hip depth: 20, neck: 37, shoulder: 13, across front: 34, across back: 36.5, nape to waist: 41, front waist: 45, apex depth: 27.5, apex separation: 19, armhole depth: 19}\n")
	_, page := v.post("/desk/card/wren/fitting", url.Values{"draft": {"tunic"}, "date": {"2026-11-07"}, "name": {"hem level"}, "by": {"3"}, "how": {"more"}, "do": {"add"}, "for": {"this"}})
	_, told, _ := strings.Cut(page, `class="said">`)
	told, _, _ = strings.Cut(told, "</p>")
	if !strings.Contains(told, "though it does not name them: hip") || !strings.Contains(told, ", was ") {
		t.Errorf("it says %s", told)
	}
}

// TestClashSaysWhoseChange: where another program changed one line and the page another one, each is shown with its
// author; then the same without the file that the page read first.
func TestClashSaysWhoseChange(t *testing.T) {
	const began = "style: Cap\nunit: cm\nbodies:\n  A: {head: 57}\nnumbers:\n  ease: 2\npieces:\n  cap: rectangle head + ease by 10; cut 1\nallow: 1\n"
	theirs, mine := strings.Replace(began, "style: Cap", "style: Hood", 1), strings.Replace(began, "ease: 2", "ease: 3", 1)
	v := visit(t)
	v.files(map[string]string{"drafts/cap.yaml": theirs})
	form := url.Values{"text": {mine}, "version": {folder.VersionOf([]byte(began))}, "body": {"A"}, "opened": {openedOr("", wish{Name: "cap", Text: began, Body: "A"})}, "do": {"save"}}
	status, page := v.post("/desk/draft/cap", form)
	_, page, _ = strings.Cut(page, "What somebody else changed")
	other, own, told := strings.Cut(page, "What you changed here")
	own, _, _ = strings.Cut(own, "<form")
	if status != 409 || !told || !strings.Contains(other, "Hood") || strings.Contains(other, "ease") || !strings.Contains(own, "ease 3, was 2") || strings.Contains(own, "Hood") {
		t.Errorf("%d: theirs %s\nmine %s", status, other, own)
	}
	form.Del("opened")
	if _, page = v.post("/desk/draft/cap", form); strings.Contains(page, "What somebody else changed") || !strings.Contains(page, "is not kept") {
		t.Errorf("without what the page began from: %s", page)
	}
}
