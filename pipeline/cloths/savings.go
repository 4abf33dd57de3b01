package cloths

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// Width is a width of cloth, mm, with the length laid there, and how the cloth lies.
type Width struct {
	Width, Laid float64
	Fold        pattern.Folding
}

// Saving is another way to lay the pieces for which less cloth is bought.
type Saving struct {
	// Way says what is different: "cloth folded once, selvedge on selvedge".
	Way string
	// Width is the width of the cloth, Laid the length on it, Buy the length to buy, and Less the saved area against
	// the lay's, mm and mm2.
	Width, Laid, Buy, Less float64
}

// leastLess is the least saved area that is reported, mm2: a strip 1 cm long of cloth 1 m wide.
const leastLess = 10 * 1000

// compare lays the pieces at other widths and in other ways, with the options of each.
func (c *Cloth) compare(ctx context.Context, mat pattern.Material, widths, ways lay.Options) {
	mat.Length = 0
	whole := mat
	whole.Avoid = nil // the flaws are those of this cloth
	c.atOtherWidths(ctx, whole, widths)
	c.savesByWidth(widths.Unit)
	var best *Saving // a cutter takes one of the ways tried one by one
	for _, way := range lay.Ways(c.laid, mat, c.Lay.Fold) {
		length, ok := way.Length(ctx, c.laid, mat, ways)
		if s := c.saving(way.Words, mat.Width, length); ok && s != nil && (best == nil || s.Less > best.Less+1) {
			best = s
		}
	}
	c.add(best)
	c.add(c.shorterHem(ctx, mat, ways))
	slices.SortStableFunc(c.Savings, func(a, b Saving) int { return int(math.Round(b.Less - a.Less)) })
}

// saving is what another way saves of what is bought; nil for nothing.
func (c *Cloth) saving(way string, width, laid float64) *Saving {
	s := &Saving{Way: way, Width: width, Laid: laid, Buy: c.Shop.ToBuy(laid)}
	if s.Less = c.Lay.Material.Width*c.ToBuy() - width*s.Buy; laid <= 0 || s.Less < leastLess {
		return nil
	}
	return s
}

func (c *Cloth) add(s *Saving) {
	if s != nil {
		c.Savings = append(c.Savings, *s)
	}
}

// savesByWidth adds the width at which the least cloth is bought, if that is less than at this one.
func (c *Cloth) savesByWidth(unit string) {
	var best *Saving
	for _, o := range c.Others {
		if s := c.saving("cloth "+lay.Across(o.Width, unit)+" wide", o.Width, o.Laid); s != nil && (best == nil || s.Less > best.Less) {
			best = s
		}
	}
	c.add(best)
}

// atOtherWidths lays the pieces at usual widths.
func (c *Cloth) atOtherWidths(ctx context.Context, mat pattern.Material, opt lay.Options) {
	for _, w := range lay.Widths(opt.Unit == "in") {
		if math.Abs(w-mat.Width) < 1 {
			continue
		}
		other := mat
		other.Width = w
		l, found := lay.OnCloth(ctx, c.laid, other, opt)
		if len(found) > 0 {
			l.LengthUsed = 0
		}
		c.Others = append(c.Others, Width{w, l.LengthUsed, l.Fold})
	}
	c.asNarrower()
}

// asNarrower takes the lay of a narrower cloth for a wider one where it is shorter: it fits there unchanged, with the
// fold at the same place, so that a shorter search does not make a person buy more.
func (c *Cloth) asNarrower() {
	narrower := append([]Width{{c.Lay.Material.Width, c.Lay.LengthUsed, c.Lay.Fold}}, c.Others...)
	for i := range c.Others {
		o := &c.Others[i]
		for _, n := range narrower {
			if n.Width < o.Width && n.Laid > 0 && (o.Laid == 0 || n.Laid < o.Laid) {
				o.Laid, o.Fold = n.Laid, n.Fold
			}
		}
	}
}

// shorterHem is the hem that must be shortened least to buy one step of the shop less; nil where none helps.
func (c *Cloth) shorterHem(ctx context.Context, mat pattern.Material, opt lay.Options) (best *Saving) {
	if c.Shop.Step <= 0 {
		return nil
	}
	within := c.Shop.Within(c.ToBuy() - c.Shop.Step)
	mat.Fold = c.Lay.Fold
	least := math.Inf(1)
	for _, h := range lay.Hems(c.laid) {
		by, laid, ok := h.Least(ctx, c.laid, mat, within, opt)
		if !ok || by >= least {
			continue
		}
		if s := c.saving(hemWords(h, by, opt.Unit), mat.Width, laid); s != nil {
			best, least = s, by
		}
	}
	return best
}

