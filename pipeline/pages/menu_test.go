package pages

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/devices/needs"
	"tracewheel/pipeline/making"
)

// TestMenu: the entry is one of the Desktop Entry Specification, by the validator of freedesktop.org where it is
// installed, and its path is quoted twice.
func TestMenu(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	file, err := Menu()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	own, _ := os.Executable()
	if err != nil || !strings.Contains(string(text), `Exec="`+own+`" desk`) || !strings.HasPrefix(string(text), "[Desktop Entry]\nType=Application\n") {
		t.Errorf("%s: %v", text, err)
	}
	if got := menuEntry(`/opt/a "b" 100%/$x\y`); !strings.Contains(got, `Exec="/opt/a \\"b\\" 100%%/\\$x\\\\y" desk`) {
		t.Errorf("quoted as %s", got)
	}
	judge := needs.Program(t, "desktop-file-utils", "desktop-file-validate")
	if said, err := exec.Command(judge, file).CombinedOutput(); err != nil {
		t.Errorf("%s: %v", said, err)
	}
}

// TestOpenFails: where no browser can be opened, a person hears why; where none of those who would see it hears it,
// the desk ends.
func TestOpenFails(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	err := Open(t.Context(), "http://127.0.0.1:1/")
	if err == nil || !strings.Contains(err.Error(), "not installed") || !strings.Contains(err.Error(), "by hand") {
		t.Errorf("%v", err)
	}
	room := *making.Sample()
	room.Dir = t.TempDir()
	var out strings.Builder
	err = RunDesk(t.Context(), DeskOptions{Room: &room}, &out, true, func(err error) error { return err })
	if err == nil || !strings.Contains(err.Error(), "no browser") || !strings.Contains(out.String(), "/enter?code=") {
		t.Errorf("%v, having said %s", err, out.String())
	}
	// A browser that fails is told as well.
	bin := t.TempDir()
	if err := os.WriteFile(filepath.Join(bin, "xdg-open"), []byte("#!/bin/sh\nexit 3\n"), 0o700); err != nil { //nolint:gosec // it is run
		t.Fatal(err)
	}
	t.Setenv("PATH", bin)
	if err := Open(t.Context(), "http://127.0.0.1:1/"); err == nil || !strings.Contains(err.Error(), "xdg-open: exit status 3") {
		t.Errorf("%v", err)
	}
}
