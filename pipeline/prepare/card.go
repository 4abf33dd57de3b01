package prepare

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// heading is the text on every piece: its name; the style and the wearer; how often it is cut and of what; the
// allowance; its number among the job's pieces.
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
		style = "" // a draft of one piece often has the piece's name
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

// longLine is the number of letters from which a line is broken at a comma.
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

// listed joins the texts that are not empty with commas.
func listed(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return strings.TrimSpace(w) == "" }), ", ")
}

// card is the text of the ticket for a piece without letters, with the marks to be made by hand.
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
