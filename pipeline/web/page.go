package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"html/template"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tracewheel/pipeline/look"
)

//go:embed frame.html static
var files embed.FS

var frame = template.Must(template.ParseFS(files, "frame.html"))

// Page is what is shown within the frame.
type Page struct {
	Title string
	// Main is the body, already made by html/template.
	Main template.HTML
	// Scripts and Sheets are paths that Asset gave.
	Scripts, Sheets []string
	// Seen is the number of the last event that the page shows, from which its scripts continue. "" for a page that does
	// not change.
	Seen string
	// Foot is at the foot of the window: the buttons that stop a machine.
	Foot template.HTML
}

type asset struct {
	kind string
	data []byte
}

// Asset serves a script or a style sheet to everybody, so it must hold nothing of a workroom. It is called before Start.
// The path has the file's sum in it, so that browsers may keep the file.
func (s *Server) Asset(name string, data []byte) (path string) {
	sum := sha256.Sum256(data)
	path = "/static/" + hex.EncodeToString(sum[:6]) + "/" + name
	kind := "text/css; charset=utf-8"
	if strings.HasSuffix(name, ".js") {
		kind = "text/javascript; charset=utf-8"
	}
	s.assets[path] = asset{kind, data}
	return path
}

// Show sends a page within the frame.
func (s *Server) Show(w http.ResponseWriter, r *http.Request, status int, p Page) {
	session := SessionOf(r)
	data := struct {
		Page
		Workroom, Style string
		Keys            string
		Find            Search
		Nav             []Link
		Here, Who       string
		Inside, Plain   bool
	}{p, s.o.Title(), s.style, s.keys, s.find, s.linksFor(session), r.URL.Path, session.Who, session.ID != 0, s.plainly(r.Context())}
	var b bytes.Buffer
	if err := frame.Execute(&b, data); err != nil {
		http.Error(w, "the page could not be made: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(readable(b.Bytes())) // the browser may be gone
}

// linksFor are the links that a browser is shown, by its session.
func (s *Server) linksFor(b Session) []Link {
	return slices.DeleteFunc(slices.Clone(s.nav), func(l Link) bool { return l.own && b.Guest })
}

var sheet = func() []byte {
	own, err := files.ReadFile("static/web.css")
	if err != nil {
		panic(err) // embedded
	}
	large, err := files.ReadFile("static/large.css")
	if err != nil {
		panic(err) // embedded
	}
	return slices.Concat([]byte(look.Style()), own, large)
}()

// script is the text of a script of this package.
func script(name string) []byte {
	text, err := files.ReadFile("static/" + name)
	if err != nil {
		panic(err) // embedded
	}
	return text
}

// Large is the script that zooms and measures in the pictures of elements with data-large, for Page.Scripts.
func (s *Server) Large() string { return s.large }

func (s *Server) ownPages() {
	s.style = s.Asset("style.css", sheet)
	s.Stream = s.Asset("stream.js", script("stream.js"))
	s.keys = s.Asset("keys.js", script("keys.js"))
	s.large = s.Asset("large.js", script("large.js"))
	s.mux.HandleFunc("GET /static/", func(w http.ResponseWriter, r *http.Request) {
		a, ok := s.assets[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", a.kind)
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		_, _ = w.Write(a.data) // the browser may be gone
	})
	if s.o.Home != "/" {
		s.Handle("GET /{$}", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, s.o.Home, http.StatusSeeOther) })
	}
	s.mux.HandleFunc("GET /enter", func(w http.ResponseWriter, r *http.Request) {
		q := r.URL.Query()
		s.showDoor(w, r, http.StatusOK, door{Code: cut(q.Get("code"), 20), Next: q.Get("next")})
	})
	s.mux.HandleFunc("POST /enter", s.enter)
	s.Handle("GET /events", func(w http.ResponseWriter, r *http.Request) {
		s.Events.serve(w, r, func() bool { _, ok := s.Door.session(r); return ok })
	})
	s.Handle("POST /who", func(w http.ResponseWriter, r *http.Request) {
		who := strings.Join(strings.Fields(strings.Map(printable, r.PostFormValue("who"))), " ")
		if err := s.Door.Name(SessionOf(r).ID, cut(who, 60)); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		http.Redirect(w, r, "/browsers", http.StatusSeeOther)
	})
	s.Handle("GET /browsers", s.showBrowsers)
	s.Handle("POST /browsers/{id}/withdraw", s.withdraws(s.Door.Withdraw))
	s.Handle("POST /browsers/{id}/unpair", s.withdraws(s.Door.Unpair))
	s.Handle("POST /pair", func(w http.ResponseWriter, r *http.Request) {
		if err := s.Door.Pair(SessionOf(r).ID, r.PostFormValue("code")); err != nil {
			s.ProblemBack(w, r, http.StatusForbidden, "Not paired", err.Error(), Within(r.PostFormValue("back"), "/browsers"), "Back, to try another code")
			return
		}
		http.Redirect(w, r, Within(r.PostFormValue("back"), "/browsers"), http.StatusSeeOther)
	})
}

// withdraws takes from a browser what it may.
func (s *Server) withdraws(from func(id int) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		id, err := strconv.Atoi(r.PathValue("id"))
		if own := SessionOf(r); own.Guest && own.ID != id {
			s.Problem(w, r, http.StatusForbidden, "Not withdrawn", "a guest withdraws itself alone; others are withdrawn at the machine itself")
			return
		}
		if err == nil && id > 0 {
			err = from(id)
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		http.Redirect(w, r, "/browsers", http.StatusSeeOther)
	}
}

// Within gives to where it is a path of this server, otherwise or.
func Within(to, or string) string {
	if strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//") && !strings.ContainsFunc(to, func(r rune) bool { return r == '\\' || r <= ' ' || r == 0x7f }) {
		return to
	}
	return or
}

