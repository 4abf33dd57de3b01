// Package folder keeps the measured drafts or the measure cards of one folder by name. It takes a name, a text and the
// version that a page read; it gives the present text, saves where nobody else did meanwhile, and keeps replaced texts
// as older versions.
package folder

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// plain is the form of a name: a file name, never a path or a hidden file. ownEnding is an ending that a draft's name
// does not have, because it is removed or makes the file a ticket.
var (
	plain     = regexp.MustCompile(`^[\p{L}\p{Nd}][\p{L}\p{M}\p{Nd} ._'’-]{0,79}$`)
	ownEnding = regexp.MustCompile(`(?i)\.(yaml|ticket(\.yml)?)$`)
)

// otherEndings are endings of files that are not measured drafts: a name with one means such a file.
var otherEndings = []string{".svg", ".svgz", ".dxf", ".pdf", ".txt", ".json", ".doc", ".docx", ".odt", ".md", ".png", ".jpg", ".jpeg", ".plt", ".hpgl", ".gcode", ".nc", ".zip"}

// IsName reports whether a draft or a card may have a name. A draft's name is its file without .yaml; for .yml it is
// the whole file name.
func IsName(name string) bool { return plain.MatchString(name) && !ownEnding.MatchString(name) }

// File is the file of a draft or a card.
func File(dir, name string) (string, error) {
	if !IsName(name) {
		return "", fmt.Errorf("%q is no name here: letters, digits, spaces, dots, apostrophes, - and _, at most 80, the first a letter or digit, and no .yaml or .ticket at the end", name)
	}
	if strings.HasSuffix(name, ".yml") {
		return filepath.Join(dir, name), nil
	}
	return filepath.Join(dir, name+".yaml"), nil
}

// Named is the name that a person means, who may have written the file's ending too.
func Named(said string) (string, error) {
	name := strings.TrimSpace(said)
	ext := filepath.Ext(name)
	switch low := strings.ToLower(ext); {
	case low == ".yaml":
		name = strings.TrimSuffix(name, ext)
	case low == ".yml":
		name = strings.TrimSuffix(name, ext) + low
	case slices.Contains(otherEndings, low):
		return "", fmt.Errorf("%q is no name of a measured draft, which ends in .yaml or .yml: leave %s away", said, ext)
	}
	_, err := File("", name)
	return name, err
}

// At is the folder and name of a draft for a file that a person names, with .yaml or .yml or without. The error says
// what to do.
func At(file string) (dir, name string, err error) {
	dir, base := filepath.Split(file)
	name = base
	switch ext := filepath.Ext(base); {
	case ext == ".yaml":
		name = strings.TrimSuffix(base, ext)
	case ext == ".yml":
	case isFile(file + ".yaml"):
	case isFile(file + ".yml"):
		name += ".yml"
	case isFile(file):
		return "", "", fmt.Errorf("%s is not opened: the desk opens measured drafts, whose names end in .yaml or .yml. If it is one, give it that ending; `tracewheel check` looks at drafts of other forms, and `tracewheel desk` alone begins a new one", base)
	}
	path, err := File(dir, name)
	if err != nil {
		return "", "", fmt.Errorf("%w; give the file such a name", err)
	}
	if !isFile(path) {
		return "", "", fmt.Errorf("there is no draft %s; `tracewheel desk` alone begins a new one", path)
	}
	return dir, name, nil
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// Names lists the drafts of a folder by name, without tickets.
func Names(dir string) (names []string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // it does not exist yet
	}
	for _, e := range entries {
		name, is := strings.CutSuffix(e.Name(), ".yaml")
		if (is || strings.HasSuffix(name, ".yml")) && e.Type().IsRegular() && IsName(name) && name != "measured-draft" {
			names = append(names, name)
		}
	}
	return names
}

// Cards lists the cards of a folder by name, which has no ending.
func Cards(dir string) (names []string) {
	for _, name := range Names(dir) {
		names = append(names, pattern.TrimYAML(name))
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// Free is a name that is not taken.
func Free(taken []string, name string) string {
	out := name
	for n := 2; slices.Contains(taken, out); n++ {
		out = fmt.Sprintf("%s-%d", name, n)
	}
	return out
}
