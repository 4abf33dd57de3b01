package desk

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/sharing"
)

// TestFileThatWasSent: a draft file is saved in the folder under its name and opened; a file with an existing name,
// and one that is no draft, is refused and nothing is written.
func TestFileThatWasSent(t *testing.T) {
	v := visit(t)
	send := func(name, text string) (int, string) {
		t.Helper()
		var b bytes.Buffer
		form := multipart.NewWriter(&b)
		part, err := form.CreateFormFile("file", name)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = part.Write([]byte(text)) // into memory
		if err := form.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, v.address+"/desk/open", &b)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", form.FormDataContentType())
		r.Header.Set("Origin", v.address)
		return v.answer(v.browser.Do(r))
	}
	if status, page := send("Herald's tabard.yaml", pocketBlock); status != 200 || !strings.Contains(page, `data-desk="Herald&#39;s tabard"`) {
		t.Errorf("%d\n%s", status, page)
	}
	for name, text := range map[string]string{"Herald's tabard.yaml": "style: other\n", "hale.yaml": "unit: cm\nmeasures: {hip: 99}\n", "picture.png": "x", "bytes.yaml": "\xff\xfe", "../../up.yaml": strings.Repeat("#", textLimit+1)} {
		if status, page := send(name, text); status != 400 {
			t.Errorf("%s: %d\n%s", name, status, page)
		}
	}
	if names := folder.Names(v.drafts); len(names) != 1 || mustRead(t, v, "Herald's tabard") != pocketBlock {
		t.Errorf("the folder has %q", names)
	}
}

// TestSharedWithoutMeasures: on request the measures of the draft's own bodies are left out too; a general YAML reader
// finds the rest unchanged.
func TestSharedWithoutMeasures(t *testing.T) {
	const draft = "style: S\nunit: cm\nkind: woman\n# mine, 112\nbodies:\n  A: {bust: 112}\nbody: A\nnumbers:\n  deep: 12 # A is how deep\n"
	out, err := sharing.Bare([]byte(draft))
	if err != nil || strings.Contains(string(out), "112") || !strings.Contains(string(out), "# A is how deep") {
		t.Errorf("%v\n%s", err, out)
	}
	var got map[string]any
	if err := yaml.Unmarshal(out, &got); err != nil || len(got) != 4 || got["style"] != "S" {
		t.Errorf("%v %v", got, err)
	}
	v := visit(t)
	v.files(map[string]string{"drafts/mine.yaml": draft})
	if _, page := v.get("/desk/draft/mine"); !strings.Contains(page, "the measures in its words go along") {
		t.Error("nothing says that the measures in the words are shared")
	}
	if status, page := v.get("/desk/draft/mine/share?bodies=no"); status != 200 || strings.Contains(page, "112") {
		t.Errorf("%d\n%s", status, page)
	}
}

// TestCardVersions: the card before a fitting can be seen and restored; the version it replaces then is kept as well.
func TestCardVersions(t *testing.T) {
	v := visit(t)
	v.post("/desk/new", url.Values{"starter": {"ferry-smock"}})
	v.files(map[string]string{"cards/Mrs Wren.yaml": wren})
	v.post("/desk/card/Mrs%20Wren/fitting", url.Values{"draft": {"ferry-smock"}, "date": {"2026-11-07"}, "name": {"slit"}, "by": {"1.5 more"}, "do": {"add"}})
	file := filepath.Join(v.room.Path("cards"), "Mrs Wren.yaml")
	list, err := folder.Versions(file)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if status, page := v.get("/desk/card/Mrs%20Wren/versions?draft=ferry-smock"); status != 200 || !strings.Contains(page, "kept by hand") || !strings.Contains(page, list[0].ID) {
		t.Errorf("%d\n%s", status, page)
	}
	status, page := v.post("/desk/card/Mrs%20Wren/versions", url.Values{"draft": {"ferry-smock"}, "version": {list[0].ID}})
	text, err := folder.Read(file)
	if status != 200 || err != nil || string(text) != wren || !strings.Contains(page, `data-desk="ferry-smock"`) {
		t.Errorf("%d %v\n%s", status, err, text)
	}
	if list, err = folder.Versions(file); err != nil || len(list) != 2 {
		t.Errorf("%v %v", list, err)
	}
}
