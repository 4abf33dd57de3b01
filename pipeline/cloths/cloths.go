// Package cloths lays the pieces of some drafts on each cloth that they name, and tells what is laid and what to buy.
// It takes prepared pieces and what a person says of the cloth, and gives a lay for each, in words, JSON and pictures.
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

// Wish is a person's wish for a lay. Lengths are mm; a field that is 0, "" or nil is left to the drafts and to the
// workroom.
type Wish struct {
	Width, Length, Gap, Margin float64
	// Unsaid is the width of cloth of which nobody says how wide it lies.
	Unsaid float64
	// Alone leaves other widths and what saves cloth unsought.
	Alone bool
	// Bare are the lengths that were said without a unit, as "--length 60".
	Bare  []string
	Fold  pattern.Folding
	Nap   pattern.Nap
	Turns []float64
	// Material is one of the workroom's that is taken for all cloths instead of what the drafts say, "" for none; Only is the
	// place of the one cloth that is laid, counted from 1, 0 for all.
	Material string
	Only     int
	// Keeps is what a machine keeps free on a material between pieces and along its edges, instead of Gap and Margin, nil for none.
	Keeps func(material string) (gap, margin float64)
	// Remnants are those that are free in the workroom, On is the number of the one on which its material is laid, 0 for none.
	Remnants []Remnant
	On       int64
	// Busy tells when the search is to pause; nil for never. See lay.Options.
	Busy func() bool
	// Once is for paper: each piece once, free to turn.
	Once bool
	// Steps or Time bound the search, Time that of all cloths together.
	Steps int
	Time  time.Duration
	Seed  uint64
	// Progress is told of each shorter lay: of which cloth, and how long it is.
	Progress func(cloth, length string)
}

// Layout is a lay for each cloth of some drafts.
type Layout struct {
	Findings []pattern.Finding
	Cloths   []*Cloth
	// Short are the cloths that are refused because the lay is longer than what is at hand.
	Short []*Cloth
	// Fit are the cloths that would do, where others are refused.
	Fit    []*Cloth
	Drafts []*pattern.Pattern // as they were given
	// Unit is that in which lengths are told: of the drafts where they agree, else of the workroom.
	Unit string

	materials map[string]config.Material
}

// New is an empty layout for a workroom's materials; unit is its unit.
func New(materials map[string]config.Material, unit string) *Layout {
	return &Layout{Unit: unit, materials: materials}
}

// Deal gives the pieces of Drafts[draft] to their cloths, in the order in which the draft has them. Cloths of one name are
// one, but where drafts say otherwise of its width, nap, fold or turns: each then is as its own drafts say.
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

// cutOnly is a piece without what is only drawn on it.
func cutOnly(r pattern.Ready) pattern.Ready {
	r.Lines = slices.DeleteFunc(slices.Clone(r.Lines), func(l pattern.Line) bool { return !l.Cut })
	return r
}

// Lay lays each cloth on its own. There is no lay where the findings have an error.
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

// Main is the cloth for which a width is said where the drafts have several: "main", else the first.
func (l *Layout) Main() int {
	return max(0, slices.IndexFunc(l.Cloths, func(c *Cloth) bool { return c.Name == "main" }))
}

// Compared gives the same lays with what the pieces would take at other widths, each of them sought as long as the lay was
// by the same wish, so that the lengths can be held against each other, and with what saves most, sought briefly.
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

// WriteJSON writes a lay.Sheet for each cloth, a line each.
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

// lettered are the pieces on a cloth, by their size or body too where several lie there, and by their draft where one of several
// has none.
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

// Picture draws the lay of one cloth to scale, of one that is too long for what is at hand that lay, with the cloth's end.
// ext is ".svg" or ".png".
func (l *Layout) Picture(c *Cloth, ext string) ([]byte, error) {
	laid := c.Lay
	if len(c.over.Placements) > 0 {
		laid = c.over
	}
	laid.LengthUsed = lay.Whole(laid.LengthUsed)
	if l.Unit == "in" { // as WriteText says it
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
