package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestRenameNew: a name that is taken, by a file, a folder or a link that leads nowhere, is never
// replaced, by either way of renaming.
func TestRenameNew(t *testing.T) {
	for name, rename := range map[string]func(from, to string) error{"system": Disk{}.RenameNew, "second name": linkNew} {
		dir := t.TempDir()
		at := func(n string) string { return filepath.Join(dir, n) }
		for n, err := range map[string]error{
			"a": os.WriteFile(at("a"), []byte("a"), 0o644), "b": os.WriteFile(at("b"), []byte("b"), 0o644),
			"folder": os.Mkdir(at("folder"), 0o755), "link": os.Symlink("nowhere", at("link")),
		} {
			if err != nil {
				t.Fatalf("%s: %v", n, err)
			}
		}
		for _, to := range []string{"b", "folder", "link"} {
			if err := rename(at("a"), at(to)); !errors.Is(err, fs.ErrExist) {
				t.Errorf("%s, onto %s: %v", name, to, err)
			}
		}
		if err := rename(at("gone"), at("new")); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s, of a file that is gone: %v", name, err)
		}
		if err := rename(at("a"), at("c")); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := os.Lstat(at("a")); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: the old name is still there: %v", name, err)
		}
		for n, want := range map[string]string{"b": "b", "c": "a"} {
			if got, err := os.ReadFile(at(n)); err != nil || string(got) != want {
				t.Errorf("%s: %s holds %q: %v", name, n, got, err)
			}
		}
	}
}