func printable(r rune) rune {
	if unicode.IsPrint(r) || r == ' ' {
		return r
	}
	return -1
}

// clientOf is the address from which a request came, without its port; for IPv6 the network, because one client may have
// all its addresses (RFC 6177).
func clientOf(r *http.Request) string {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	a := at.Addr().Unmap().WithZone("")
	if a.Is6() && !a.IsLoopback() {
		if p, err := a.Prefix(64); err == nil {
			return p.String()
		}
	}
	return a.String()
}

func (s *Server) enter(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, formLimit)
	if err := r.ParseForm(); err != nil { // this is no wrong code
		status, text := BodyFault(err, formLimit)
		s.showDoor(w, r, status, door{Fault: "the code: " + text})
		return
	}
	cookie, err := s.Door.Enter(r.PostFormValue("code"), r.UserAgent(), clientOf(r))
	if errors.Is(err, ErrCode) || errors.Is(err, ErrGuess) {
		s.showDoor(w, r, http.StatusForbidden, door{Next: r.PostFormValue("next"), Fault: err.Error()})
		return
	}
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: s.Door.cookie, Value: cookie, Path: "/", HttpOnly: true, Secure: s.o.Cert != "",
		SameSite: http.SameSiteStrictMode, MaxAge: int(sessionLasts.Seconds())})
	http.Redirect(w, r, Within(r.PostFormValue("next"), s.o.Home), http.StatusSeeOther)
}

// door is the content of the page that asks for a code; Next is the page that was asked for.
type door struct{ Code, Next, Fault, From string }

var doorPage = template.Must(template.New("door").Parse(`
<h1>Come in with a code</h1>
{{with .Fault}}<p class="fault" role="alert">{{.}}</p>{{end}}
<p>Drafts hold people's measures, so this page asks for a code first. <code>{{.From}}</code> in a terminal shows one; it is good for five minutes.</p>
<form method="post" action="/enter" class="ask">{{with .Next}}<input type="hidden" name="next" value="{{.}}">{{end}}<label for="code">Code</label>
<input id="code" name="code" value="{{.Code}}" autocomplete="off" autocapitalize="characters" spellcheck="false" required maxlength="20">
<button>Open the page</button></form>`))

