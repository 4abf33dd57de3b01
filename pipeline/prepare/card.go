package prepare

import (
	"fmt"
	"strings"

	"tracewheel/pipeline/pattern"
)

// heading is what every piece bears: its name and size, the style, which copy it is, the material
// and the allowance.
func (m *maker) heading(r *pattern.Ready, sh sheet) []string {
	name := r.Name
	if r.Size != "" {
		name += "  size " + r.Size
	}
	copies := fmt.Sprintf("copy %d of %d", r.Copy, r.Copies)
	if r.Mirrored {
		copies += ", mirrored"
	}
	lines := []string{name, m.p.Style, copies, r.Material, sh.width}
	kept := lines[:0]
	for _, l := range lines {
		if strings.TrimSpace(l) != "" {
			kept = append(kept, l)
		}
	}
	return kept
}

// card is what is written on the ticket laid on a piece that nobody letters, with the marks to be
// made by hand.
func (m *maker) card(r *pattern.Ready, sh sheet) []string {
	lines := append(m.heading(r, sh), m.piece.Card...)
	if m.piece.Note != "" {
		lines = append(lines, m.piece.Note)
	}
	if left := tallies(sh.left); left != "" {
		lines = append(lines, "mark by hand: "+left)
		if r.Copy == 1 {
			m.note(pattern.RuleMarksNotMade, "this device has no pen and does not make "+left,
				"lay the card on the piece and mark by hand, or send the piece to a plotter too")
		}
	}
	return lines
}

func tallies(left []tally) string {
	words := make([]string, len(left))
	for i, t := range left {
		words[i] = "1 " + t.what
		if t.count > 1 {
			words[i] = fmt.Sprintf("%d %s", t.count, plural(t.what))
		}
	}
	return strings.Join(words, ", ")
}

// plural is the word for several: notches, slits.
func plural(what string) string {
	if strings.HasSuffix(what, "ch") || strings.HasSuffix(what, "s") {
		return what + "es"
	}
	return what + "s"
}
