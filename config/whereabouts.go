package config

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// Whereabouts is as much of a faulty workroom file as leads to its folders, whatever else is wrong in
// it: somebody who edits the file must not take the wish to stop from those who stand beside a machine.
// Nothing else of the workroom is filled in.
func Whereabouts(file string) *Workroom {
	w := &Workroom{Folders: defaults().Folders, File: file, Dir: filepath.Dir(file)}
	if dir, err := filepath.Abs(w.Dir); err == nil {
		w.Dir = dir
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return w
	}
	var some struct {
		Folders struct {
			Store    string `yaml:"store"`
			Returned string `yaml:"returned"`
		} `yaml:"folders"`
	}
	if root, err := Tree(data); err != nil || root.Load(&some) != nil {
		if m := storeLine.FindSubmatch(data); m != nil {
			some.Folders.Store = strings.TrimSpace(strings.Trim(strings.TrimSpace(string(m[1])), `"'`))
		}
	}
	if some.Folders.Returned != "" {
		w.Folders.Returned = some.Folders.Returned
	}
	if some.Folders.Store != "" {
		w.Folders.Store = some.Folders.Store
	}
	return w
}

// storeLine finds the store in a file that is no YAML any more.
var storeLine = regexp.MustCompile(`(?m)^[^#\n]*\bstore:[ \t]+([^#,}\n]+)`)
