package sewn

import (
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// NoteUnused notes numbers that nothing asks for, and in what traces another drawing points too: there the
// traced one of the right name holds, so that a slip in a name is seen nowhere else. Elsewhere a point
// may stand for its own sake.
func NoteUnused(e *drafting.Draft) {
	type place struct{ line, col int }
	used := map[place]bool{} // of all that trace a sentence, one is enough
	scopes := []*tree.Scope{e.Top}
	for _, n := range e.DrawingOrder {
		scopes = append(scopes, e.Drawings[n].Scope)
	}
	for _, sc := range scopes {
		for _, d := range sc.Definitions {
			used[place{d.Line, d.Column}] = used[place{d.Line, d.Column}] || d.Used
		}
	}
	measured := map[*sentence.Sentence]bool{}
	for _, m := range e.Measures {
		measured[m.Sentence] = true
	}
	for _, sc := range scopes {
		traced := traces(e, sc)
		for _, n := range sc.Order {
			d := sc.Definitions[n]
			at := place{d.Line, d.Column}
			if d.Sentence.File != e.Document.Name || d.Kind == tree.EdgeKind || d.Kind == tree.PointKind && !traced || measured[d.Sentence] || used[at] {
				continue
			}
			used[at] = true // it is said once
			mend := "take it out, or look where it should stand"
			if names := sc.Names(d.Kind); len(n) > 3 && e.MayCompare(len(names)) {
				others := slices.DeleteFunc(slices.Clone(names), func(k string) bool { return k == n })
				if m := sentence.Nearest(n, others); strings.HasPrefix(m, "did") {
					mend = m
				}
			}
			e.NoteAt(d.Line, d.Column, pattern.RuleLeftOut, pattern.Note, sentence.Quote(n)+" is told, and nothing uses it", mend)
		}
	}
}

// traces tells whether a drawing copies another's sentences.
func traces(e *drafting.Draft, sc *tree.Scope) bool {
	at := 0
	if d := e.Drawings[sc.Name]; d != nil {
		at = d.At.Line
	}
	for _, d := range sc.Definitions {
		if d.Line < at || d.Sentence.File != e.Document.Name {
			return true
		}
	}
	return false
}
