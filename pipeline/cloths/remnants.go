package cloths

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// Remnant is a rectangle of a workroom's material, with its number, mm.
type Remnant struct {
	Material      string
	No            int64
	Width, Length float64
}

// mostRemnants is how many remnants are tried for a cloth, triesOf the search steps for each.
const mostRemnants, triesOf = 8, 200

// Holding are the remnants of a material that hold pieces of an area, mm2: the smallest first, of equal ones the lower
// number. Only remnants of at least that area are tried.
func Holding(ctx context.Context, all []Remnant, material string, area float64, holds func(Remnant, lay.Options) bool) (out []Remnant) {
	left := mostRemnants
	for _, r := range slices.SortedStableFunc(slices.Values(all), func(a, b Remnant) int {
		return cmp.Or(cmp.Compare(a.Width*a.Length, b.Width*b.Length), cmp.Compare(a.No, b.No))
	}) {
		if r.Material != material || r.Width*r.Length < area || left == 0 || ctx.Err() != nil {
			continue
		}
		if left--; holds(r, lay.Options{Steps: triesOf, Seed: 1}) {
			out = append(out, r)
		}
	}
	return out
}

// isOf is the name of the workroom's material of a cloth.
func (c *Cloth) isOf(wish Wish) string { return cmp.Or(wish.Material, c.Name) }

// chosen lays a cloth on the wished remnant, if that is of its material.
func (c *Cloth) chosen(mat *pattern.Material, wish Wish) {
	for _, r := range wish.Remnants {
		if wish.On == r.No && wish.On != 0 && r.Material == c.isOf(wish) {
			mat.Width, mat.Length, c.On, c.Usual = r.Width, r.Length, r.No, false
		}
	}
}

// noRemnant says why nothing is laid on the wished remnant, "" where something is, or none is wished.
func (l *Layout) noRemnant(wish Wish) (why, mend string) {
	if wish.On == 0 {
		return "", ""
	}
	k := slices.IndexFunc(wish.Remnants, func(r Remnant) bool { return r.No == wish.On })
	if k < 0 {
		return fmt.Sprintf("there is no remnant %d that is free", wish.On), "tracewheel stock lists them"
	}
	var names []string
	for _, c := range l.Cloths {
		if c.isOf(wish) == wish.Remnants[k].Material {
			return "", ""
		}
		names = append(names, c.isOf(wish))
	}
	return fmt.Sprintf("remnant %d is of %s, and the drafts name %s", wish.On, wish.Remnants[k].Material, strings.Join(names, ", ")),
		"choose another one, or say --material " + wish.Remnants[k].Material
}

// onRemnants finds the remnants of a cloth's material that hold its pieces.
func (c *Cloth) onRemnants(ctx context.Context, mat pattern.Material, wish Wish) {
	c.Fits = Holding(ctx, wish.Remnants, c.isOf(wish), lay.Area(c.laid), func(r Remnant, opt lay.Options) bool {
		mat.Width, mat.Length, opt.Busy = r.Width, r.Length, wish.Busy
		_, found := lay.OnCloth(ctx, c.laid, mat, opt)
		return len(found) == 0
	})
}

// InStock says which remnant a cloth is laid on, or which would hold it; "" for none.
func (l *Layout) InStock(c *Cloth) string {
	if c.On != 0 {
		return fmt.Sprintf("it lies on remnant %d: nothing is to be bought", c.On)
	}
	var words []string
	for _, r := range c.Fits {
		words = append(words, fmt.Sprintf("remnant %d (%s long, %s wide)", r.No, lay.Across(r.Length, l.Unit), lay.Across(r.Width, l.Unit)))
	}
	if len(words) == 0 {
		return ""
	}
	return "it fits " + strings.Join(words, ", or ") + "; take that before the roll"
}
