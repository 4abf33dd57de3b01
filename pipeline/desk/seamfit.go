package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/tape"
)

// seamForm is the form of a fitting at a seam: new, or as it was refused, with the fault at its field.
type seamForm struct {
	Date, Verb, Side, Seam, By, At, To, And, Reason string
	Everywhere                                      bool // for all garments of the wearer with this seam
	Slip                                            cardtext.Slip
}

// newSeamFit is an empty form.
func newSeamFit() seamForm { return seamForm{Date: time.Now().Format(time.DateOnly), Verb: "let out"} }

// seamFitOf is the form as it was sent.
func seamFitOf(r *http.Request) seamForm {
	said := func(name string) string { return cardtext.OneLine(r.PostFormValue(name)) }
	return seamForm{Date: said("date"), Verb: said("verb"), Side: said("side"), Seam: said("seam"), By: said("by"), At: said("at"), To: said("to"), And: said("and"), Reason: said("reason"), Everywhere: said("for") == "all"}
}

// line is the fitting as a card has it: let out side 0.6 at W, to nothing at U and H.
func (f seamForm) line() string {
	out := strings.Join(strings.Fields(f.Verb+" "+f.Side+" "+f.Seam+" "+f.By), " ")
	if f.At != "" {
		out += " at " + f.At
	}
	if ends := slices.DeleteFunc([]string{f.To, f.And}, func(s string) bool { return s == "" }); len(ends) > 0 {
		out += ", to nothing at " + strings.Join(ends, " and ")
	}
	return out
}

// seamPlaces is a seam that a fitting may move, and the places along it.
type seamPlaces struct {
	Name   string
	Places []string
}

var (
	pointNamed = regexp.MustCompile(`\b\p{Lu}[\pL\pN']*\b`)
	sewnSides  = regexp.MustCompile(`[=+]`)
	afterSeam  = regexp.MustCompile(`,.*$`)
)

// seamsOf are the seams whose edges the draft draws, by the edge's name, each with the edges that it meets and the
// points of its sentence.
func (h head) seamsOf() (out []seamPlaces) {
	said := maps.Clone(h.said)
	if said == nil {
		return nil
	}
	if h.block != nil {
		for key, list := range h.block.said {
			said[key] = slices.Concat(said[key], list)
		}
	}
	places, drawn := map[string][]string{}, map[string]bool{}
	put := func(edge, place string) {
		if !slices.Contains(places[edge], place) {
			places[edge] = append(places[edge], place)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(said)) {
		if !strings.HasPrefix(key, "draft ") {
			continue
		}
		for _, t := range said[key] {
			if t.Key != "outline" {
				drawn[t.Key] = true
			}
		}
		for _, t := range said[key] {
			if t.Key != "outline" {
				continue
			}
			ring := strings.Split(t.Text, ",")
			for i := range ring {
				ring[i], _, _ = strings.Cut(strings.TrimSpace(ring[i]), " on the fold")
			}
			for i, edge := range ring {
				put(edge, ring[(i+len(ring)-1)%len(ring)])
				put(edge, ring[(i+1)%len(ring)])
			}
		}
		for _, t := range said[key] {
			if _, outlined := places[t.Key]; outlined {
				for _, p := range pointNamed.FindAllString(afterSeam.ReplaceAllString(t.Text, ""), -1) {
					put(t.Key, p)
				}
			}
		}
	}
	for _, t := range said["sewn"] {
		for _, side := range sewnSides.Split(afterSeam.ReplaceAllString(t.Text, ""), -1) {
			best := "" // the longest name of an edge at the end of the side
			for edge := range places {
				if drawn[edge] && len(edge) > len(best) && strings.HasSuffix(strings.TrimSpace(side), " "+edge) {
					best = edge
				}
			}
			if best != "" && !slices.ContainsFunc(out, func(s seamPlaces) bool { return s.Name == best }) {
				out = append(out, seamPlaces{best, places[best]})
			}
		}
	}
	return out
}

// fitNames are the measures and numbers that a fitting may change.
func (h head) fitNames(measures []string) []string {
	names := slices.Clone(measures)
	for _, of := range []*head{&h, h.block} {
		if of == nil {
			continue
		}
		for _, t := range of.said["numbers"] {
			names = append(names, t.Key)
		}
	}
	slices.SortFunc(names, tape.Compare)
	return slices.Compact(names)
}

// ofBothSides are the measures and numbers that may be told of one side of the wearer instead.
func (h head) ofBothSides(measures []string) []string {
	return slices.DeleteFunc(h.fitNames(measures), func(name string) bool {
		side, _ := sentence.SideOf(name)
		return side != ""
	})
}

// fitSeam is a card with a seam's fitting added. A fault of a field is a *cardtext.Slip, also where the open draft
// would ignore the fitting or could not be drawn with it.
func (d *Desk) fitSeam(ctx context.Context, in wish, old []byte, f seamForm) ([]byte, error) {
	if f.Seam == "" {
		return nil, &cardtext.Slip{Field: "seam", Text: "which seam is not said: choose one of the list"}
	}
	if f.And != "" && f.To == "" {
		f.To, f.And = f.And, ""
	}
	garment := in.Name
	if f.Everywhere {
		garment = ""
	}
	text, err := cardtext.AddLine(old, f.Date, garment, f.By, f.line(), f.Reason)
	if err != nil {
		return nil, err
	}
	in.Was = string(text)
	var w worked
	if err := inPlace(ctx, func() error { w = d.work(ctx, in); return nil }); err != nil {
		return nil, err
	}
	if w.figures == nil || !slices.ContainsFunc(w.figures.Changes, func(c string) bool { return strings.Contains(c, f.line()) }) {
		why := ""
		for _, found := range w.Findings {
			if strings.Contains(found.Message, f.line()) || found.Severity == "error" {
				why = cmp.Or(why, strings.TrimSuffix(found.Message+"; "+found.Mend, "; "))
			}
		}
		why, _, _ = w.own.plainly(why, "")
		return nil, &cardtext.Slip{Field: "at", Text: fmt.Sprintf("%s cannot be done on this draft: %s", f.line(), cmp.Or(why, "it leaves the fitting out"))}
	}
	return text, nil
}
