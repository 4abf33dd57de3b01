package lessons

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured"
)

// TestEveryDraftShownDraws: what a beginner copies must draw without a fault, and the page must hold its picture.
func TestEveryDraftShownDraws(t *testing.T) {
	for name, text := range Pages {
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
		page, err := HTML(text)
		if err != nil {
			t.Fatal(name, err)
		}
		if n := bytes.Count(page, []byte("<svg")); n != drafts {
			t.Errorf("%s has %d pictures for %d drafts", name, n, drafts)
		}
		if len(page) > 1_000_000 {
			t.Errorf("%s has %d bytes", name, len(page))
		}
		t.Logf("%s: %d drafts, %d bytes", name, drafts, len(page))
	}
}

// TestEveryWordHasAnExample: every key of a draft, by its schema, and of a drawing stands in an example.
func TestEveryWordHasAnExample(t *testing.T) {
	parts, err := Parse(measured.Examples)
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, p := range parts {
		all.WriteString("\n" + p.Draft)
	}
	var s struct {
		Properties map[string]any `json:"properties"`
	}
	if err := json.Unmarshal(measured.Schema, &s); err != nil || len(s.Properties) < 20 {
		t.Fatal(err, len(s.Properties))
	}
	for key := range s.Properties {
		if !strings.Contains(all.String(), "\n"+key+":") {
			t.Errorf("no example has the key %q", key)
		}
	}
	for _, key := range []string{"outline", "trace", "pleat", "pleats", "dart .*", "flare", "princess"} {
		if !regexp.MustCompile(`\n  ` + key + `: `).MatchString(all.String()) {
			t.Errorf("no drawing of an example has the key %q", key)
		}
	}
}

// unshown are the reference's words that no example has: of files, cards and commands, names that stand for any name, and
// forms that are shown nowhere yet.
const unshown = `mm measured-draft schema json bodice-block drafts export tracewheel svg dxf figures true toile
	let nothing take cards taken measures changes man child belt bust cap part underlap without
	times inner past opposite squared pointed carried overlapping eased above below then lay`

// TestReferenceWordsAreShown: a word that the reference gets is shown in an example, too.
func TestReferenceWordsAreShown(t *testing.T) {
	word, span := regexp.MustCompile(`[a-z][a-z-]+`), regexp.MustCompile("`([^`]*)`")
	has := map[string]bool{}
	parts, err := Parse(measured.Examples)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range parts {
		for _, w := range word.FindAllString(p.Draft, -1) {
			has[w] = true
		}
	}
	var idle []string // exempt, and shown all the same
	for _, w := range strings.Fields(unshown) {
		if has[w] {
			idle = append(idle, w)
		}
		has[w] = true
	}
	if len(idle) > 0 {
		t.Errorf("these are shown now; take them out of the list: %s", strings.Join(idle, " "))
	}
	n := 0
	for _, s := range span.FindAllSubmatch(measured.Reference, -1) {
		for _, w := range word.FindAllString(string(s[1]), -1) {
			if n++; !has[w] {
				t.Errorf("no example shows %q, of `%s`", w, s[1])
				has[w] = true
			}
		}
	}
	if n < 300 {
		t.Errorf("%d words of the reference were looked at", n)
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
