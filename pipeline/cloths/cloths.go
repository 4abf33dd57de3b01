// Package cloths lays the pieces of drafts on each cloth that they name, and says what is laid and what to buy. It
// takes prepared pieces and a person's wishes, and gives a lay for each cloth, in words, JSON and pictures.
package cloths

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

// Wish is a person's wish for a lay. Lengths are mm; the drafts and the workroom decide where a field is 0, "" or nil.
type Wish struct {
	Width, Length, Gap, Margin float64
	// Unsaid is the width of a cloth whose width nobody gives.
	Unsaid float64
	// Alone skips other widths and savings.
	Alone bool
	// Bare are the lengths that were given without a unit, as "--length 60".
	Bare  []string
	Fold  pattern.Folding
	Nap   pattern.Nap
	Turns []float64
	// Material is a material of the workroom that is taken for all cloths in place of the drafts' own, "" for none;
	// Only is the index of the only cloth to lay, counted from 1, 0 for all.
	Material string
	Only     int
	// Keeps gives the gap and margin of a machine on a material, in place of Gap and Margin; nil for none.
	Keeps func(material string) (gap, margin float64)
	// Remnants are the free remnants of the workroom, On is the number of the one to lay its material on, 0 for none.
	Remnants []Remnant
	On       int64
	// Busy tells when the search must pause; nil for never. See lay.Options.
	Busy func() bool
	// Once is for paper: each piece once, in any turn.
	Once bool
	// Steps or Time bound the search, Time for all cloths together.
	Steps int
	Time  time.Duration
	Seed  uint64
	// Progress is called for each shorter lay, with its cloth and its length.
	Progress func(cloth, length string)
}

// Layout is a lay for each cloth of some drafts.
type Layout struct {
	Findings []pattern.Finding
	Cloths   []*Cloth
	// Short are the cloths that are refused because the lay is longer than the cloth at hand.
	Short []*Cloth
	// Fit are the cloths that are long enough, where others are refused.
	Fit    []*Cloth
	Drafts []*pattern.Pattern // as they were given
	// Unit is the unit in which lengths are printed: that of the drafts where they agree, else of the workroom.
	Unit string

	materials map[string]config.Material
}

// New is an empty layout for a workroom's materials; unit is its unit.
func New(materials map[string]config.Material, unit string) *Layout {
	return &Layout{Unit: unit, materials: materials}
}

// Deal assigns the pieces of Drafts[draft] to their cloths, in the order of the draft. Cloths of one name are one
// cloth, unless drafts differ in its width, nap, fold or turns.
func (l *Layout) Deal(draft int, ready []pattern.Ready) {
	all, most := l.Drafts[draft], 0
	for _, c := range l.Cloths {
		for i := range c.laid {
			most = max(most, c.laid[i].Garment)
		}
	}
	for _, r := range ready {
		p := all.DraftOf(r.Index)
		said, ok := p.ClothOf(r.Material)
		if !ok {
			said = pattern.Cloth{Name: pattern.ClothName(r.Material)}
		}
		k := slices.IndexFunc(l.Cloths, func(c *Cloth) bool { return c.takes(said, ok) })
		if k < 0 {
			k, l.Cloths = len(l.Cloths), append(l.Cloths, &Cloth{Name: said.Name, said: pattern.Cloth{Name: said.Name}})
		}
		c := l.Cloths[k]
		if ok {
			c.tell(said)
		}
		if called := p.Called(); !slices.Contains(c.Of, called) {
			c.Of = append(c.Of, called)
		}
		r.Draft, r.Garment = draft, most+r.Garment
		c.Drawn, c.laid = append(c.Drawn, r), append(c.laid, cutOnly(r))
	}
}

func agree[T comparable](a, b T) bool {
	var unsaid T
	return a == b || a == unsaid || b == unsaid
}

// cutOnly is a piece with its cut lines only.
func cutOnly(r pattern.Ready) pattern.Ready {
	r.Lines = slices.DeleteFunc(slices.Clone(r.Lines), func(l pattern.Line) bool { return !l.Cut })
	return r
}

