// Package moved takes the figures of two drawings of one draft and gives in words what differs between them. It knows no page.
package moved

import (
	"fmt"
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sentence"
)

// most is how many numbers that moved are told.
const most = 60

// Between lists what differs between two drawings: the numbers of the draft, its girths, its edges. Each is told in its own
// unit: lengths in that of the person, numbers in the draft's. before is whose the other drawing is, "" for the same as it was.
func Between(now, was *figures.Figures, before string) (out []string) {
	if now == nil || was == nil {
		return nil
	}
	words := "was"
	if before != "" {
		words = before + " has"
	}
	tell := func(name, unit, behind string, a, b float64, say func(float64) string) {
		if per := map[string]float64{"cm": 100, "mm": 10}[unit]; per > 0 { // to a tenth of a mm
			a, b = math.Round(a*per)/per, math.Round(b*per)/per
		}
		if math.Abs(a-b) >= 0.0005 && say(a) != say(b) && len(out) < most {
			out = append(out, fmt.Sprintf("%s %s, %s %s%s", name, say(a), words, say(b), behind))
		}
	}
	counted := ""
	if now.Drafted != now.Unit {
		counted = ", in the draft's " + sentence.SpokenUnit(now.Drafted)
	}
	for _, n := range now.Numbers {
		if now.Drafted != was.Drafted { // which of them are lengths nobody says
			break
		}
		if i := slices.IndexFunc(was.Numbers, func(o figures.NamedNumber) bool { return o.Name == n.Name }); i >= 0 {
			tell(n.Name, now.Drafted, counted, n.Value, was.Numbers[i].Value, now.SayNumber)
		}
	}
	scale := 1.0
	if a, b := sentence.Units[was.Unit], sentence.Units[now.Unit]; a > 0 && b > 0 {
		scale = a / b
	}
	length := func(name string, a, b float64) { tell(name, now.Unit, "", a, scale*b, now.Say) }
	for _, g := range now.Girths {
		if i := slices.IndexFunc(was.Girths, func(o figures.Girth) bool { return o.Name == g.Name }); i >= 0 {
			length(figures.MustWords(g.Name)+", finished", g.Finished, was.Girths[i].Finished)
		}
	}
	for _, p := range now.Pieces {
		i := slices.IndexFunc(was.Pieces, func(o figures.PieceFigures) bool { return o.Name == p.Name })
		if i < 0 {
			out = append(out, p.Name+" is new")
			continue
		}
		for k, e := range p.Edges {
			if k < len(was.Pieces[i].Edges) && was.Pieces[i].Edges[k].Name == e.Name {
				length(p.Name+" "+e.Name, e.Worn, was.Pieces[i].Edges[k].Worn)
			}
		}
	}
	for _, p := range was.Pieces {
		if !slices.ContainsFunc(now.Pieces, func(o figures.PieceFigures) bool { return o.Name == p.Name }) {
			out = append(out, p.Name+" is gone")
		}
	}
	return out
}
