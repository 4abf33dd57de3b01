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
