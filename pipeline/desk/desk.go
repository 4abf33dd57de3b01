// Package desk is the drafting page: a garment written from body measures, its pieces seen while it is written.
// It takes measured drafts and measure cards of one folder, has them drawn by pipeline/making, and shows itself
// through pipeline/web.
package desk

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/lays"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// Options are where the desk finds and keeps what it draws.
type Options struct {
	// Drafts and Cards are the folders of drafts and of measure cards; they are made when something is saved.
	Drafts, Cards string
	// Room is the workroom file in force, the sample where there is none.
	Room func() *config.Workroom
	// Jobs are those of the daemon that takes drafts from the room's inbox, nil where none does.
	Jobs dropping.Jobs
	// Busy tells that a machine is sent to, so that the search of a lay pauses; nil for never.
	Busy func() bool
	// Phone gives an address by which one phone comes in, nil where the page is not shared.
	Phone func() string
	// End closes a desk that runs by itself, nil for one beside a daemon.
	End func()
}

// Desk answers for its pages.
type Desk struct {
	o       Options
	web     *web.Server
	pages   *template.Template
	scripts []string
	sheets  []string
	was     remembered
	once    once
	lays    lays.Kept
}

// New puts the desk's pages into a server.
func New(s *web.Server, o Options) (*Desk, error) {
	d := &Desk{o: o, web: s, lays: lays.Kept{Busy: o.Busy}}
	var err error
	if d.pages, err = template.New("desk").ParseFS(files, "*.html"); err == nil {
		d.pages, err = dropping.WithTicket(d.pages)
	}
	if err != nil {
		return nil, err
	}
	d.scripts = append(d.scripts, s.Large())
	for _, name := range []string{"desk.js", "unsaved.js", "light.js", "eighths.js", "steps.js", "sent.js", "desk.css", "steps.css"} {
		text, err := files.ReadFile(name)
		if err != nil {
			return nil, err
		}
		if name == "desk.css" { // pictures within a page have no style sheet of their own
			text = append(text, look.DarkSVG()...)
		}
		path := s.Asset(name, text)
		if strings.HasSuffix(name, ".js") {
			d.scripts = append(d.scripts, path)
		} else {
			d.sheets = append(d.sheets, path)
		}
	}
	s.Link("/desk", "Drafting")
	s.Handle("GET /desk", func(w http.ResponseWriter, r *http.Request) { d.shelf(w, r, http.StatusOK, shelfForm{}) })
	s.Handle("GET /desk/starter/{name}/picture", d.starterPicture)
	s.Handle("POST /desk/new", d.begin)
	s.HandleUpTo(formLimit, "POST /desk/open", d.takeIn)
	s.Handle("GET /desk/draft/{name}", d.open)
	s.HandleUpTo(formLimit, "POST /desk/draft/{name}", d.write)
	s.HandleUpTo(2*textLimit, "POST /desk/draw", d.drawn)
	s.Handle("GET /desk/words", words)
	s.Handle("GET /desk/draft/{name}/{made}", d.made)
	s.Handle("GET /desk/draft/{name}/versions", d.versions)
	s.Handle("GET /desk/draft/{name}/version/{version}", d.bringBack)
	s.Handle("GET /desk/draft/{name}/version", d.version)
	s.HandleUpTo(formLimit, "POST /desk/draft/{name}/differs", d.differs)
	s.Handle("GET /desk/draft/{name}/share", d.share)
	s.Handle("POST /desk/draft/{name}/send", d.send)
	s.Handle("GET /desk/draft/{name}/sent", d.sent)
	s.Handle("POST /desk/card/{card}/fitting", d.fit)
	s.Handle("GET /desk/card/{card}/versions", d.cardVersions)
	s.Handle("POST /desk/card/{card}/versions", d.cardVersions)
	if o.End != nil {
		s.LinkOwn("/desk/phone", "Phone")
		s.HandleOwn("GET /desk/phone", d.phone)
		s.HandleOwn("POST /desk/end", d.end)
	}
	return d, nil
}

// maker makes by the workroom file in force; what it tells of a lay is of the one that is kept.
func (d *Desk) maker() *making.Maker {
	m := making.New(d.o.Room())
	m.Kept = func(ctx context.Context, r making.Request) (*cloths.Layout, error) { return d.lays.Of(ctx, m, r) }
	return m
}

