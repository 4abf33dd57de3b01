package desk

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/mend"
	"tracewheel/pipeline/draft/measured/sentence"
)

// fit adds a fitting to a card, or undoes one, and keeps the old text of the card as a version. A refused form is
// shown again with the fault at its field; an offered word is put into the form, and nothing else happens.
func (d *Desk) fit(w http.ResponseWriter, r *http.Request) {
	card, name, form := r.PathValue("card"), r.PostFormValue("draft"), fitOf(r)
	words, _, unread := d.read(name)
	if field, word, is := strings.Cut(r.PostFormValue("do"), "="); is && unread == nil {
		form = form.written(field, word)
		d.page(w, r, http.StatusOK, deskPage{Name: name, Text: string(words), Version: folder.VersionOf(words), Body: card, With: asOpened, Fit: &form}, nil)
		return
	}
	var text []byte
	file, old, err := d.cardFile(card)
	if errors.Is(err, fs.ErrNotExist) {
		err = fmt.Errorf("the card %q is gone: keep the measures as a card again", card)
	}
	if r.PostFormValue("do") == "seam" && err == nil && unread == nil {
		d.fitAtSeam(w, r, wish{Name: name, Text: string(words), Body: card}, file, old)
		return
	}
	f := form.fitting(name)
	change, listed := cardtext.Add, true
	switch r.PostFormValue("do") {
	case "undo":
		change = cardtext.Undo
	case "only":
		change = func(card []byte, f cardtext.Fitting) ([]byte, error) { return cardtext.Only(card, f, name) }
	default:
		listed = false
	}
	if listed {
		f = cardtext.Fitting{Date: form.Date, Name: form.Name, By: form.By}
	} else if err == nil && unread == nil {
		err = d.fits(r.Context(), wish{Name: name, Text: string(words), Body: card}, cardtext.OneLine(f.Name))
	}
	if err == nil {
		text, err = change(old, f)
	}
	if err == nil {
		err = folder.Save(file, text, folder.VersionOf(old))
	}
	var slip *cardtext.Slip
	if errors.As(err, &slip) {
		form.Slip = *slip
		switch slip.Field {
		case "by":
			form.Slip.Offer = mend.Length(form.By)
		case "date":
			form.Slip.Offer = time.Now().Format(time.DateOnly)
		}
	}
	switch {
	case err != nil && unread == nil:
		p := deskPage{Name: name, Text: string(words), Version: folder.VersionOf(words), Body: card, With: asOpened, Refused: d.plainPaths(err.Error())}
		if !listed {
			p.Fit = &form
		}
		d.page(w, r, http.StatusBadRequest, p, nil)
	case err != nil:
		d.problem(w, r, err)
	default:
		http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?said=fitted&body="+url.QueryEscape(card)+"&was="+folder.VersionOf(old)+"&fit="+url.QueryEscape(f.Name), http.StatusSeeOther)
	}
}

// fitAtSeam is fit for a seam.
func (d *Desk) fitAtSeam(w http.ResponseWriter, r *http.Request, in wish, file string, old []byte) {
	form := seamFitOf(r)
	text, err := d.fitSeam(r.Context(), in, old, form)
	if err == nil {
		err = folder.Save(file, text, folder.VersionOf(old))
	}
	if err == nil {
		http.Redirect(w, r, "/desk/draft/"+url.PathEscape(in.Name)+"?said=fitted&body="+url.QueryEscape(in.Body)+"&was="+folder.VersionOf(old)+"&fit="+url.QueryEscape(form.Seam), http.StatusSeeOther)
		return
	}
	if slip := (*cardtext.Slip)(nil); errors.As(err, &slip) {
		form.Slip = *slip
	}
	d.page(w, r, http.StatusBadRequest, deskPage{Name: in.Name, Text: in.Text, Version: folder.VersionOf([]byte(in.Text)), Body: in.Body, With: asOpened, Refused: d.plainPaths(err.Error()), FitSeam: &form}, nil)
}

// fits refuses a fitting of a name that the draft does not have; of a draft that cannot be drawn the names are not
// known.
func (d *Desk) fits(ctx context.Context, in wish, name string) error {
	values, _, names := d.measuresOf(d.headWith(in.Name, in.Text), in.Body)
	names = slices.AppendSeq(names, maps.Keys(values))
	var w worked
	if err := inPlace(ctx, func() error { w = d.work(ctx, in); return nil }); err != nil {
		return err
	}
	for i := 0; w.figures != nil && i < len(w.figures.Numbers); i++ {
		names = append(names, w.figures.Numbers[i].Name)
	}
	slices.Sort(names)
	_, of := sentence.SideOf(name)
	if names = slices.Compact(names); w.figures == nil || name == "" || slices.Contains(names, name) || slices.Contains(names, of) {
		return nil
	}
	near := sentence.Nearest(name, names)
	slip := &cardtext.Slip{Field: "name", Text: fmt.Sprintf("%q is no measure and no number of this draft; %s. A seam is let out or taken in by the form below, At a seam", name, near)}
	if word := mend.Meant.FindStringSubmatch(near); word != nil {
		slip.Offer = word[1]
	}
	return slip
}
