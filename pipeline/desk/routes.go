package desk

import (
	"embed"
	"html/template"
	"net/http"
	"strings"

	"tracewheel/pipeline/desk/lays"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// New adds the desk's pages to a server.
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
		s.HandleOwn("GET /desk/phone", func(w http.ResponseWriter, r *http.Request) { d.phone(w, r, http.StatusOK, "") })
		s.HandleOwn("POST /desk/phone", d.shareOut)
		s.HandleOwn("POST /desk/phone/end", d.unshare)
		s.HandleOwn("POST /desk/end", d.end)
	}
	return d, nil
}