// showDoor asks for a code. A code in an address is used up only when a person presses the button, because browsers open
// addresses ahead.
func (s *Server) showDoor(w http.ResponseWriter, r *http.Request, status int, d door) {
	d.From = s.o.CodeFrom
	s.Show(w, r, status, Page{Title: "Come in", Main: render(doorPage, d)})
}

var problemPage = template.Must(template.New("problem").Parse(`<h1>{{.Title}}</h1><p class="fault" role="alert">{{.Text}}</p><p>{{if .Back}}<a href="{{.Back}}">{{.Words}}</a> &middot; {{end}}<a href="{{.Home}}">To the first page</a></p>`))

// Problem shows why something was not done.
func (s *Server) Problem(w http.ResponseWriter, r *http.Request, status int, title, text string) {
	s.ProblemBack(w, r, status, title, text, "", "")
}

// ProblemBack is Problem with a link to the page from which it was asked, and its words.
func (s *Server) ProblemBack(w http.ResponseWriter, r *http.Request, status int, title, text, back, words string) {
	s.Show(w, r, status, Page{Title: title, Main: render(problemPage, struct{ Title, Text, Home, Back, Words string }{title, text, s.o.Home, back, words})})
}

var browsersPage = template.Must(template.New("browsers").Parse(`
<h1>Who may see this page</h1>
<form method="post" action="/who" class="ask"><label for="who">Your name, as it stands in the history of what you do here</label>
<input id="who" name="who" value="{{.Who}}" maxlength="60" autocomplete="name"><button>Keep the name</button></form>
<div class="scroll" tabindex="0" role="region" aria-label="Browsers"><table><caption>Browsers that came in by a code</caption><thead><tr><th scope="col">Name</th><th scope="col">Since</th><th scope="col">Browser</th><th scope="col">Releases cutters</th><th scope="col">Withdraw</th></tr></thead>
<tbody>{{range .All}}<tr><td>{{if .Who}}{{.Who}}{{else}}no name{{end}}{{if .Here}} (this one){{end}}</td><td>{{.Since.Local.Format "2 Jan 2006 15:04"}}</td><td>{{.Agent}}</td><td>{{if .Paired}}yes, until the program ends{{if or .Here (not $.Guest)}}<form method="post" action="/browsers/{{.ID}}/unpair"><button aria-label="No more cutters for browser {{.ID}}">No more cutters</button></form>{{end}}{{else}}no{{end}}</td>
<td>{{if or .Here (not $.Guest)}}<form method="post" action="/browsers/{{.ID}}/withdraw"><button aria-label="Withdraw browser {{.ID}}">Withdraw</button></form>{{end}}</td></tr>{{end}}</tbody></table></div>`))

func (s *Server) showBrowsers(w http.ResponseWriter, r *http.Request) {
	type row struct {
		Session
		Paired, Here bool
	}
	own := SessionOf(r)
	data := struct {
		Who   string
		Guest bool
		All   []row
	}{Who: own.Who, Guest: own.Guest}
	for _, o := range s.Door.Sessions() {
		data.All = append(data.All, row{o, s.Door.Paired(o.ID), o.ID == own.ID})
	}
	s.Show(w, r, http.StatusOK, Page{Title: "Who may see this page", Main: render(browsersPage, data)})
}

// render gives a template's text; one that fails is a fault of the program.
func render(t *template.Template, data any) template.HTML {
	var b strings.Builder
	if err := t.Execute(&b, data); err != nil {
		return template.HTML(template.HTMLEscapeString(err.Error())) //nolint:gosec // escaped
	}
	return template.HTML(b.String()) //nolint:gosec // made by html/template
}