func (d *Desk) show(w http.ResponseWriter, r *http.Request, status int, title, name string, data any) {
	var text strings.Builder
	if err := d.pages.ExecuteTemplate(&text, name, data); err != nil {
		d.problem(w, r, err)
		return
	}
	d.web.Show(w, r, status, web.Page{Title: title, Main: template.HTML(text.String()), Scripts: d.scripts, Sheets: d.sheets}) //nolint:gosec // made by html/template
}

func (d *Desk) problem(w http.ResponseWriter, r *http.Request, err error) {
	status := http.StatusBadRequest
	if errors.Is(err, fs.ErrNotExist) {
		status = http.StatusNotFound
	}
	text := d.plainPaths(err.Error())
	var path *fs.PathError
	if errors.As(err, &path) && status == http.StatusNotFound {
		text = fmt.Sprintf("there is no file %q here: it was deleted or renamed, or never there", filepath.Base(path.Path))
	}
	d.web.Problem(w, r, status, "Not done", text)
}

// plainPaths says files by their names within the desk's folders: nobody there asked where those lie.
func (d *Desk) plainPaths(text string) string {
	return strings.NewReplacer(d.o.Cards+string(filepath.Separator), "cards/", filepath.Clean(d.o.Drafts)+string(filepath.Separator), "", d.o.Drafts+"/", "").Replace(text)
}

// shelfForm is what was asked of the shelf and refused: the fault stands at its field.
type shelfForm struct{ Name, Unit, Slip, FileSlip string }

// shelf shows what one can begin with, and what lies in the folder.
func (d *Desk) shelf(w http.ResponseWriter, r *http.Request, status int, form shelfForm) {
	type starter struct{ Name, Style, Note string }
	data := struct {
		shelfForm
		Folder   string
		Drafts   []string
		Starters []starter
		Ends     bool
	}{shelfForm: form, Ends: d.o.End != nil && !web.SessionOf(r).Guest, Folder: d.o.Drafts, Drafts: folder.Names(d.o.Drafts)}
	data.Drafts = slices.DeleteFunc(data.Drafts, func(name string) bool { // a card may lie beside its draft
		text, err := folder.Read(filepath.Join(d.o.Drafts, name+".yaml"))
		return err == nil && draft.IsCard(text)
	})
	for _, name := range samples.Starters() {
		style, note := headOf(samples.Read(name + ".yaml"))
		data.Starters = append(data.Starters, starter{name, style, note})
	}
	d.show(w, r, status, "Drafting", "shelf.html", data)
}

var styleLine = regexp.MustCompile(`(?m)^style: *"?([^"\n#]+)`)

// headOf is a draft's style and the comment with which it begins.
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

// begin copies a starter, or the empty sheet, into the folder under a name of one's own.
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
	file, err := folder.File(d.o.Drafts, name)
	if err == nil {
		err = folder.Create(file, text)
	}
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{Name: name, Unit: r.PostFormValue("unit"), Slip: d.plainPaths(err.Error())})
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name), http.StatusSeeOther)
}

// takeIn puts a draft file that somebody sent into the folder, under its own name.
func (d *Desk) takeIn(w http.ResponseWriter, r *http.Request) {
	sent, about, err := r.FormFile("file")
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{FileSlip: "no file was chosen: choose a draft, whose name ends in .yaml"})
		return
	}
	defer sent.Close() //nolint:errcheck // read whole, or refused
	text, err := io.ReadAll(io.LimitReader(sent, textLimit+1))
	name, is := strings.CutSuffix(filepath.Base(about.Filename), ".yaml")
	switch {
	case err != nil:
	case !is:
		err = fmt.Errorf("%q is not opened here: the name of a draft ends in .yaml", about.Filename)
	case len(text) > textLimit || !utf8.Valid(text):
		err = fmt.Errorf("%q is not opened: a draft is plain text of at most %d kB", about.Filename, textLimit>>10)
	case draft.IsCard(text):
		err = fmt.Errorf("%q is a measure card and no draft: put it into the folder cards", about.Filename)
	}
	var file string
	if err == nil {
		file, err = folder.File(d.o.Drafts, name)
	}
	if err == nil {
		err = folder.Create(file, text)
	}
	if err != nil {
		d.shelf(w, r, http.StatusBadRequest, shelfForm{FileSlip: d.plainPaths(err.Error())})
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name), http.StatusSeeOther)
}
