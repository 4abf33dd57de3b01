package folder

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/devices/needs"
)

// TestSave: a file that changed since it was read is not overwritten, and replaced texts are kept in .versions, at
// most fifty.
func TestSave(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	read := func() string {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	if err := Save(file, []byte("0"), ""); err != nil || read() != "0" {
		t.Fatal(err)
	}
	if err := Create(file, []byte("x")); err == nil || read() != "0" {
		t.Errorf("a new draft took the place of one that is there (%v)", err)
	}
	if err := Save(file, []byte("mine"), VersionOf([]byte("what a page began from"))); !errors.Is(err, ErrChanged) || read() != "0" {
		t.Errorf("saved over somebody else's: %v", err)
	}
	if err := Save(file, []byte("mine"), ""); !errors.Is(err, ErrChanged) || read() != "0" {
		t.Errorf("saved over a file that came meanwhile: %v", err)
	}
	for n := range 60 {
		if err := Save(file, fmt.Append(nil, n+1), VersionOf([]byte(read()))); err != nil {
			t.Fatal(err)
		}
	}
	old, err := filepath.Glob(filepath.Join(dir, ".versions", "smock *.yaml"))
	if err != nil || len(old) != Most || read() != "60" {
		t.Fatalf("%d old versions, the file holds %s: %v", len(old), read(), err)
	}
	last, err := os.ReadFile(old[len(old)-1])
	if err != nil || string(last) != "59" {
		t.Errorf("the newest old version holds %s: %v", last, err)
	}
}

// TestPruneOwn: the oldest versions of a draft are removed when there are too many, but none of a draft whose name is
// its name with " 2".
func TestPruneOwn(t *testing.T) {
	dir := t.TempDir()
	versions := filepath.Join(dir, ".versions")
	if err := os.Mkdir(versions, 0o700); err != nil {
		t.Fatal(err)
	}
	for n := range 60 {
		for _, name := range []string{"smock", "smock 2"} {
			if err := os.WriteFile(filepath.Join(versions, fmt.Sprintf("%s 20261003-1010%02d.000.yaml", name, n)), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := prune(filepath.Join(dir, "smock.yaml")); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]int{"smock": Most, "smock 2": 60} {
		if all, err := Versions(filepath.Join(dir, name+".yaml")); err != nil || len(all) != want || all[0].ID != "20261003-101059.000" {
			t.Errorf("of %q there are %d versions, want %d: %v", name, len(all), want, err)
		}
	}
}

// TestSaveAtOnce: of pages that save at the same time one succeeds, and the others are told.
func TestSaveAtOnce(t *testing.T) {
	file := filepath.Join(t.TempDir(), "smock.yaml")
	if err := Create(file, []byte("0")); err != nil {
		t.Fatal(err)
	}
	told := make(chan error, 20)
	for n := range cap(told) {
		go func() { told <- Save(file, fmt.Append(nil, "by page ", n), VersionOf([]byte("0"))) }()
	}
	won := 0
	for range cap(told) {
		if err := <-told; err == nil {
			won++
		} else if !errors.Is(err, ErrChanged) {
			t.Error(err)
		}
	}
	if won != 1 {
		t.Errorf("%d pages were told that they saved", won)
	}
}

// TestLinks: symbolic links in the folder are refused.
func TestLinks(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(t.TempDir(), "other.yaml")
	file := filepath.Join(dir, "link.yaml")
	if err := errors.Join(os.WriteFile(out, []byte("theirs"), 0o600), os.Symlink(out, file)); err != nil {
		t.Fatal(err)
	}
	if text, err := Read(file); err == nil {
		t.Errorf("reads %s", text)
	}
	if err := Save(file, []byte("mine"), VersionOf([]byte("theirs"))); err == nil {
		t.Error("saves over a link")
	}
}

// TestLinkedVersions: a link in place of .versions is not followed, and nothing is overwritten then.
func TestLinkedVersions(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	if err := os.WriteFile(file, []byte("a: 1"), 0o600); err != nil {
		t.Fatal(err)
	}
	needs.Link(t, elsewhere, filepath.Join(dir, ".versions"))
	if err := Save(file, []byte("a: 2"), VersionOf([]byte("a: 1"))); err == nil {
		t.Error("it is followed")
	}
	if entries, err := os.ReadDir(elsewhere); err != nil || len(entries) != 0 {
		t.Errorf("%v, %v", entries, err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "a: 1" {
		t.Errorf("%s, %v", text, err)
	}
}
