package desk

import (
	"net/http"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
)

// fitForm is the form of a fitting: as it is begun, or as it was refused, with what is wrong at its field.
type fitForm struct {
	Date, Name, By, How, Reason string
	Slip                        cardtext.Slip
}

// newFit is an empty form.
func newFit() fitForm { return fitForm{Date: time.Now().Format(time.DateOnly), How: "more"} }

// fitOf is the form as it was sent.
func fitOf(r *http.Request) fitForm {
	return fitForm{Date: r.PostFormValue("date"), Name: r.PostFormValue("name"), By: r.PostFormValue("by"), How: r.PostFormValue("how"), Reason: r.PostFormValue("reason")}
}

// fitting is the change that a form asks for; its amount may say itself whether it is more or less.
func (f fitForm) fitting() cardtext.Fitting {
	by := strings.TrimSpace(f.By)
	if !cardtext.IsAmount(by) && by != "" && (f.How == "more" || f.How == "less") {
		by += " " + f.How
	}
	return cardtext.Fitting{Date: f.Date, Name: f.Name, By: by, Reason: f.Reason}
}

// written is the form with the offered word in the field that has the slip.
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
