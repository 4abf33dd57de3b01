//go:build unix

package remote

import (
	"os"
	"path/filepath"
	"testing"
)

// TestSocketIsTheOwners: nobody else may open it, nor enter its folder.
func TestSocketIsTheOwners(t *testing.T) {
	dir, _ := served(t)
	for path, want := range map[string]os.FileMode{"control": 0o700, "control/socket": 0o600} {
		info, err := os.Stat(filepath.Join(dir, path))
		if err != nil || info.Mode().Perm() != want {
			t.Errorf("%s has rights %v, %v", path, info.Mode().Perm(), err)
		}
	}
}
