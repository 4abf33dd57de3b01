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

// Each row of the tables of rooms says where to change what: its files lie in the rooms of the row. No room lacks a row.
func TestWhereToChange(t *testing.T) {
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	coded, below := regexp.MustCompile("`([^`]+)`"), ""
	has := map[string]bool{}
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "Inside `pipeline/draft/measured`") {
			below = "pipeline/draft/measured/"
		}
		cells := strings.Split(line, " | ")
		if len(cells) < 4 || !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| room |") {
			continue
		}
		if strings.HasPrefix(line, "| switch |") {
			break
		}
		rooms := coded.FindAllStringSubmatch(strings.NewReplacer("{roles,assemble}", "roles`, `pipeline/draft/assemble").Replace(cells[0]), -1)
		if rooms == nil { // the face of the rooms above it
			rooms = [][]string{{"", ""}}
		}
		for _, r := range rooms {
			has[below+r[1]] = true
		}
		for _, f := range coded.FindAllStringSubmatch(cells[3], -1) {
			there := false
			for _, r := range rooms {
				_, err := os.Stat(filepath.Join("../..", below+r[1], f[1]))
				there = there || err == nil
			}
			if _, err := os.Stat(filepath.Join("../..", f[1])); !there && err != nil {
				t.Errorf("%s: there is no %s", cells[0], f[1])
			}
		}
		if !strings.Contains(cells[3], "go to") && !strings.Contains(cells[3], "below") {
			t.Errorf("%s: where to change what?", cells[0])
		}
	}
	for _, pattern := range []string{"*", "*/*", "*/*/*", "*/*/*/*"} {
		files, err := filepath.Glob(filepath.Join("../..", pattern, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			room, err := filepath.Rel("../..", filepath.Dir(f))
			if err == nil && !has[filepath.ToSlash(room)] && !strings.HasSuffix(f, "_test.go") && !strings.HasPrefix(room, ".") {
				t.Errorf("DEVELOPERS.md has no row for %s", room)
				has[filepath.ToSlash(room)] = true
			}
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
