package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The rooms' files that DEVELOPERS.md names are there: each by its path, or by the end of it. What an example
// adds is named as new.
func TestRoomsNamedInDevelopers(t *testing.T) {
	const top = "../.."
	text, err := os.ReadFile(filepath.Join(top, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	err = filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == ".git" {
			return filepath.SkipDir
		}
		files = append(files, strings.TrimPrefix(filepath.ToSlash(path), top))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile("`([\\w./-]+\\.(?:go|yaml|md|json|db|html|txt|txtar))`( \\(new\\))?").FindAllStringSubmatch(string(text), -1)
	if len(named) < 80 {
		t.Errorf("only %d files are named", len(named))
	}
	for _, m := range named {
		found := false
		for _, f := range files {
			found = found || strings.HasSuffix(f, "/"+m[1])
		}
		if fresh := m[2] != ""; found == fresh {
			t.Errorf("DEVELOPERS.md names %s%s: there %t", m[1], m[2], found)
		}
	}
}

// Whoever follows the README in a fresh clone types these lines: each names a command that there is and drafts
// that lie there.
func TestReadmeCommands(t *testing.T) {
	const top = "../.."
	text, err := os.ReadFile(filepath.Join(top, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	lines := regexp.MustCompile(`(?m)^(?:\./tracewheel|go run \./cmd/tracewheel) ([^#\n]+)`).FindAllStringSubmatch(string(text), -1)
	if len(lines) < 7 {
		t.Errorf("only %d lines call tracewheel", len(lines))
	}
	for _, m := range lines {
		words := strings.Fields(m[1])
		cmd, rest, err := new(app).root().Find(words)
		if err != nil || cmd.Parent() == nil {
			t.Errorf("README: %q is no command: %v", m[1], err)
			continue
		}
		if err := cmd.ParseFlags(rest); err != nil {
			t.Errorf("README: %q: %v", m[1], err)
		}
		for _, file := range cmd.Flags().Args() {
			if _, err := os.Stat(filepath.Join(top, file)); err != nil && cmd.Name() != "new" {
				t.Errorf("README: %q: %v", m[1], err)
			}
		}
	}
	for _, m := range regexp.MustCompile("`((?:config|geom|pipeline|testdata)/[\\w./-]+)`").FindAllStringSubmatch(string(text), -1) {
		if _, err := os.Stat(filepath.Join(top, m[1])); err != nil {
			t.Errorf("README names %v", err)
		}
	}
}
