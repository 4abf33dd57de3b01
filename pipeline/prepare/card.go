package prepare

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// heading is what every piece bears: its name; the style and whose it is; how often it is cut and of what;
// the allowance; which piece of the job it is.
func (m *maker) heading(r *pattern.Ready, sh sheet) []string {
	cut := m.piece.CutWords(r.Copies, m.hands)
	if m.piece.FoldLine() != nil && sh.fold == nil {
		cut += ", drawn whole"
	}
	job := ""
	if m.opt.Job > 0 {
		job = fmt.Sprintf("job %d", m.opt.Job)
	}
	style := m.p.Style
	if strings.EqualFold(strings.TrimSpace(style), strings.TrimSpace(r.Name)) {
		style = "" // a draft of one piece is often called as that is
	}
	lines := []string{
		r.Name,
		listed(style, m.p.Whose(r.Size)),
		listed(cut, r.Material),
	}
	lines = append(lines, broken(sh.width)...)
	no, of := numberIn(m.only, m.before+r.Copy, m.all)
	lines = append(lines, listed(fmt.Sprintf("piece %d of %d", no, of), job))
	return slices.DeleteFunc(lines, func(l string) bool { return strings.TrimSpace(l) == "" })
}

// longLine is from how many letters on a line is broken in two at a comma.
const longLine = 52

func broken(line string) []string {
	if len(line) <= longLine {
		return []string{line}
	}
	parts := strings.SplitAfter(line, ", ")
	first := parts[0]
	for i, p := range parts[1:] {
		if len(first)+len(p) > len(line)/2+6 {
			return []string{strings.TrimSuffix(first, ", "), strings.Join(parts[i+1:], "")}
		}
		first += p
	}
	return []string{line}
}

// listed joins what is not empty with commas.
func listed(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return strings.TrimSpace(w) == "" }), ", ")
}

// card is what is written on the ticket laid on a piece that nobody letters, with the marks to be
// made by hand.
func (m *maker) card(r *pattern.Ready, sh sheet) []string {
	lines := m.heading(r, sh)
	said := ", " + strings.Join(lines, ", ") + ", "
	for _, l := range m.piece.Card {
		if !slices.ContainsFunc([]string{"", "for ", "size "}, func(whose string) bool { return strings.Contains(said, ", "+whose+l+", ") }) {
			lines = append(lines, l)
		}
	}
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
		words[i] = pattern.Count(t.count, t.what)
	}
	return strings.Join(words, ", ")
}
