package making

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// WriteText tells of each cloth what is laid, what to buy, and what it would take at other widths.
func (l *Layout) WriteText(w io.Writer) {
	for _, c := range l.Cloths {
		m := c.Lay.Material
		fmt.Fprintf(w, "%s: %s on %s width, %s; %.1f %% of it is used\n", c.Name, pattern.Count(len(c.Lay.Placements), "piece"),
			lay.Across(m.Width, l.inches), c.Lay.Fold.Words(), 100*c.Lay.Efficiency)
		fmt.Fprintf(w, "  laid    %s\n", lay.Laid(c.Lay.LengthUsed, l.inches))
		fmt.Fprintf(w, "  to buy  %s (%s)\n", lay.Bought(c.ToBuy(), l.inches), l.terms(c))
		if c.Price > 0 {
			per := 1000.0
			if l.inches {
				per = 914.4
			}
			fmt.Fprintf(w, "  cost    %.2f\n", c.Price*c.ToBuy()/per)
		}
		if len(c.Others) > 0 {
			fmt.Fprintf(w, "  or      %s\n", l.others(c))
		}
		if c.Savings != "" {
			fmt.Fprintf(w, "  saves   %s\n", c.Savings)
		}
		if m.Length > 0 {
			fmt.Fprintf(w, "  fits    on %s, with %s to spare\n", lay.Laid(m.Length, l.inches), lay.Laid(math.Max(0, m.Length-c.Lay.LengthUsed), l.inches))
		}
	}
}

// others say what is to be bought at other widths.
func (l *Layout) others(c *ClothLay) string {
	var at []string
	for _, o := range c.Others {
		words := "a piece is too wide"
		if o.Laid > 0 {
			words = lay.Bought(c.Shop.ToBuy(o.Laid), l.inches)
		}
		at = append(at, fmt.Sprintf("%s wide: %s", lay.Across(o.Width, l.inches), words))
	}
	return strings.Join(at, ", ")
}

// UsualWidth is the width of cloth for garments of which a draft says nothing, mm: common practice.
const UsualWidth = 1500

// clothFor says how much of each cloth a draft takes, by the first lay that lay finds; nothing where it refuses. Of one
// of several, whose it is stands first, and other widths are left out.
func (m *Maker) clothFor(ctx context.Context, r Request, whose string) []string {
	l, err := m.LayFiles(ctx, []Request{r}, LayWish{Unsaid: UsualWidth})
	if err != nil {
		return nil
	}
	var out []string
	for _, c := range l.Cloths {
		words := fmt.Sprintf("%s, %s wide: %s (%s)", c.Name, lay.Across(c.Lay.Material.Width, l.inches), lay.Bought(c.ToBuy(), l.inches), l.terms(c))
		if whose != "" {
			words = whose + ": " + words
		}
		if out = append(out, words); len(c.Others) > 0 && whose == "" {
			out = append(out, "or "+l.others(c))
		}
	}
	return out
}

// terms say how what is to be bought follows from what is laid.
func (l *Layout) terms(c *ClothLay) string {
	out := []string{"shrinkage not added"}
	if c.Shop.Shrinkage > 0 {
		out[0] = fmt.Sprintf("shrinks %s %%", pattern.Tenths(100*c.Shop.Shrinkage))
	}
	out = append(out, fmt.Sprintf("%s for each cut end", lay.Laid(c.Shop.Ends, l.inches)))
	return strings.Join(append(out, fmt.Sprintf("sold by %s", lay.Bought(c.Shop.Step, l.inches))), ", ")
}
