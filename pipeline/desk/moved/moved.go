// Package moved takes the figures of two drawings of one draft and gives their differences in words. It knows no page.
package moved

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sentence"
)

// most bounds the numbers listed, and the lengths.
const most = 60

// Between lists the differences between two drawings: the draft's numbers, its girths, its edges. Lengths are in the
// person's unit, numbers in the draft's. before is whose the other drawing is, "" for an earlier version.
func Between(now, was *figures.Figures, before string) (out []string) {
	if now == nil || was == nil {
		return nil
	}
	words := "was"
	if before != "" {
		words = before + " has"
	}
	out = numbers(now, was, words)
	return append(out, lengths(now, was, words)...)
}

// Lengths are the girths and edges that differ from an earlier version of the drawing.
func Lengths(now, was *figures.Figures) []string {
	if now == nil || was == nil {
		return nil
	}
	return lengths(now, was, "was")
}

// difference is the difference of one number between two drawings, "" where it cannot be told.
func difference(name, unit, words, behind string, a, b float64, say func(float64) string) []string {
	if per := map[string]float64{"cm": 100, "mm": 10}[unit]; per > 0 { // to a tenth of a mm
		a, b = math.Round(a*per)/per, math.Round(b*per)/per
	}
	if math.Abs(a-b) < 0.0005 || say(a) == say(b) {
		return nil
	}
	return []string{fmt.Sprintf("%s %s, %s %s%s", name, say(a), words, say(b), behind)}
}

func numbers(now, was *figures.Figures, words string) (out []string) {
	if now.Drafted != was.Drafted { // it is not known which of them are lengths
		return nil
	}
	counted := ""
	if now.Drafted != now.Unit {
		counted = ", in the draft's " + sentence.SpokenUnit(now.Drafted)
	}
	for _, n := range now.Numbers {
		if i := slices.IndexFunc(was.Numbers, func(o figures.NamedNumber) bool { return o.Name == n.Name }); i >= 0 && len(out) < most {
			out = append(out, difference(n.Name, now.Drafted, words, counted, n.Value, was.Numbers[i].Value, now.SayNumber)...)
		}
	}
	return out
}

func lengths(now, was *figures.Figures, words string) (out []string) {
	scale := 1.0
	if a, b := sentence.Units[was.Unit], sentence.Units[now.Unit]; a > 0 && b > 0 {
		scale = a / b
	}
	length := func(name string, a, b float64) {
		if len(out) < most {
			out = append(out, difference(name, now.Unit, words, "", a, scale*b, now.Say)...)
		}
	}
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

// saidOf bounds the differences in a fitting's message.
const saidOf = 8

// Fitted lists what a fitting changed: first what has its name, then the rest.
func Fitted(name string, moves []string) string {
	var named, also []string
	for _, m := range moves {
		if slices.ContainsFunc(strings.Fields(name), func(w string) bool { return len(w) > 2 && strings.Contains(m, w) }) {
			named = append(named, m)
		} else {
			also = append(also, m)
		}
	}
	list := func(words string, all []string) string {
		more := ""
		if len(all) > saidOf {
			more = fmt.Sprintf("; and %d more, under What moved", len(all)-saidOf)
		}
		return words + strings.Join(all[:min(len(all), saidOf)], "; ") + more + "."
	}
	var out []string
	if len(named) > 0 {
		out = append(out, list("It moved ", named))
	}
	switch {
	case len(also) > 0 && name != "":
		out = append(out, list("It moved as well, though it does not name them: ", also)+" Undo it below if that was not meant.")
	case len(also) > 0:
		out = append(out, list("Moved: ", also))
	case len(named) == 0:
		out = append(out, "No girth and no length of this garment moved.")
	}
	return strings.Join(out, " ")
}
