//go:build unix

package namedfiles

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestNoLinkIsFollowed: a name that a draft gives leads to plain files of its folders alone, not through a link to another
// file, nor to the next folder that has the name.
func TestNoLinkIsFollowed(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	secret := filepath.Join(outside, "secret.yaml")
	err := errors.Join(os.WriteFile(secret, []byte("style: secret\n"), 0o600), os.WriteFile(at("block.yaml"), []byte("style: block\n"), 0o600),
		os.Symlink(secret, at("out.yaml")), os.Symlink("nowhere", at("gone.yaml")), os.Symlink("block.yaml", at("inside.yaml")),
		os.WriteFile(filepath.Join(outside, "out.yaml"), []byte("style: another\n"), 0o600))
	if err != nil {
		t.Fatal(err)
	}
	find := In("draft", "drafts", dir, outside)
	if data, err := find("block"); err != nil || string(data) != "style: block\n" {
		t.Errorf("a plain file: %q, %v", data, err)
	}
	for _, name := range []string{"out", "out.yaml", "gone", "inside"} {
		data, err := find(name)
		if err == nil || len(data) != 0 || errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "is a link, and links are not followed: put a copy of the draft in its place") {
			t.Errorf("%s: %q, %v", name, data, err)
		}
	}
	if data, err := Read(at("out.yaml"), "ticket"); err == nil {
		t.Errorf("a ticket: %q", data)
	}
}
