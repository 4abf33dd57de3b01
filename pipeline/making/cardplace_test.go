package making

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/config"
)

// A card in the folder cards beside a draft, or beside the draft's folder, is found from any working
// directory, without a workroom.
func TestCardBesideTheDraft(t *testing.T) {
	const draft = "style: S\nunit: cm\nmeasures: [waist]\nbody: chorus\npieces:\n  a: rectangle waist by 9; cut 1\nallow:\n  all: 1\n"
	for _, at := range []string{"drafts", "drafts/cards", "cards"} {
		dir := t.TempDir()
		for _, d := range []string{"drafts", at} {
			if err := os.MkdirAll(filepath.Join(dir, d), 0o755); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, at, "chorus.yaml"), []byte("unit: cm\nmeasures: {waist: 72}\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		var found Read
		m := &Maker{Room: &config.Workroom{}}
		data, err := m.cardOf(Request{Source: []byte(draft), Name: filepath.Join(dir, "drafts", "s.yaml")}, &found)("chorus")
		if err != nil || len(data) == 0 {
			t.Errorf("%s: %v", at, err)
		}
	}
}

// TestDraftNamedAsItsWearer: a draft that is called as the wearer for whom it is made finds the wearer's card, and not itself;
// so does a draft beside another draft of that name.
func TestDraftNamedAsItsWearer(t *testing.T) {
	const draft = "style: S\nunit: cm\ncard: hale\npieces:\n  a: rectangle waist by 9; cut 1\nallow:\n  all: 1\n"
	for _, where := range []string{"cards", "drafts/cards"} {
		dir := t.TempDir()
		for file, text := range map[string]string{"drafts/hale.yaml": draft, "drafts/s.yaml": draft, where + "/hale.yaml": "unit: cm\nmeasures: {waist: 72}\n"} {
			if err := errors.Join(os.MkdirAll(filepath.Dir(filepath.Join(dir, file)), 0o755), os.WriteFile(filepath.Join(dir, file), []byte(text), 0o600)); err != nil {
				t.Fatal(err)
			}
		}
		m := New(Sample())
		for _, name := range []string{"hale.yaml", "s.yaml"} {
			file := filepath.Join(dir, "drafts", name)
			if w := m.Look(Request{Source: []byte(draft), Name: file}); w.Pattern == nil || len(w.Cards) != 1 {
				t.Errorf("%s with the card in %s is not drawn: %v", name, where, w.Findings)
			}
			if at, _, err := m.CardFor(file, "hale"); err != nil || at != filepath.Join(dir, where, "hale.yaml") {
				t.Errorf("%s finds its card at %s: %v", name, at, err)
			}
		}
		if _, _, err := m.CardFor(filepath.Join(dir, "drafts", "s.yaml"), "s"); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("the draft s is a card: %v", err)
		}
	}
}
