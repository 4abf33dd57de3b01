package namedfiles

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// What never ends is neither draft nor ticket: a pipe to which nobody writes, a device, and a link to one.
func TestWhatNeverEndsIsNoDraft(t *testing.T) {
	dir := t.TempDir()
	pipe, link := filepath.Join(dir, "f.svg"), filepath.Join(dir, "z.svg")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/zero", link); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{pipe, link, "/dev/zero"} {
		if _, err := Draft(path); err == nil || !strings.Contains(err.Error(), "no plain file") {
			t.Errorf("draft %s: %v", path, err)
		}
		if _, err := Read(path, "ticket"); err == nil {
			t.Errorf("ticket %s is read", path)
		}
	}
	plain := filepath.Join(dir, "a.svg")
	if err := os.WriteFile(plain, []byte("<svg/>"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(plain, filepath.Join(dir, "b.svg")); err != nil {
		t.Fatal(err)
	}
	if data, err := Draft(filepath.Join(dir, "b.svg")); err != nil || string(data) != "<svg/>" {
		t.Errorf("a link to a draft: %q, %v", data, err)
	}
}
