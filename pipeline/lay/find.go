package lay

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// narrow is a piece that needs a wider strip.
type narrow struct {
	unit  unit
	least float64
	strip *strip
}

func (e *narrow) Error() string {
	return fmt.Sprintf("it needs %v mm across", geom.Rounded(e.least, 1))
}

// unfit is a piece that does not fit on the material in any turn.
type unfit struct {
	unit unit
	why  string
}

func (e *unfit) Error() string { return e.why }

// beyond finds the pieces that do not fit in any turn on the material opened out.
func (s *seeker) beyond() []pattern.Finding {
	across, along := s.m.Width-2*s.m.Side(), math.Inf(1)
	if s.m.Length > 0 {
		along = s.m.Length - 2*s.m.Margin
	}
	var out []pattern.Finding
	for i := range s.ready {
		r := &s.ready[i]
		if !r.Outline.Closed || len(r.Outline.Points) < 3 {
			f := pattern.NewFinding(pattern.RuleNotPrepared, "the piece has no outline that could be laid", "draw its cut line closed")
			f.Piece, f.Index = r.Name, r.Index
			out = append(out, f)
			continue
		}
		u := s.whole(i)
		fits, least := false, math.Inf(1)
		for _, t := range u.turns {
			b := geom.Path{Points: u.outline}.Apply(geom.Rotate(t * math.Pi / 180)).Bound()
			long, wide := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
			fits = fits || long <= along+rounding && wide <= across+rounding
			least = math.Min(least, wide)
		}
		if !fits {
			out = append(out, s.tooWide(r, u, least, along, across))
		}
	}
	return out
}

func (s *seeker) tooWide(r *pattern.Ready, u unit, least, along, across float64) pattern.Finding {
	b := geom.Path{Points: u.outline}.Apply(geom.Rotate(u.turns[0] * math.Pi / 180)).Bound()
	long, wide := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	in := s.opt.Unit
	room := Across(math.Max(0, across), in) + " across"
	if !math.IsInf(along, 1) {
		room += " and " + Across(along, in) + " along"
	}
	how := "in any turn"
	if s.m.Cloth && r.Grain != nil {
		how = "along its grain"
	}
	mend := "take a longer material, or split the piece at a seam"
	if least > across {
		mend = fmt.Sprintf("take a material at least %s wide, or split the piece at a seam", Laid(least+2*s.m.Side(), in))
	}
	f := pattern.NewFinding(pattern.RuleTooWide,
		fmt.Sprintf("the piece is %s long and %s wide and does not fit %s: the material takes %s", Across(long, in), Across(wide, in), how, room), mend)
	f.Piece, f.Index = r.Name, r.Index
	f.At = pattern.Place(r.Outline.Bound().Center())
	return f
}

// refused says why cloth cannot be laid in the requested way.
func (s *seeker) refused(fold pattern.Folding, err error) pattern.Finding {
	var tight *narrow
	var bad *unfit
	switch {
	case errors.As(err, &tight):
		r := &s.ready[tight.unit.ready[0]]
		f := pattern.NewFinding(pattern.RuleTooWide, fmt.Sprintf("the piece needs %s across, and cloth %s has %s there", Laid(tight.least, s.opt.Unit), fold.Words(), Across(tight.strip.width, s.opt.Unit)),
			fmt.Sprintf("fold the cloth otherwise, or not at all; or take one at least %s wide", Laid(s.unfolded(fold, tight.least), s.opt.Unit)))
		f.Piece, f.Index = r.Name, r.Index
		return f
	case errors.As(err, &bad):
		r := &s.ready[bad.unit.ready[0]]
		f := pattern.NewFinding(pattern.RuleNotPrepared, "the piece cannot be laid: "+bad.why, "look at its cut line")
		f.Piece, f.Index = r.Name, r.Index
		return f
	}
	return pattern.NewFinding(pattern.RuleTooWide, err.Error(), "lay the cloth in one layer, or leave the fold to be found")
}

// unfolded is the least width of cloth, mm, of which a layer, folded so, takes a piece of width least: see sections.
func (s *seeker) unfolded(fold pattern.Folding, least float64) float64 {
	if fold == pattern.FoldTwo {
		return 4 * (least + s.m.Gap/2 + math.Max(s.m.Side(), s.m.Gap/2))
	}
	return 2 * (least + s.m.Gap/2 + s.m.Side())
}

// tooLong reports by how much a lay is longer than the material or the machine's bed, and which pieces fit on it
// nevertheless.
func tooLong(ready []pattern.Ready, l pattern.Lay, opt Options) pattern.Finding {
	all, on := map[string]int{}, map[string]int{}
	var names []string
	for _, p := range l.Placements {
		name := ready[p.Ready].Name
		if all[name]++; all[name] == 1 {
			names = append(names, name)
		}
		if reach(&ready[p.Ready]).Apply(p.Map).Bound().Max[0] <= l.Material.Length-l.Material.Margin+rounding {
			on[name]++
		}
	}
	names = slices.DeleteFunc(names, func(n string) bool { return on[n] < all[n] })
	mend, longer := "send fewer pieces at a time", ", or take a longer material"
	if len(names) > 0 {
		mend = fmt.Sprintf("send fewer pieces at a time: %s fit together, so say %s in a ticket, and the others in a second one", strings.Join(names, ", "), pattern.PiecesLine(names))
		longer = "; or take a longer material"
	}
	said := "the material is %s too short: the pieces take %s of length, and it has %s"
	if opt.Bed {
		said, longer = "the lay is %s longer than the bed: the pieces take %s of length, and the bed has %s", ""
	}
	return pattern.NewFinding(pattern.RuleTooShort, fmt.Sprintf(said,
		Laid(l.LengthUsed-l.Material.Length, opt.Unit), Laid(l.LengthUsed, opt.Unit), Across(l.Material.Length, opt.Unit)), mend+longer)
}
