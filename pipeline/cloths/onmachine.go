package cloths

import (
	"cmp"
	"context"
	"fmt"

	"tracewheel/config"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// OnMachine is the layout of a machine's lay on a named material, with the lengths of cloth at usual widths. Paper is
// not compared, nor a remnant, whose number on is not 0.
func OnMachine(ctx context.Context, name string, l pattern.Lay, ready []pattern.Ready, m config.Material, unit string, on int64) *Layout {
	out := &Layout{Unit: unit}
	c := &Cloth{Name: cmp.Or(name, "material"), Lay: l, On: on, Drawn: ready, Price: m.Price,
		Shop: lay.ShopFor(unit, m.Shrinkage/100, m.Ends, m.Step)}
	for _, r := range ready {
		c.laid = append(c.laid, cutOnly(r))
	}
	if out.Cloths = []*Cloth{c}; l.Material.Cloth && on == 0 {
		mat := l.Material
		mat.Avoid, mat.Length, mat.Fold = nil, 0, pattern.FoldNone
		c.atOtherWidths(ctx, mat, lay.Options{Unit: unit})
	}
	return out
}

// Rules say how the cloth lies and how pieces may lie on it.
func (l *Layout) Rules(c *Cloth) []string {
	m := c.Lay.Material
	if len(c.over.Placements) > 0 {
		m = c.over.Material
	}
	out := []string{lay.Across(m.Width, l.Unit) + " wide"}
	if c.Usual {
		out[0] += ", as the draft does not say how wide"
	}
	if m.Length > 0 {
		out = append(out, lay.Across(m.Length, l.Unit)+" long")
	}
	if !m.Cloth {
		return append(out, "paper: pieces may be turned by quarters")
	}
	out = append(out, c.Lay.Fold.Words())
	switch m.Nap {
	case pattern.NapAll:
		out = append(out, "nap: all pieces lie one way")
	case pattern.NapGarment:
		out = append(out, "nap: the pieces of one garment lie one way")
	default:
		out = append(out, "no nap: pieces may be turned end for end")
	}
	if m.QuarterTurns {
		out = append(out, "quarter turns: grain lines may lie across the cloth too")
	} else {
		out = append(out, "grain lines lie along the cloth")
	}
	if m.Tilt > 0 {
		out = append(out, fmt.Sprintf("pieces may lie up to %s degrees off the grain", pattern.Tenths(m.Tilt)))
	}
	switch {
	case m.Side() > 0 && c.On != 0: // the edges of a remnant are no selvedges
		out = append(out, lay.Laid(m.Side(), l.Unit)+" kept free along each long edge")
	case m.Side() > 0:
		out = append(out, lay.Laid(m.Side(), l.Unit)+" kept free along each selvedge")
	}
	if m.FaceDown {
		out = append(out, "wrong side up")
	}
	if n := len(m.Avoid); n > 0 {
		out = append(out, pattern.Count(n, "place")+" of it left free")
	}
	return out
}

// Listed are pieces of one name on a cloth.
type Listed struct {
	Name string
	// Draft is the name of their draft, where there are several.
	Draft string
	Count int
}

// Listed lists the pieces on a cloth in the drafts' order; of is the pattern that knows the pieces' drafts.
func (c *Cloth) Listed(of *pattern.Pattern) (out []Listed) {
	at := map[Listed]int{}
	for _, r := range c.Drawn {
		one := Listed{Name: r.Name}
		if r.Size != "" {
			one.Name += " " + r.Size
		}
		if len(of.Drafts) > 1 {
			one.Draft = of.DraftOf(r.Index).Called()
		}
		k, is := at[one]
		if !is {
			k = len(out)
			at[one], out = k, append(out, one)
		}
		out[k].Count++
	}
	return out
}
