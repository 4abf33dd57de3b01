package pages

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"tracewheel/pipeline/store"
)

// Menu writes a menu entry that opens the desk (Desktop Entry Specification, freedesktop.org) and gives its file.
// What is there under its name is replaced: it names where the program lies.
func Menu() (string, error) {
	if runtime.GOOS == "windows" || runtime.GOOS == "darwin" {
		return "", errors.New("menu entries are written for desktops of Linux and BSD; here a double click on the program opens the desk")
	}
	program, err := os.Executable()
	if err != nil {
		return "", err
	}
	dir := os.Getenv("XDG_DATA_HOME")
	if !filepath.IsAbs(dir) {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", err
		}
		dir = filepath.Join(home, ".local", "share")
	}
	file := filepath.Join(dir, "applications", "tracewheel-desk.desktop")
	if err := store.MakeDirs(store.Disk{}, filepath.Dir(file), 0o755); err != nil {
		return "", err
	}
	_, err = store.SaveFile(store.Disk{}, file, strings.NewReader(menuEntry(program)), 0o644)
	return file, err
}

// menuEntry names a program; its path is quoted as the specification asks: first as an argument, then as a string.
func menuEntry(program string) string {
	arg := strings.NewReplacer(`\`, `\\`, `"`, `\"`, "`", "\\`", "$", `\$`, "%", "%%").Replace(program)
	return fmt.Sprintf("[Desktop Entry]\nType=Application\nName=Drafting desk\nGenericName=Garment drafts from measures\n"+
		"Comment=Write a garment from body measures and see its pieces\nExec=\"%s\" desk\nTerminal=false\nCategories=Graphics;\nKeywords=sewing;pattern;draft;measures;\n", strings.ReplaceAll(arg, `\`, `\\`))
}
