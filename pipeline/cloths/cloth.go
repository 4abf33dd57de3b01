package cloths

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"tracewheel/devices"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// takes reports whether a draft's wishes for a cloth, if any, agree with this one.
func (c *Cloth) takes(said pattern.Cloth, ok bool) bool {
	was := c.said
	return c.Name == said.Name && (!ok || !c.told ||
		agree(was.Width, said.Width) && agree(was.Selvedge, said.Selvedge) && agree(was.Nap, said.Nap) && agree(was.Fold, said.Fold) &&
			agree(was.Shrinkage, said.Shrinkage) && was.QuarterTurns == said.QuarterTurns &&
			agree(was.Length, said.Length) && agree(was.Gap, said.Gap) && agree(was.Ends, said.Ends) && agree(was.Tilt, said.Tilt) &&
			(len(was.Avoid) == 0 || len(said.Avoid) == 0 || slices.EqualFunc(was.Avoid, said.Avoid, slices.Equal)))
}

// tell adds a draft's wishes for the cloth.
func (c *Cloth) tell(said pattern.Cloth) {
	was := &c.said
	was.Width, was.Selvedge, was.Shrinkage = cmp.Or(was.Width, said.Width), cmp.Or(was.Selvedge, said.Selvedge), cmp.Or(was.Shrinkage, said.Shrinkage)
	was.Nap, was.Fold, was.QuarterTurns = cmp.Or(was.Nap, said.Nap), cmp.Or(was.Fold, said.Fold), was.QuarterTurns || said.QuarterTurns
	was.Length, was.Gap, was.Ends, was.Tilt = cmp.Or(was.Length, said.Length), cmp.Or(was.Gap, said.Gap), cmp.Or(was.Ends, said.Ends), cmp.Or(was.Tilt, said.Tilt)
	if len(was.Avoid) == 0 {
		was.Avoid = said.Avoid
	}
	c.told = true
}

// Title is a cloth's name beside the others, with its drafts where others have the same name.
func (l *Layout) Title(c *Cloth) string {
	title := c.Name
	switch {
	case c.as == "" || c.as == c.Name:
	case len(l.Cloths)+len(l.Short)+len(l.Fit) == 1:
		return c.as
	default:
		title += ", of " + c.as
	}
	for _, o := range slices.Concat(l.Cloths, l.Short, l.Fit) {
		if o == c || o.Name != c.Name {
			continue
		}
		title += " of " + strings.Join(c.Of, " and ")
		if slices.Equal(o.Of, c.Of) {
			return title + ", " + lay.Across(c.said.Width, l.Unit) + " wide"
		}
	}
	return title
}

// Cloth is the lay on one cloth.
type Cloth struct {
	Name  string
	Lay   pattern.Lay
	Shop  lay.Shop
	Price float64
	// Others are other widths with the lengths laid there, 0 where a piece is too wide; Savings are ways that take
	// less of the cloth, the greatest saving first.
	Others  []Width
	Savings []Saving
	// Rough means that the other widths were searched more briefly than the lay, and may take less.
	Rough bool
	// On is the remnant on which it is laid, 0 for none; Fits are those that would hold it, the smallest first.
	On   int64
	Fits []Remnant
	// Of are the names of the drafts with pieces on it.
	Of []string
	// said is what drafts say about it.
	said pattern.Cloth
	told bool
	// as is the workroom's material that replaces what drafts say, "" for none.
	as string
	// Usual means that nobody gave the width.
	Usual bool
	// Drawn are the pieces with everything that is drawn on them; laid are the same pieces as they are laid, with the
	// same indexes.
	Drawn, laid []pattern.Ready
	// over is the lay that is longer than the cloth at hand.
	over pattern.Lay
}

