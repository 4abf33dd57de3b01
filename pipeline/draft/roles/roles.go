// Package roles knows which words make a line a cut line, a sew line, a notch: whole words that a
// drafter writes into a layer's name, a class, an id or a label, and the layer numbers of the
// sewn-products interchange standard (ASTM D6673).
package roles

import (
	"strings"
	"unicode"

	"tracewheel/pipeline/pattern"
)

// words is the whole list. Words are compared entire, never by their beginning: "cutout" is no cut
// line and "cutter" is nothing. Plurals stand here where a layer is naturally named by one.
var words = map[string]pattern.Role{
	"cut": pattern.RoleCut, "cutline": pattern.RoleCut, "outline": pattern.RoleCut, "edge": pattern.RoleCut,
	"boundary": pattern.RoleCut, "outlines": pattern.RoleCut, "edges": pattern.RoleCut, "cutlines": pattern.RoleCut,

	"sew": pattern.RoleSew, "seam": pattern.RoleSew, "stitch": pattern.RoleSew, "sewline": pattern.RoleSew,
	"seams": pattern.RoleSew, "sewlines": pattern.RoleSew,

	"notch": pattern.RoleNotch, "nick": pattern.RoleNotch, "notches": pattern.RoleNotch, "nicks": pattern.RoleNotch,

	"grain": pattern.RoleGrain, "grainline": pattern.RoleGrain, "straight": pattern.RoleGrain,

	"fold": pattern.RoleFold, "mirror": pattern.RoleFold,

	"mark": pattern.RoleMark, "internal": pattern.RoleMark, "placement": pattern.RoleMark, "dart": pattern.RoleMark,
	"stitchmark": pattern.RoleMark, "marks": pattern.RoleMark, "darts": pattern.RoleMark, "stitchmarks": pattern.RoleMark,

	"cutout": pattern.RoleCutout, "hole": pattern.RoleCutout, "slash": pattern.RoleCutout,
	"cutouts": pattern.RoleCutout, "holes": pattern.RoleCutout,

	"drill": pattern.RoleDrill, "punch": pattern.RoleDrill, "awl": pattern.RoleDrill, "drills": pattern.RoleDrill,

	"stripe": pattern.RoleStripe, "stripes": pattern.RoleStripe, "plaid": pattern.RolePlaid,

	"text": pattern.RoleText, "label": pattern.RoleText, "note": pattern.RoleText,
	"texts": pattern.RoleText, "labels": pattern.RoleText, "notes": pattern.RoleText,

	"check": pattern.RoleCheck, "gauge": pattern.RoleCheck,

	"quality": pattern.RoleQuality,

	"ignore": pattern.RoleIgnore, "frame": pattern.RoleIgnore, "guide": pattern.RoleIgnore,
	"construction": pattern.RoleIgnore, "guides": pattern.RoleIgnore,
}

// alone lists the words that name a line only in a name of their own ("Frame 1", "check square"):
// beside other words they are more often the name of a piece, of its cloth or of a group that a
// drawing program made (a slash pocket, check-lining, a straight skirt).
var alone = set("straight", "slash", "label", "labels", "note", "notes", "dart", "darts", "stripe", "stripes", "plaid",
	"check", "gauge", "quality", "frame", "guide", "guides", "construction")

// fillers are words that leave such a name its own.
var fillers = set("line", "lines", "layer", "square", "mark", "marks", "point", "points", "leg", "legs", "path", "paths", "rect", "role", "group", "g", "copy",
	"the", "of", "grain", "test", "page", "sheet")

func set(words ...string) map[string]bool {
	m := map[string]bool{}
	for _, w := range words {
		m[w] = true
	}
	return m
}

// Find looks for a role in a name such as "Cut 2", "SEW-line" or "notch_03". The name is split at
// everything but letters, so that numbers and letter case do not matter; "cut out" is read as
// "cutout". ok is false where no word names a role. conflict is true where two words name different
// roles ("cut and sew"): such a name says nothing, and that should be told. Words that are also names
// of other things count only where nothing else stands beside them.
func Find(name string) (role pattern.Role, ok bool, conflict bool) {
	fields := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
	own := true
	for _, f := range fields {
		_, known := words[f]
		own = own && (known || fillers[f])
	}
	for i := 0; i < len(fields); i++ {
		word := fields[i]
		if word == "cut" && i+1 < len(fields) && (fields[i+1] == "out" || fields[i+1] == "outs") {
			word = "cutout"
			i++
		}
		found, known := words[word]
		switch {
		case !known || alone[word] && !own:
		case ok && found != role:
			return pattern.RoleNone, false, true
		default:
			role, ok = found, true
		}
	}
	return role, ok, false
}

// NotchKind is the form that a name with the role notch says beside it, such as NOTCH-PEN; "" where it
// says none.
func NotchKind(name string) pattern.NotchKind {
	for f := range strings.FieldsFuncSeq(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch k := pattern.NotchKind(f); k {
		case pattern.NotchNick, pattern.NotchPen, pattern.NotchV, pattern.NotchT, pattern.NotchCastle, pattern.NotchU:
			return k
		}
	}
	return ""
}

// layers are the roles of the numbered layers of the standard.
// Source: public transcriptions of the layer list of ASTM D6673.
var layers = map[int]struct {
	role  pattern.Role
	notch pattern.NotchKind
}{
	1: {role: pattern.RoleCut}, 2: {role: pattern.RoleIgnore}, 3: {role: pattern.RoleIgnore}, 5: {role: pattern.RoleIgnore},
	6: {role: pattern.RoleFold}, 7: {role: pattern.RoleGrain}, 8: {role: pattern.RoleMark}, 9: {role: pattern.RoleStripe},
	10: {role: pattern.RolePlaid}, 11: {role: pattern.RoleCutout}, 13: {role: pattern.RoleDrill}, 14: {role: pattern.RoleSew},
	15: {role: pattern.RoleText},
	4:  {pattern.RoleNotch, pattern.NotchNick}, 80: {pattern.RoleNotch, pattern.NotchT}, 81: {pattern.RoleNotch, pattern.NotchCastle},
	82: {pattern.RoleNotch, pattern.NotchCheck}, 83: {pattern.RoleNotch, pattern.NotchU},
	84: {role: pattern.RoleQuality}, 85: {role: pattern.RoleQuality}, 86: {role: pattern.RoleQuality}, 87: {role: pattern.RoleQuality},
}

// Layer is the role of a numbered layer of the standard; the notch kind is set for the notch layers
// only. Layer 4 holds slits and V notches, told apart by their width: it gives a nick. Layers that
// only check or steer the drafting (2, 3, 5) give RoleIgnore, an unknown number RoleNone.
func Layer(n int) (pattern.Role, pattern.NotchKind) {
	l, ok := layers[n]
	if !ok {
		return pattern.RoleNone, ""
	}
	return l.role, l.notch
}
