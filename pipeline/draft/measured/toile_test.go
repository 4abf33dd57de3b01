package measured

import (
	"slices"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/pattern"
)

// A toile has the main pieces alone, 25 mm beside every edge but the fold, and the lines of the body to see on it.
func TestToile(t *testing.T) {
	for file, want := range map[string]struct{ pieces, lines []string }{
		"bodice-block.yaml":   {[]string{"front", "back", "sleeve"}, []string{"bust line", "waist line", "centre line"}},
		"straight-skirt.yaml": {[]string{"front", "back"}, []string{"hip line", "centre line"}}, // without its band
	} {
		p, err := Read(samples.Read(file), file, Options{Toile: true})
		if err != nil {
			t.Fatal(err)
		}
		var names, lines []string
		for _, pc := range p.Pieces {
			names = append(names, pc.Name)
			for _, m := range pc.Marks {
				lines = append(lines, m.Label)
			}
			for _, e := range pc.Edges {
				if !e.Fold && (e.Allowance == nil || *e.Allowance != (pattern.Width{From: 25, To: 25})) {
					t.Errorf("%s: the %s of %s has %v", file, e.Name, pc.Name, e.Allowance)
				}
			}
			if !slices.Contains(pc.Card, "toile") {
				t.Errorf("%s: %s does not say that it is a toile", file, pc.Name)
			}
		}
		for _, c := range p.Corners {
			if c.Index >= len(p.Pieces) {
				t.Errorf("%s: %s is a corner of no piece", file, c.What)
			}
		}
		if !slices.Equal(names, want.pieces) {
			t.Errorf("%s: pieces %v", file, names)
		}
		for _, l := range want.lines {
			if !slices.Contains(lines, l) {
				t.Errorf("%s bears no %s: %v", file, l, lines)
			}
		}
		for _, s := range p.Seams {
			for _, r := range append(slices.Clone(s.A), s.B...) {
				if !slices.Contains(names, r.Piece) {
					t.Errorf("%s: a seam names %s, which is left out", file, r.Piece)
				}
			}
		}
	}
}
