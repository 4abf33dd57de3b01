package prepare

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// choose gives the indexes of the pieces that the ticket asks for: in the order of its sizes, then of the draft.
// Pieces without a size belong to every size and are made once.
func choose(p *pattern.Pattern, t pattern.Ticket) ([]int, []pattern.Finding, error) {
	if len(p.Pieces) == 0 {
		return nil, nil, fmt.Errorf("the draft has no pieces")
	}
	if t.Copies < 0 {
		return nil, nil, fmt.Errorf("copies: %d in the ticket; write how many of the whole style are wanted", t.Copies)
	}
	sizes, names := sizesOf(p), namesOf(p)
	if err := known("size", t.Sizes, sizes); err != nil {
		return nil, nil, err
	}
	if err := known("piece", t.Pieces, names); err != nil {
		return nil, nil, err
	}
	wanted, notes := t.Sizes, []pattern.Finding(nil)
	if len(wanted) == 0 {
		wanted = sizes
		if len(sizes) > 1 {
			notes = append(notes, pattern.NewFinding(pattern.RuleEverySize,
				fmt.Sprintf("the draft has the sizes %s, and every one is made", list(sizes)),
				"name the sizes wanted in a ticket (sizes: ["+sizes[0]+"])"))
		}
	}
	var chosen []int
	add := func(size string) {
		for i := range p.Pieces {
			pc := &p.Pieces[i]
			if pc.Size == size && (len(t.Pieces) == 0 || holds(t.Pieces, pc.Name)) && !slices.Contains(chosen, i) {
				chosen = append(chosen, i)
			}
		}
	}
	for _, size := range wanted {
		add(matching(sizes, size))
	}
	add("")
	slices.SortStableFunc(chosen, func(a, b int) int {
		return sizeRank(wanted, p.Pieces[a].Size) - sizeRank(wanted, p.Pieces[b].Size)
	})
	if len(chosen) == 0 {
		return nil, nil, fmt.Errorf("no piece of %s is drawn in size %s", list(t.Pieces), list(t.Sizes))
	}
	return chosen, notes, nil
}

func sizeRank(wanted []string, size string) int {
	for i, w := range wanted {
		if strings.EqualFold(w, size) {
			return i
		}
	}
	return 0 // pieces without a size come with the first
}

func sizesOf(p *pattern.Pattern) []string {
	var out []string
	for i := range p.Pieces {
		if s := p.Pieces[i].Size; s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func namesOf(p *pattern.Pattern) []string {
	var out []string
	for i := range p.Pieces {
		if n := p.Pieces[i].Name; !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// known refuses names that the draft does not have, all at once, and lists those it has.
func known(what string, wanted, have []string) error {
	var lost []string
	for _, w := range wanted {
		if matching(have, w) == "" {
			lost = append(lost, w)
		}
	}
	switch {
	case len(lost) == 0:
		return nil
	case len(have) == 0:
		return fmt.Errorf("the ticket wants %s %s, and the draft names no %ss", what, list(lost), what)
	}
	return fmt.Errorf("the ticket wants %s %s, which the draft does not have; it has %s", what, list(lost), list(have))
}

// matching finds a name in upper or lower case, since tickets are written by hand.
func matching(have []string, name string) string {
	for _, h := range have {
		if h == name {
			return h
		}
	}
	for _, h := range have {
		if strings.EqualFold(strings.TrimSpace(h), strings.TrimSpace(name)) {
			return h
		}
	}
	return ""
}

func holds(names []string, name string) bool { return matching(names, name) != "" }

// list quotes names and joins them by commas.
func list(names []string) string {
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = fmt.Sprintf("%q", n)
	}
	return strings.Join(quoted, ", ")
}