func hemWords(h lay.Hem, by float64, unit string) string {
	return fmt.Sprintf("the %s of %s %s shorter", h.Edge, pattern.AndList(h.Pieces), lay.Across(by, unit))
}

// wouldFit adds to a lay that is longer than the cloth at hand the changes with which it would fit.
func (c *Cloth) wouldFit(ctx context.Context, mat pattern.Material, opt lay.Options, found []pattern.Finding) {
	var words []string
	for _, w := range lay.Ways(c.laid, mat, c.Lay.Fold) {
		if _, f := lay.OnCloth(ctx, w.Ready, w.Material, opt); len(f) == 0 {
			words = append(words, w.Words)
		}
	}
	for _, wide := range lay.Widths(opt.Unit == "in") {
		other := mat
		if other.Width = wide; !mat.Cloth || wide < mat.Width+1 || c.On != 0 {
			continue
		}
		if _, f := lay.OnCloth(ctx, c.laid, other, opt); len(f) == 0 {
			words = append(words, "cloth "+lay.Across(wide, opt.Unit)+" wide")
			break
		}
	}
	if len(c.over.Placements) > 0 {
		mat.Fold = c.over.Fold
	}
	for _, h := range lay.Hems(c.laid) {
		if by, _, ok := h.Least(ctx, c.laid, mat, mat.Length, opt); ok {
			words = append(words, hemWords(h, by, opt.Unit))
		}
	}
	if len(words) == 0 {
		return
	}
	for i := range found {
		found[i].Mend = "it fits with " + strings.Join(words, ", or with ") + "; else " + found[i].Mend
	}
}

// Saves lists what takes less cloth, the greatest saving first.
func (l *Layout) Saves(c *Cloth) (out []string) {
	for _, s := range c.Savings {
		if math.Abs(s.Width-c.Lay.Material.Width) < 1 {
			words := fmt.Sprintf("%s: %s to buy instead of %s", s.Way, lay.Bought(s.Buy, l.Unit), lay.Bought(c.ToBuy(), l.Unit))
			if c.Price > 0 {
				words += fmt.Sprintf(", %.2f instead of %.2f to pay", l.Cost(c, s.Buy), l.Cost(c, c.ToBuy()))
			}
			out = append(out, words)
			continue
		}
		words := fmt.Sprintf("%s: %s to buy, %s instead of %s", s.Way, lay.Bought(s.Buy, l.Unit),
			l.area(s.Width*s.Buy), l.area(c.Lay.Material.Width*c.ToBuy()))
		if c.Price > 0 {
			words += fmt.Sprintf("; it costs less where a %s of it costs less than %.2f", map[bool]string{true: "yard", false: "metre"}[l.Unit == "in"], c.Price*c.ToBuy()/s.Buy)
		}
		out = append(out, words)
	}
	return out
}

// area formats an area of cloth in the unit in which it is bought.
func (l *Layout) area(mm2 float64) string {
	if l.Unit == "in" {
		return fmt.Sprintf("%.2f square yards", mm2/(914.4*914.4))
	}
	return fmt.Sprintf("%.2f square metres", mm2/1e6)
}

// compared adds to a lay.Sheet the remnants that would hold it, and what is bought at other widths and in other ways.
func (c *Cloth) compared(s *lay.Sheet) {
	for _, o := range c.Others {
		if o.Laid > 0 {
			s.Others = append(s.Others, lay.AtWidth{Width: tenth(o.Width), Length: tenth(o.Laid), Buy: tenth(c.Shop.ToBuy(o.Laid))})
		}
	}
	for _, r := range c.Fits {
		s.Fits = append(s.Fits, lay.Fits{Remnant: r.No, Width: tenth(r.Width), Length: tenth(r.Length)})
	}
	for _, one := range c.Savings {
		s.Savings = append(s.Savings, lay.Saves{Way: one.Way, Width: tenth(one.Width), Length: tenth(one.Laid), Buy: tenth(one.Buy), Less: math.Round(one.Less/100) / 1e4})
	}
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }
