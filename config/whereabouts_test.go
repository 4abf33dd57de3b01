package config

import (
	"os"
	"path/filepath"
	"testing"
)

// TestWhereabouts: the store is found in files that are refused, and where nothing is said of it.
func TestWhereabouts(t *testing.T) {
	dir := t.TempDir()
	for text, want := range map[string]string{
		"units: mmm\nfolders:\n  store: /var/jobs\n":                         "/var/jobs",
		"units: [mm\nfolders:\n  # store: old\n  store: \"my jobs\"  # here": filepath.Join(dir, "my jobs"),
		"units: [mm\nfolders: {inbox: drop, store: kept, returned: back}":    filepath.Join(dir, "kept"),
		"units: mmm\n":        filepath.Join(dir, "store"),
		"folders: [1, 2]\n":   filepath.Join(dir, "store"),
		"folders: {store: }":  filepath.Join(dir, "store"),
		"\tunits: mm\n":       filepath.Join(dir, "store"),
		"\x00\xff no text \n": filepath.Join(dir, "store"),
		"":                    filepath.Join(dir, "store"),
	} {
		file := filepath.Join(dir, "workroom.yaml")
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if w, err := Load(file, nil); err == nil {
			t.Fatalf("%q is sound: %+v", text, w)
		}
		w := Whereabouts(file)
		if got := w.Path(w.Folders.Store); got != want {
			t.Errorf("%q: %s, not %s", text, got, want)
		}
	}
	if w := Whereabouts(filepath.Join(dir, "gone", "workroom.yaml")); w.Path(w.Folders.Store) != filepath.Join(dir, "gone", "store") {
		t.Errorf("%+v", w)
	}
}
