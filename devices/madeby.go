package devices

import (
	"maps"
	"reflect"
	"slices"
	"strings"
)

// Itself is the name by which Program.MadeBy holds the version of this program; all others are sections of the
// workroom file.
const Itself = "tracewheel"

// Changed says what has changed since a program was made, now being the one that its draft gives now.
func (p Program) Changed(now Program) string {
	const unknown = "the workroom file, what was measured of the device, or tracewheel itself has changed since"
	if p.MadeBy == nil || now.MadeBy == nil {
		return unknown
	}
	var sections, said []string
	all := maps.Clone(p.MadeBy)
	maps.Copy(all, now.MadeBy)
	for _, what := range slices.Sorted(maps.Keys(all)) {
		if what != Itself && p.MadeBy[what] != now.MadeBy[what] {
			sections = append(sections, what)
		}
	}
	if len(sections) > 0 {
		said = append(said, "the workroom file has changed since ("+strings.Join(sections, ", ")+")")
	}
	if p.Setting != nil && now.Setting != nil && !reflect.DeepEqual(p.Setting, now.Setting) {
		said = append(said, "what was measured of the device has changed since")
	}
	if p.MadeBy[Itself] != now.MadeBy[Itself] {
		said = append(said, "tracewheel itself is another version since")
	}
	if len(said) == 0 {
		return unknown
	}
	return strings.Join(said, ", and ")
}
