package making

import (
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
