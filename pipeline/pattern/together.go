package pattern

import (
	"cmp"
	"path/filepath"
	"slices"
	"strings"
)

// Together holds the pieces of several drafts as one, in the order of the drafts; a single one stays as it is. The
// findings of each are its own: of a piece they tell by its place among all, see First.
func Together(drafts []*Pattern) *Pattern {
	if len(drafts) == 1 {
		return drafts[0]
	}
	out := &Pattern{Drafts: drafts, Unit: drafts[0].Unit, Format: drafts[0].Format}
	var styles []string
	for _, d := range drafts {
		if s := d.Called(); !slices.Contains(styles, s) {
			styles = append(styles, s)
		}
		if d.ReadIn("") != drafts[0].ReadIn("") {
			out.Unit = ""
		}
		if d.Format != out.Format {
			out.Format = ""
		}
		out.Pieces, out.Cloths = append(out.Pieces, d.Pieces...), append(out.Cloths, d.Cloths...)
	}
	out.Style = strings.Join(styles, " and ")
	return out
}

// Called is what a draft is called: its style, else its file's name.
func (p *Pattern) Called() string {
	return cmp.Or(p.Style, strings.TrimSuffix(filepath.Base(p.Source), filepath.Ext(p.Source)))
}

// DraftOf is the draft that a piece is of, by its place in Pieces.
func (p *Pattern) DraftOf(piece int) *Pattern {
	if d, _ := among(p.Drafts, piece); d != nil {
		return d
	}
	return p
}

// First is the place in Pieces of the first piece of a draft, counted from 0.
func (p *Pattern) First(draft int) (n int) {
	for i := range min(draft, len(p.Drafts)) {
		n += len(p.Drafts[i].Pieces)
	}
	return n
}

// among is the draft that a piece is of, nil where it is of none, and the place of that draft's first piece.
func among(drafts []*Pattern, piece int) (of *Pattern, first int) {
	for _, d := range drafts {
		if piece >= first && piece < first+len(d.Pieces) {
			return d, first
		}
		first += len(d.Pieces)
	}
	return nil, 0
}
