package lessons

import (
	"bytes"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured"
)

// TestEveryDraftShownDraws: what a beginner copies must draw without a fault, and the page must hold its picture.
func TestEveryDraftShownDraws(t *testing.T) {
	for name, text := range map[string][]byte{"TUTORIAL.html": measured.Tutorial, "EXAMPLES.html": measured.Examples} {
		parts, err := Parse(text)
		if err != nil {
			t.Fatal(name, err)
		}
		drafts := 0
		for _, p := range parts {
			if p.Draft == "" {
				continue
			}
			drafts++
			w, err := Look(p)
			if err != nil || len(w.Pattern.Pieces) == 0 {
				t.Errorf("%s, %s: nothing is drawn: %v", name, p.Head, err)
			}
			for _, f := range w.Findings {
				t.Errorf("%s, %s, line %d: %s", name, p.Head, f.Line, f.Message)
			}
		}
		if drafts == 0 {
			t.Errorf("%s shows no draft", name)
		}
		page, err := Pages[name]()
		if err != nil {
			t.Fatal(name, err)
		}
		if n := bytes.Count(page, []byte("<svg")); n != drafts {
			t.Errorf("%s has %d pictures for %d drafts", name, n, drafts)
		}
		for _, p := range parts {
			if p.Level > 1 && !bytes.Contains(page, []byte(` id="`+p.ID+`"`)) {
				t.Errorf("%s: no link leads to %s", name, p.Head)
			}
		}
		if len(page) > drafts*30_000 {
			t.Errorf("%s has %d bytes", name, len(page))
		}
		t.Logf("%s: %d drafts, %d bytes", name, drafts, len(page))
	}
}

// TestFaultyDraftIsTold: a draft that cannot be drawn never becomes a page without its picture.
func TestFaultyDraftIsTold(t *testing.T) {
	const head, one = "# Page\n\n## First step\n\nText.\n\n```yaml\n", "style: S\nunit: cm\npieces:\n  a: rectangle 8 by 15; cut 1\nallow: 1\n"
	if _, err := HTML([]byte(head + one + "```\n")); err != nil {
		t.Fatal(err)
	}
	_, err := HTML([]byte(head + strings.Replace(one, "rectangle", "rectangel", 1) + "```\n"))
	if err == nil || !strings.Contains(err.Error(), "First step") {
		t.Error("the fault is told as:", err)
	}
	if _, err := Parse([]byte(head + one)); err == nil {
		t.Error("a draft that is not closed passes")
	}
}

// TestNewLinesMarked: only what differs from the step before is marked, and a chapter begins unmarked.
func TestNewLinesMarked(t *testing.T) {
	const one, two = "style: S\nunit: cm\npieces:\n  a: rectangle 8 by 15; cut 1\nallow: 1\n", "style: S\nunit: cm\npieces:\n  a: rectangle 8 by 16; cut 1\nallow: 1\n"
	page, err := HTML([]byte("# P\n## C\n### 1\n```yaml\n" + one + "```\n### 2\n```yaml\n" + two + "```\n## D\n### 1\n```yaml\n" + one + "```\n"))
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(page, []byte("<mark>")); n != 1 || !bytes.Contains(page, []byte("<mark>  a: rectangle 8 by 16; cut 1</mark>")) {
		t.Errorf("%d lines are marked", n)
	}
}
