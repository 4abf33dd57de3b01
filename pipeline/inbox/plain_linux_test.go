package inbox

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"tracewheel/pipeline/store"
)

// TestOnlyPlainFilesAreRead: what took a file's place since it was looked at is not read: no pipe is waited for, at which
// the inbox would stand still, and no link is followed.
func TestOnlyPlainFilesAreRead(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	err := errors.Join(os.WriteFile(at("plain"), []byte(withLining), 0o600), os.Symlink("plain", at("link")), syscall.Mkfifo(at("pipe"), 0o600))
	if err != nil {
		t.Fatal(err)
	}
	taker := takerOn(store.Disk{}, newBook())
	for name, want := range map[string]int{"plain": 1, "link": 0, "pipe": 0} {
		if got := taker.named(at(name)); len(got) != want {
			t.Errorf("the ticket %s names %q", name, got)
		}
	}
}
