package desk

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestEveryNameOfADraft: a draft in .yml, and one with a dot in its name, is listed, opened, drawn, saved, restored,
// shared and sent like one in .yaml; a file in .yaml beside it is another draft.
func TestEveryNameOfADraft(t *testing.T) {
	v := visit(t)
	_, device, inbox := v.sends()
	v.files(map[string]string{"drafts/sash.yaml": "style: Other\n", "cards/hale.yml": "unit: cm\nmeasures: {waist: 75}\n"})
	for name, file := range map[string]string{"sash.yml": "sash.yml", "sash v1.2": "sash v1.2.yaml"} {
		v.files(map[string]string{"drafts/" + file: haleSash})
		at := "/desk/draft/" + url.PathEscape(name)
		if _, page := v.get("/desk"); !strings.Contains(page, ">"+name+"</a>") {
			t.Errorf("%s is not on the shelf", name)
		}
		status, page := v.get(at)
		if status != 200 || !strings.Contains(page, "1 piece") || !strings.Contains(page, `<option selected>hale</option>`) || strings.Contains(page, ">hale.yml</option>") {
			t.Errorf("%s: %d, the card is not drawn by its name:\n%s", name, status, page)
		}
		form := url.Values{"text": {haleSash + "# mine\n"}, "version": {v.told(at + "/version")}, "do": {"save"}}
		if status, page = v.post(at, form); status != 200 || !strings.Contains(page, "Saved.") || mustReadFile(t, filepath.Join(v.drafts, file)) != haleSash+"# mine\n" {
			t.Errorf("%s is not saved: %d\n%s", name, status, page)
		}
		if _, page = v.get(at + "/versions"); strings.Count(page, "Bring back<") != 1 {
			t.Errorf("versions of %s:\n%s", name, page)
		}
		if status, page = v.get(at + "/share"); status != 200 || !strings.Contains(page, "style: ") {
			t.Errorf("%s is not shared: %d %s", name, status, page)
		}
		if status, page = v.post(at+"/send", url.Values{"device": {device}}); status != 200 || !strings.Contains(page, file+" lies in the folder of") || mustReadFile(t, filepath.Join(inbox, file)) != haleSash+"# mine\n" {
			t.Errorf("%s is not sent: %d\n%s", name, status, page)
		}
	}
	if text := mustReadFile(t, filepath.Join(v.drafts, "sash.yaml")); text != "style: Other\n" {
		t.Errorf("the draft beside it holds %s", text)
	}
	for name, want := range map[string]string{"apron v2.1": "apron v2.1.yaml", "bib.yaml": "bib.yaml", "cap.yml": "cap.yml"} {
		if status, page := v.post("/desk/new", url.Values{"name": {name}, "unit": {"cm"}}); status != 200 {
			t.Errorf("%s: %d\n%s", name, status, page)
		}
		if _, err := os.Stat(filepath.Join(v.drafts, want)); err != nil {
			t.Error(err)
		}
	}
	if status, page := v.post("/desk/new", url.Values{"name": {"apron.svg"}, "unit": {"cm"}}); status != 400 || !strings.Contains(page, "ends in .yaml or .yml: leave .svg away") || !strings.Contains(page, `value="apron.svg"`) {
		t.Errorf("another ending: %d\n%s", status, page)
	}
}

// told gets a page as text.
func (v *visitor) told(path string) string {
	v.t.Helper()
	_, text := v.get(path)
	return text
}

// TestSharedWhole: a shared draft contains what it takes from another, so that the file alone draws the same pieces,
// without the wearers of either; where the other draft is missing, the refusal names it.
func TestSharedWhole(t *testing.T) {
	v := visit(t)
	v.put(filepath.Join(v.drafts, "pocket-block.yaml"), "wearer: Mrs Wren\n"+strings.Replace(pocketBlock, "numbers:", "# drawn for Mrs Wren\nnumbers:", 1))
	v.put(filepath.Join(v.drafts, "pocket.yaml"), pocketFrom)
	if _, page := v.get("/desk/draft/pocket"); !strings.Contains(page, "with what it takes from pocket-block, all in one file,") {
		t.Error("the page does not say that the other draft goes along")
	}
	status, text := v.get("/desk/draft/pocket/share")
	if status != 200 || strings.Contains(text, "from:") || strings.Contains(text, "Wren") {
		t.Fatalf("%d, not whole, or it says whom it is for:\n%s", status, text)
	}
	before := v.desk.work(t.Context(), wish{Name: "pocket", Text: pocketFrom, Body: "B"})
	if err := os.Remove(filepath.Join(v.drafts, "pocket-block.yaml")); err != nil {
		t.Fatal(err)
	}
	after := v.desk.work(t.Context(), wish{Name: "pocket", Text: text, Body: "B"})
	if before.Pattern == nil || after.Pattern == nil || len(before.figures.Numbers) != len(after.figures.Numbers) || before.Pattern.Pieces[0].Name != after.Pattern.Pieces[0].Name {
		t.Errorf("shared it draws otherwise: %+v\n%s", after.Findings, text)
	}
	if _, bare := v.get("/desk/draft/pocket/share?bodies=no"); strings.Contains(bare, "hand: 20") {
		t.Error("without measures it has some")
	}
	if status, page := v.get("/desk/draft/pocket/share"); status != 400 || !strings.Contains(page, "is not shared") || !strings.Contains(page, "pocket-block") {
		t.Errorf("without the block: %d\n%s", status, page)
	}
}
