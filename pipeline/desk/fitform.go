package desk

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// fitForm is the form of a fitting: new, or as it was refused, with the fault at its field.
type fitForm struct {
	Date, Name, By, How, Reason string
	Everywhere                  bool // for all garments of the wearer, not only for this one
	Slip                        cardtext.Slip
}

// newFit is an empty form.
func newFit() fitForm { return fitForm{Date: time.Now().Format(time.DateOnly), How: "more"} }

// fitOf is the form as it was sent.
func fitOf(r *http.Request) fitForm {
	return fitForm{Date: r.PostFormValue("date"), Name: r.PostFormValue("name"), By: r.PostFormValue("by"), How: r.PostFormValue("how"), Reason: r.PostFormValue("reason"), Everywhere: r.PostFormValue("for") != "this"}
}

// fitting is the change that a form asks for at a garment; its amount may itself say more or less.
func (f fitForm) fitting(garment string) cardtext.Fitting {
	by := strings.TrimSpace(f.By)
	if !cardtext.IsAmount(by) && by != "" && (f.How == "more" || f.How == "less") {
		by += " " + f.How
	}
	if f.Everywhere {
		garment = ""
	}
	return cardtext.Fitting{Date: f.Date, Name: f.Name, By: by, Reason: f.Reason, For: garment}
}

// written is the form with the offered word in the field with the fault.
func (f fitForm) written(field, word string) fitForm {
	switch field {
	case "date":
		f.Date = word
	case "name":
		f.Name = word
	case "by":
		f.By = word
	}
	return f
}

// listedFitting is a fitting of a card in the list on a draft's page.
type listedFitting struct {
	cardtext.Fitting
	Here bool // it changes this draft, if the draft has what it names
}

// listedAt lists the fittings of a card at a draft.
func listedAt(name string, h head, card []byte) (out []listedFitting) {
	for _, f := range cardtext.Fittings(card) {
		out = append(out, listedFitting{f, sentence.CountsFor(pattern.TrimYAML(f.For), name, h.Style)})
	}
	return out
}

// fittedEverywhere reports each number of the draft that is changed by a fitting without a garment: it was probably
// meant for another garment.
func (d *Desk) fittedEverywhere(in wish, f *figures.Figures) (out []fault) {
	if f == nil || headOfText(in.Text).tells(in.Body) {
		return nil
	}
	card := []byte(in.Was)
	if in.Was == "" {
		_, text, err := d.cardFile(bodyOf(d.headWith(in.Name, in.Text), in.Body))
		if err != nil {
			return nil
		}
		card = text
	}
	measures, _ := cardtext.Measures(card)
	for _, fit := range cardtext.Fittings(card) {
		_, measure := measures[fit.Name]
		if fit.For != "" || fit.Name == "" || measure || !slices.ContainsFunc(f.Numbers, func(n figures.NamedNumber) bool { return n.Name == fit.Name }) {
			continue
		}
		out = append(out, fault{Severity: string(pattern.Note), Text: fmt.Sprintf("%s is %s here by the fitting of %s, which names no garment: it goes into every draft of the wearer that has a number of that name", fit.Name, fit.By, fit.Day()),
			Mend: "press Only here under Fittings, at the garment at which it was told; nothing, if it is meant for all"})
	}
	return out
}
