package desk

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// measure is a field of the form.
type measure struct{ Name, Value, How string }

// deskPage is a draft on the desk.
type deskPage struct {
	Name, Text, Version string
	Body                string
	Bodies, Cards       []string
	Unit                string
	Measures            []measure
	Drawing             drawing
	Picture             template.HTML
	Said                string // what was just done
	Theirs              string // the file as it is, where it was changed meanwhile
	Devices             []string
}

// read takes a draft from the folder.
func (d *Desk) read(name string) ([]byte, string, error) {
	file, err := fileOf(d.o.Drafts, name)
	if err != nil {
		return nil, "", err
	}
	text, err := readPlain(file)
	return text, file, err
}

func (d *Desk) open(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	text, _, err := d.read(name)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	d.page(w, r, http.StatusOK, deskPage{Name: name, Text: string(text), Version: versionOf(text), Body: r.URL.Query().Get("body"),
		Said: said[r.URL.Query().Get("said")]}, nil)
}

// said are the words after something was done.
var said = map[string]string{"saved": "Saved.", "card": "The measure card is kept.", "sent": "It lies in the device's folder and is taken in a moment."}

// page fills a draft's page in; typed are measures of the form.
func (d *Desk) page(w http.ResponseWriter, r *http.Request, status int, p deskPage, typed map[string]string) {
	h := headOfText(p.Text)
	p.Unit = unitOf(p.Text)
	for name := range h.Bodies {
		p.Bodies = append(p.Bodies, name)
	}
	slices.Sort(p.Bodies)
	p.Cards = namesIn(d.o.Cards)
	if own, is := h.Body.(string); p.Body == "" && is {
		p.Body = own
	}
	if p.Body == "" && len(p.Bodies) > 0 {
		p.Body = p.Bodies[0]
	}
	values := h.Bodies[p.Body]
	var names []string
	for _, body := range h.Bodies {
		for name := range body {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if values == nil && slices.Contains(p.Cards, p.Body) {
		values = d.card(p.Body)
	}
	for name := range values {
		if !slices.Contains(names, name) && len(h.Bodies) == 0 {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, byTape)
	for _, name := range names {
		v := values[name]
		if typed != nil {
			v = typed[name]
		}
		p.Measures = append(p.Measures, measure{name, v, how[name]})
	}
	p.Drawing = d.draw(r.Context(), wish{Name: p.Name, Text: p.Text, Body: p.Body, Measures: typed})
	p.Picture = template.HTML(p.Drawing.SVG) //nolint:gosec // drawn by this program
	if d.o.Sends {
		p.Devices = d.o.Room().DeviceNames()
	}
	d.show(w, r, status, p.Name, "draft.html", p)
}

// card are the measures of a card, without where they were taken.
func (d *Desk) card(name string) map[string]string {
	file, err := fileOf(d.o.Cards, name)
	if err != nil {
		return nil
	}
	text, err := readPlain(file)
	if err != nil {
		return nil
	}
	out := map[string]string{}
	for name, v := range cardOf(text) {
		v, _, _ = strings.Cut(v, ",")
		out[name] = strings.TrimSpace(v)
	}
	return out
}

// write draws what stands in the form, for a page without scripts, or saves it.
func (d *Desk) write(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	text := strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n")
	file, err := fileOf(d.o.Drafts, name)
	if err == nil && len(text) > textLimit {
		err = fmt.Errorf("the draft is larger than %d kB", textLimit>>10)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	p := deskPage{Name: name, Text: text, Version: r.PostFormValue("version"), Body: r.PostFormValue("body")}
	typed := map[string]string{}
	for key, v := range r.PostForm {
		if m, is := strings.CutPrefix(key, "measure "); is {
			typed[m] = v[0]
		}
	}
	switch r.PostFormValue("do") {
	case "save":
		err = save(file, []byte(text), p.Version)
		if errors.Is(err, errChanged) {
			theirs, readErr := readPlain(file)
			if readErr != nil {
				theirs = nil // it is gone
			}
			p.Theirs, p.Version = string(theirs), versionOf(theirs)
			d.page(w, r, http.StatusConflict, p, typed)
			return
		}
		if err == nil {
			http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?said=saved&body="+url.QueryEscape(p.Body), http.StatusSeeOther)
			return
		}
	case "card":
		err = d.keepCard(r.PostFormValue("card"), text, typed)
		if err == nil {
			http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?said=card&body="+url.QueryEscape(r.PostFormValue("card")), http.StatusSeeOther)
			return
		}
	default:
		if r.PostFormValue("take") != "" { // another body: its measures, not those typed
			typed = nil
		}
		d.page(w, r, http.StatusOK, p, typed)
		return
	}
	d.problem(w, r, err)
}

// keepCard writes the measures of the form as a card of their own. A card that is there keeps an old version.
func (d *Desk) keepCard(name, draft string, typed map[string]string) error {
	file, err := fileOf(d.o.Cards, strings.TrimSpace(name))
	if err != nil {
		return err
	}
	text := cardText(draft, name, typed)
	text = append(text, []byte("taken: "+time.Now().Format(time.DateOnly)+"\n")...)
	if old, err := readPlain(file); err == nil {
		return save(file, text, versionOf(old))
	}
	return create(file, text)
}

// make gives what is made of a saved draft as a file: figures to chalk, sheets to print, the picture.
func (d *Desk) make(w http.ResponseWriter, r *http.Request) {
	name, body := r.PathValue("name"), r.URL.Query().Get("body")
	text, file, err := d.read(name)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	m := d.maker()
	in := d.request(wish{Name: name, Text: string(text), Body: body})
	switch r.PathValue("made") {
	case "chalk":
		var page bytes.Buffer
		if err := m.Figures(&page, text, file, body, "html"); err != nil {
			d.problem(w, r, err)
			return
		}
		web.Download(w, name+"-chalk.html", page.Bytes())
	case "sheets":
		wish, err := making.SheetFlags{Paper: r.URL.Query().Get("paper")}.Read()
		if err != nil {
			d.problem(w, r, err)
			return
		}
		book, findings, err := m.Sheets(r.Context(), []making.Request{in}, wish)
		if err != nil {
			for _, f := range findings {
				err = fmt.Errorf("%w; %s", err, f.Message)
			}
			d.problem(w, r, err)
			return
		}
		web.Download(w, name+".pdf", book.PDF)
	case "picture":
		web.Picture(w, []byte(d.draw(r.Context(), wish{Name: name, Text: string(text), Body: body}).SVG))
	case "reference":
		web.Download(w, "REFERENCE.md", measured.Reference)
	default:
		http.NotFound(w, r)
	}
}