// Lay lays each cloth separately. There is no lay where the findings have an error.
func (l *Layout) Lay(ctx context.Context, wish Wish) {
	main := l.Main()
	if n := wish.Only; n > 0 && n <= len(l.Cloths) {
		l.Cloths, main = l.Cloths[n-1:n], 0
	}
	if why, mend := l.noRemnant(wish); why != "" {
		l.Findings, l.Cloths = append(l.Findings, pattern.NewFinding(pattern.RuleTooShort, why, mend)), nil
		return
	}
	total := 0
	for _, c := range l.Cloths {
		total += len(c.laid)
	}
	for i, c := range l.Cloths {
		l.layCloth(ctx, c, i == main, wish, float64(len(c.laid))/float64(max(total, 1)))
	}
	if pattern.Worst(l.Findings) == pattern.Error {
		for _, c := range l.Cloths {
			if len(c.over.Placements) > 0 {
				l.Short = append(l.Short, c)
			} else if len(c.Lay.Placements) > 0 {
				l.Fit = append(l.Fit, c)
			}
		}
		l.Cloths = nil
	}
}

// Main is the cloth that a given width is for: "main", else the first.
func (l *Layout) Main() int {
	return max(0, slices.IndexFunc(l.Cloths, func(c *Cloth) bool { return c.Name == "main" }))
}

// Compared gives the same lays with the lengths at other widths, each searched as long as the lay with the same wish,
// so that the lengths are comparable; the ways that save most are searched briefly.
func (l *Layout) Compared(ctx context.Context, wish Wish) *Layout {
	out := *l
	out.Cloths = nil
	for _, c := range l.Cloths {
		c := *c
		opt := lay.Options{Steps: wish.Steps, Seed: wish.Seed, Unit: l.Unit, Busy: wish.Busy}
		c.Others, c.Savings, c.Rough = nil, nil, false
		c.compare(ctx, c.Lay.Material, opt, lay.Brief(opt))
		out.Cloths = append(out.Cloths, &c)
	}
	return &out
}

// WriteJSON writes a lay.Sheet for each cloth, one on a line.
func (l *Layout) WriteJSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for _, c := range l.Cloths {
		s := lay.NewSheet(c.Lay, c.Drawn)
		s.Cloth, s.Remnant = c.Name, c.On
		if c.Bought() {
			s.Buy = tenth(c.ToBuy())
			s.Cost = math.Round(100*l.Cost(c, c.ToBuy())) / 100
		}
		c.compared(&s)
		if err := enc.Encode(s); err != nil {
			return err
		}
	}
	return nil
}

// lettered are the pieces on a cloth, with their size or body where the cloth has several, and with their draft where
// one of several drafts has neither.
func (l *Layout) lettered(c *Cloth) []pattern.Ready {
	whose := func(r *pattern.Ready) string {
		if r.Size == "" && len(c.Of) > 1 {
			return l.Drafts[r.Draft].DraftOf(r.Index).Called()
		}
		return r.Size
	}
	out := slices.Clone(c.Drawn)
	if !slices.ContainsFunc(out, func(r pattern.Ready) bool { return whose(&r) != whose(&out[0]) }) {
		return out
	}
	for i := range out {
		out[i].Name = strings.TrimSpace(out[i].Name + " " + whose(&out[i]))
	}
	return out
}

// Picture draws the lay of one cloth to scale; of a lay that is too long for the cloth at hand it shows the cloth's
// end. ext is ".svg" or ".png".
func (l *Layout) Picture(c *Cloth, ext string) ([]byte, error) {
	laid := c.Lay
	if len(c.over.Placements) > 0 {
		laid = c.over
	}
	laid.LengthUsed = lay.Whole(laid.LengthUsed)
	if l.Unit == "in" { // as in WriteText
		laid.LengthUsed = lay.Up(laid.LengthUsed, 25.4/8)
	}
	canvas := picture.Cloth(l.Title(c), &laid, l.lettered(c), picture.Options{Unit: l.Unit})
	switch strings.ToLower(ext) {
	case ".svg":
		return canvas.SVG(), nil
	case ".png":
		return canvas.PNG(1600)
	}
	return nil, fmt.Errorf("a picture's name ends in .svg or .png, not %q", ext)
}
