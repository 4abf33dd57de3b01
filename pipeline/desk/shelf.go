package desk

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/web"
)

// shelfForm is a refused form of the shelf, with the fault at its field.
type shelfForm struct{ Name, Unit, Slip, FileSlip string }

// shelf shows the starters, and the drafts in the folder.
func (d *Desk) shelf(w http.ResponseWriter, r *http.Request, status int, form shelfForm) {
	type starter struct{ Name, Style, Note string }
	data := struct {
		shelfForm
		Folder   string
		Drafts   []string
		Starters []starter
		Ends     bool
	}{shelfForm: form, Ends: d.o.End != nil && !web.SessionOf(r).Guest, Folder: d.o.Drafts, Drafts: folder.Names(d.o.Drafts)}
	data.Drafts = slices.DeleteFunc(data.Drafts, func(name string) bool { // a card may be beside its draft
		text, err := folder.Read(d.fileOf(name))
		return err == nil && draft.IsCard(text)
	})
	for _, name := range samples.Starters() {
		style, note := headOf(samples.Read(name + ".yaml"))
		data.Starters = append(data.Starters, starter{name, style, note})
	}
	d.show(w, r, status, "Drafting", "shelf.html", data)
}

var styleLine = regexp.MustCompile(`(?m)^style: *"?([^"\n#]+)`)

// headOf is a draft's style and the comment at its beginning.
func headOf(text []byte) (style, note string) {
	if m := styleLine.FindSubmatch(text); m != nil {
		style = strings.TrimSpace(string(m[1]))
	}
	var lines []string
	for line := range strings.Lines(string(text)) {
		said, is := strings.CutPrefix(line, "#")
		if !is {
			break
		}
		lines = append(lines, strings.TrimSpace(said))
	}
	note, _, _ = strings.Cut(strings.Join(lines, " "), ". ")
	return style, note
}

func (d *Desk) starterPicture(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	if !slices.Contains(samples.Starters(), name) {
		http.NotFound(w, r)
		return
	}
	shown, err := d.once.made(r.Context(), "starter "+name, func() ([]byte, error) {
		look := d.maker().Look(making.Request{Name: name + ".yaml", Source: samples.Read(name + ".yaml")})
		return picture.Pattern(look.Pattern, nil, picture.Options{Small: true, Coarse: coarse}).SVG(), nil
	})
	if err != nil {
		return // the browser is gone
	}
	w.Header().Set("Cache-Control", "private, max-age=3600") // a starter changes with the program only
	web.Picture(w, shown)
}

// begin copies a starter, or the empty sheet, into the folder under a new name.
func (d *Desk) begin(w http.ResponseWriter, r *http.Request) {
	from, name := r.PostFormValue("starter"), strings.TrimSpace(r.PostFormValue("name"))
	var text []byte
	switch {
	case from == "":
		from, text = "own garment", []byte(samples.Empty(r.PostFormValue("unit")))
	case slices.Contains(samples.Starters(), from):
		text = samples.Read(from + ".yaml")
	default:
		d.problem(w, r, fmt.Errorf("there is no starter %q", from))
		return
	}
	if name == "" {
		name = folder.Free(folder.Names(d.o.Drafts), from)
	}
	called, err := folder.Named(name)
	if err == nil {
		err = folder.Create(d.fileOf(called), text)
	}
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{Name: name, Unit: r.PostFormValue("unit"), Slip: d.plainPaths(err.Error())})
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(called), http.StatusSeeOther)
}

// takeIn saves an uploaded draft file in the folder, under its own name.
func (d *Desk) takeIn(w http.ResponseWriter, r *http.Request) {
	sent, about, err := r.FormFile("file")
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{FileSlip: "no file was chosen: choose a draft, whose name ends in .yaml or .yml"})
		return
	}
	defer sent.Close() //nolint:errcheck // read whole, or refused
	text, err := io.ReadAll(io.LimitReader(sent, textLimit+1))
	ext := strings.ToLower(filepath.Ext(about.Filename))
	switch {
	case err != nil:
	case ext != ".yaml" && ext != ".yml":
		err = fmt.Errorf("%q is not opened here: the name of a draft ends in .yaml or .yml", about.Filename)
	case len(text) > textLimit || !utf8.Valid(text):
		err = fmt.Errorf("%q is not opened: a draft is plain text of at most %d kB", about.Filename, textLimit>>10)
	case draft.IsCard(text):
		err = fmt.Errorf("%q is a measure card and no draft: put it into the folder cards", about.Filename)
	}
	var name string
	if err == nil {
		name, err = folder.Named(filepath.Base(about.Filename))
	}
	if err == nil {
		err = folder.Create(d.fileOf(name), text)
	}
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{FileSlip: d.plainPaths(err.Error())})
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name), http.StatusSeeOther)
}
