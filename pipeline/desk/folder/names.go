// Package folder holds the measured drafts or the measure cards of one folder, by their names. It takes a name, a text and
// the version that somebody began from, and gives what lies there, saves it where nobody else did meanwhile, and keeps what
// was replaced as older versions.
package folder

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// plain is what a draft or a card may be called: one name of a folder, never a path nor a hidden file.
var plain = regexp.MustCompile(`^[\p{L}\p{Nd}][\p{L}\p{M}\p{Nd} _'’-]{0,79}$`)

// IsName tells whether a draft or a card may be called so.
func IsName(name string) bool { return plain.MatchString(name) }

// File is where a draft or a card of that name lies.
func File(dir, name string) (string, error) {
	if !IsName(name) {
		return "", fmt.Errorf("%q is no name here: letters, digits, spaces, apostrophes, - and _, at most 80, and the first a letter or digit", name)
	}
	return filepath.Join(dir, name+".yaml"), nil
}

// Names lists the YAML files of a folder without their ending; tickets are left out.
func Names(dir string) (names []string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // not made yet
	}
	for _, e := range entries {
		name, is := strings.CutSuffix(e.Name(), ".yaml")
		if is && e.Type().IsRegular() && IsName(name) && name != "measured-draft" {
			names = append(names, name)
		}
	}
	return names
}

// Free is a name that is not taken.
func Free(taken []string, name string) string {
	out := name
	for n := 2; slices.Contains(taken, out); n++ {
		out = fmt.Sprintf("%s-%d", name, n)
	}
	return out
}
