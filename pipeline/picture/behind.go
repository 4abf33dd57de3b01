package picture

import (
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Behind gives a pattern with the pieces of another drawn pale behind its own of the same name, aligned at a lettered
// point. Where upon is "", or either piece lacks the letter, the drafts' own coordinates count.
func Behind(now, was *pattern.Pattern, upon string) *pattern.Pattern {
	out := *now
	out.Pieces = slices.Clone(now.Pieces)
	for i := range out.Pieces {
		p := &out.Pieces[i]
		k := slices.IndexFunc(was.Pieces, func(o pattern.Piece) bool { return o.Name == p.Name })
		if k < 0 {
			continue
		}
		o := &was.Pieces[k]
		shift := geom.Identity
		if a, b := letterOf(p, upon), letterOf(o, upon); a != nil && b != nil {
			shift.E, shift.F = a[0]-b[0], a[1]-b[1]
		}
		p.Marks = slices.Clone(p.Marks)
		for _, l := range append(slices.Clone(o.Sew), cutOf(o)...) {
			p.Marks = append(p.Marks, pattern.Mark{Role: pattern.Role(look.Before), Path: l.Apply(shift)})
		}
	}
	return &out
}

func cutOf(p *pattern.Piece) []geom.Path {
	if p.Cut == nil || len(p.Sew) > 0 { // one line is enough
		return nil
	}
	return []geom.Path{*p.Cut}
}

// Lettered reports whether a piece has a point of that letter.
func Lettered(p *pattern.Pattern, letter string) bool {
	return slices.ContainsFunc(p.Pieces, func(o pattern.Piece) bool { return letterOf(&o, letter) != nil })
}

func letterOf(p *pattern.Piece, letter string) *orb.Point {
	for i := range p.Points {
		if p.Points[i].Text == letter {
			return &p.Points[i].At
		}
	}
	return nil
}