// materialOf is the material of a cloth: from the command line, then the draft, then the workroom's material of that
// name.
func (l *Layout) materialOf(c *Cloth, main bool, wish Wish) pattern.Material {
	room, paper := l.materials[c.Name], wish.Once
	known := pattern.Material{}
	if room.Width > 0 && room.Cloth {
		known = pattern.MaterialOn(c.Name, devices.Profile{}, room)
		known.Length, known.Fold = 0, pattern.Folding(room.Fold)
	}
	said := c.said
	if as, ok := l.materials[wish.Material]; ok && wish.Material != "" { // another cloth than in the drafts
		c.as = wish.Material
		room, said, known = as, pattern.Cloth{}, pattern.MaterialOn(wish.Material, devices.Profile{}, as)
		known.Length, known.Fold = 0, pattern.Folding(as.Fold)
		paper = !as.Cloth
	}
	if wish.On != 0 {
		known.Avoid, said.Avoid, said.Length = nil, nil, 0 // the flaws are those of the roll
	}
	if len(said.Avoid) > 0 {
		known.Avoid = said.Avoid
	}
	out := pattern.Material{Name: c.Name, Cloth: !paper, Length: cmp.Or(wish.Length, said.Length), Gap: cmp.Or(wish.Gap, said.Gap), Margin: wish.Margin, Turns: wish.Turns,
		Width: said.Width, Selvedge: said.Selvedge, Nap: said.Nap, Fold: said.Fold, QuarterTurns: said.QuarterTurns || known.QuarterTurns,
		Tilt: cmp.Or(said.Tilt, known.Tilt), Avoid: known.Avoid, FaceDown: known.FaceDown}
	if wish.Keeps != nil {
		out.Gap, out.Margin = wish.Keeps(c.isOf(wish))
	}
	out.Width, out.Selvedge = cmp.Or(out.Width, known.Width), cmp.Or(out.Selvedge, known.Selvedge)
	out.Nap, out.Fold = cmp.Or(out.Nap, known.Nap, pattern.NapNone), cmp.Or(out.Fold, known.Fold)
	if wish.Width > 0 && (main || out.Width == 0) {
		out.Width = wish.Width
	}
	c.Usual = out.Width == 0
	out.Width = cmp.Or(out.Width, wish.Unsaid)
	out.Nap, out.Fold = cmp.Or(wish.Nap, out.Nap), cmp.Or(wish.Fold, out.Fold)
	c.Shop = lay.ShopFor(l.Unit, cmp.Or(said.Shrinkage, room.Shrinkage/100), cmp.Or(said.Ends, room.Ends), room.Step)
	c.Price = room.Price
	return out
}

// layCloth lays one cloth and finds ways that take less.
func (l *Layout) layCloth(ctx context.Context, c *Cloth, main bool, wish Wish, share float64) {
	mat := l.materialOf(c, main, wish)
	c.chosen(&mat, wish)
	if mat.Width <= 0 {
		l.Findings = append(l.Findings, pattern.NewFinding(pattern.RuleTooWide, fmt.Sprintf("the width of the cloth %q is not given", c.Name),
			"say it with --width 150cm, or in the draft under cloth:"))
		return
	}
	opt := lay.Options{Steps: wish.Steps, Time: time.Duration(share * float64(wish.Time)), Seed: wish.Seed, Unit: l.Unit, Busy: wish.Busy}
	if wish.Progress != nil {
		opt.Progress = func(length float64) { wish.Progress(c.Name, lay.Laid(length, l.Unit)) }
	}
	opt.Over = &c.over
	var found []pattern.Finding
	c.Lay, found = lay.OnCloth(ctx, c.laid, mat, opt)
	opt.Over = nil
	if len(found) > 0 {
		if mat.Length > 0 {
			c.wouldFit(ctx, mat, lay.Brief(opt), found)
		}
		l.Findings = append(l.Findings, found...)
		return
	}
	if !c.Bought() {
		return
	}
	if mat.Length == 0 {
		c.onRemnants(ctx, mat, wish)
	}
	if !wish.Alone {
		c.Rough = true
		c.compare(ctx, mat, lay.Brief(opt), lay.Brief(opt))
	}
}

// Bought reports whether there is something to buy: not for what is laid on a remnant or on paper.
func (c *Cloth) Bought() bool { return c.On == 0 && c.Lay.Material.Cloth }

// ToBuy is the length to buy of the cloth, mm.
func (c *Cloth) ToBuy() float64 { return c.Shop.ToBuy(c.Lay.LengthUsed) }
