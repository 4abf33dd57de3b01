package desk

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/desk/steps"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// stepsPage is the list of steps, as a page of the desk and, with its own style, as a file.
type stepsPage struct {
	Name, Style, For, Unit string
	Sheet                  template.CSS // of the file; "" in the desk
	Steps                  []steps.Step
}

// stepsFor works out a draft's steps.
func (d *Desk) stepsFor(ctx context.Context, in wish, m *making.Maker) (p stepsPage, err error) {
	r, own := d.request(in)
	err = inPlace(ctx, func() error {
		f, err := m.Chalking(ctx, r, cloths.Wish{})
		if err != nil {
			text, _, _ := own.plainly(err.Error(), "")
			return fmt.Errorf("the draft cannot be drawn, so there is nothing to chalk yet: %s", text)
		}
		p = stepsPage{Name: in.Name, Style: f.Style, For: f.Body, Unit: f.UnitWord(), Steps: steps.Of(f)}
		return nil
	})
	return p, err
}

// showSteps shows the list one step at a time; scripts remember the step, and without them there are links.
func (d *Desk) showSteps(w http.ResponseWriter, r *http.Request, p stepsPage) {
	d.show(w, r, http.StatusOK, "Chalking "+p.Name, "steps.html", p)
}

// keepSteps gives the same as one file without scripts.
func (d *Desk) keepSteps(w http.ResponseWriter, p stepsPage) error {
	sheet, err := files.ReadFile("steps.css")
	if err != nil {
		return err
	}
	p.Sheet = template.CSS(string(look.Style()) + string(sheet)) //nolint:gosec // the program's own
	var text strings.Builder
	if err := d.pages.ExecuteTemplate(&text, "steps-file.html", p); err != nil {
		return err
	}
	web.Download(w, p.Name+"-steps.html", []byte(text.String()))
	return nil
}
