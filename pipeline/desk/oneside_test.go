package desk

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// fieldOf is the value of a field of a page, and whether the page has it.
func fieldOf(page, name string) (string, bool) {
	m := regexp.MustCompile(`name="` + regexp.QuoteMeta(name) + `" value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		return "", false
	}
	return m[1], true
}

// TestOneSideInTheForm: a measure of one side is added to the form with the value of both, kept with the card, shown again, and goes
// from the card when its box is emptied; its pieces and checks are told for each side.
func TestOneSideInTheForm(t *testing.T) {
	v := visit(t)
	form := formOf("bodice-block", "side", map[string]string{"hip": "96"})
	form.Set("side", "left")
	form.Set("side-of", "armhole depth")
	both := form.Get("measure armhole depth")
	if both == "" {
		t.Fatal("the starter has no armhole depth: this proves nothing")
	}
	if err := os.MkdirAll(v.drafts, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(v.drafts, "bodice-block.yaml"), []byte(form.Get("text")), 0o644); err != nil {
		t.Fatal(err)
	}
	_, page := v.post("/desk/draft/bodice-block", form)
	if got, is := fieldOf(page, "measure left armhole depth"); !is || got != both {
		t.Fatalf("left armhole depth %q, %v; want %s", got, is, both)
	}
	if !strings.Contains(page, "on the left side, from the nape") {
		t.Error("how it is taken is not said")
	}
	form.Set("measure left armhole depth", "21")
	form.Set("card", "mara")
	form.Set("do", "card")
	if _, page = v.post("/desk/draft/bodice-block", form); !strings.Contains(page, "The measure card is kept") {
		t.Fatal("the card is not kept")
	}
	if text := mustRead(t, v, "../cards/mara"); !strings.Contains(text, "left armhole depth") {
		t.Fatalf("the card:\n%s", text)
	}
	_, page = v.get("/desk/draft/bodice-block?body=mara")
	if got, _ := fieldOf(page, "measure left armhole depth"); got != "21" {
		t.Errorf("shown again: %q, want 21", got)
	}
	for _, words := range []string{"left back", "right back", "left: "} {
		if !strings.Contains(page, words) {
			t.Errorf("the page says nothing of %q", words)
		}
	}
	form.Set("body", "mara")
	form.Set("measure left armhole depth", "")
	form.Set("card-seen", cardSeen("mara", []byte(mustRead(t, v, "../cards/mara"))))
	if _, page = v.post("/desk/draft/bodice-block", form); !strings.Contains(page, "The measure card is kept") {
		t.Fatal("the card is not kept again")
	}
	if text := mustRead(t, v, "../cards/mara"); strings.Contains(string(text), "left armhole depth") || !strings.Contains(string(text), "armhole depth") {
		t.Errorf("emptied, the card is\n%s", text)
	}
}

// TestFittingOfOneSide: the forms of a fitting take a measure and a seam of one side.
func TestFittingOfOneSide(t *testing.T) {
	v := visit(t)
	form := formOf("bodice-block", "card", map[string]string{})
	form.Set("card", "mara")
	if err := os.MkdirAll(v.drafts, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(v.drafts, "bodice-block.yaml"), []byte(form.Get("text")), 0o644); err != nil {
		t.Fatal(err)
	}
	v.post("/desk/draft/bodice-block", form)
	fit := func(more map[string]string) string {
		form := map[string][]string{"draft": {"bodice-block"}, "date": {"2026-11-20"}, "for": {"all"}}
		for k, s := range more {
			form[k] = []string{s}
		}
		_, page := v.post("/desk/card/mara/fitting", form)
		return page
	}
	fit(map[string]string{"do": "seam", "verb": "take in", "side": "right", "seam": "side", "by": "0.6", "at": "waist"})
	if text := mustRead(t, v, "../cards/mara"); !strings.Contains(text, "take in right side 0.6 at waist") {
		t.Errorf("the seam: %s", text)
	}
	page := fit(map[string]string{"do": "add", "name": "left armhole depth", "by": "1", "how": "more"})
	if strings.Contains(page, "is no measure and no number") {
		t.Error("a measure of one side is refused")
	}
	if !strings.Contains(page, "left back") {
		t.Error("the sides are not drawn apart")
	}
}
