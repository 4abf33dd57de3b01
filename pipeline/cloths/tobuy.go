package cloths

import (
	"fmt"
	"io"
	"math"
	"strings"

	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// WriteText prints for each cloth what is laid, what to buy, and the lengths at other widths.
func (l *Layout) WriteText(w io.Writer) {
	for _, c := range l.Cloths {
		m := c.Lay.Material
		fmt.Fprintf(w, "%s: %s on %s width, %s; %.1f %% of it is used\n", l.Title(c), pattern.Count(len(c.Lay.Placements), "piece"),
			lay.Across(m.Width, l.Unit), c.Lay.Fold.Words(), 100*c.Lay.Efficiency)
		fmt.Fprintf(w, "  laid    %s\n", lay.Laid(c.Lay.LengthUsed, l.Unit))
		if words := l.InStock(c); words != "" {
			fmt.Fprintf(w, "  stock   %s\n", words)
		}
		if c.Bought() {
			fmt.Fprintf(w, "  to buy  %s (%s)\n", lay.Bought(c.ToBuy(), l.Unit), l.Terms(c))
		}
		if c.Price > 0 && c.Bought() {
			fmt.Fprintf(w, "  cost    %.2f\n", l.Cost(c, c.ToBuy()))
		}
		if len(c.Others) > 0 {
			fmt.Fprintf(w, "  or      %s\n", l.AtOtherWidths(c))
		}
		for _, words := range l.Saves(c) {
			fmt.Fprintf(w, "  saves   %s\n", words)
		}
		if m.Length > 0 {
			fmt.Fprintf(w, "  fits    on %s, with %s to spare\n", lay.Laid(m.Length, l.Unit), lay.Laid(math.Max(0, m.Length-c.Lay.LengthUsed), l.Unit))
		}
	}
}

// Cost is the price of a length of a cloth, from the price of a metre or a yard.
func (l *Layout) Cost(c *Cloth, mm float64) float64 {
	if l.Unit == "in" {
		return c.Price * mm / 914.4
	}
	return c.Price * mm / 1000
}

// AtOtherWidths says what to buy at other widths, as estimates after a brief search, and how the cloth lies where that
// differs from this lay.
func (l *Layout) AtOtherWidths(c *Cloth) string {
	var at []string
	for _, o := range c.Others {
		at = append(at, fmt.Sprintf("%s wide: %s", lay.Across(o.Width, l.Unit), l.AtWidth(c, o)))
	}
	return strings.Join(at, ", ")
}

// AtWidth says what to buy of a cloth at another width.
func (l *Layout) AtWidth(c *Cloth, o Width) string {
	if o.Laid <= 0 {
		return "a piece is too wide"
	}
	words := lay.Bought(c.Shop.ToBuy(o.Laid), l.Unit)
	if c.Rough {
		words = "about " + words
	}
	if o.Fold != c.Lay.Fold {
		words += " (" + o.Fold.Words() + ")"
	}
	return words
}

// UsualWidth is the default width of cloth for garments, mm: common practice.
const UsualWidth = 1500

// Terms say how the length to buy follows from the length laid.
func (l *Layout) Terms(c *Cloth) string {
	out := []string{"shrinkage not added"}
	if c.Shop.Shrinkage > 0 {
		out[0] = fmt.Sprintf("shrinks %s %%", pattern.Tenths(100*c.Shop.Shrinkage))
	}
	out = append(out, fmt.Sprintf("%s for each cut end", lay.Laid(c.Shop.Ends, l.Unit)))
	return strings.Join(append(out, fmt.Sprintf("sold by %s", lay.Bought(c.Shop.Step, l.Unit))), ", ")
}
