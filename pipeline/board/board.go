// Package board shows the workroom's pages: the jobs of each device, with pictures and buttons, calibrations and
// materials. It takes what pipeline/control and the ledger tell, passes wishes to pipeline/control, and shows itself
// through pipeline/web.
package board

import (
	"context"
	"embed"
	"errors"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/laid"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/stock"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// Options are what the board needs.
type Options struct {
	Jobs *control.Jobs
	// Room is the workroom file in force.
	Room func() *config.Workroom
	Log  *zap.Logger
	// Now is the clock; nil is time.Now.
	Now func() time.Time
}

// Board serves its pages.
type Board struct {
	o       Options
	web     *web.Server
	pages   *template.Template
	scripts []string
	sheets  []string
	*watcher
	pics *jobpicture.Pictures
	lays *laid.Cloths
	// seen serializes forms that say what their page showed, so that each is checked and carried out before the next.
	seen sync.Mutex
}

// New adds the board's pages to a server.
func New(s *web.Server, o Options) (*Board, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	b := &Board{o: o, web: s, lays: &laid.Cloths{Room: o.Room, Busy: func() bool { return len(o.Jobs.Now()) > 0 },
		Free: func(ctx context.Context) ([]ledger.Stock, error) { return stock.Free(ctx, o.Jobs) }}}
	b.pics = &jobpicture.Pictures{Jobs: o.Jobs, Kind: b.kind, Unit: func() string { return o.Room().Units }, Now: o.Now, Problem: b.problem}
	b.watcher = &watcher{o.Jobs, s.Events, o.Now, b.problem, b.pics}
	pages, err := template.New("board").Funcs(template.FuncMap{"clock": b.clock, "join": strings.Join, "count": pattern.Count, "onpage": onPage,
		"svg": func(of string) template.HTML { return template.HTML(of) }, //nolint:gosec // the drift picture, of numbers and days only
	}).ParseFS(files, "*.html")
	if err == nil {
		pages, err = dropping.WithTicket(pages)
	}
	if err != nil {
		return nil, err
	}
	b.pages = pages
	s.Events.Begin = func(ctx context.Context, after int64) ([]web.Message, error) {
		all, _, err := b.since(ctx, after)
		return all, err
	}
	b.scripts = append(b.scripts, s.Large())
	own, err := files.ReadDir(".")
	if err != nil {
		return nil, err
	}
	for _, f := range own {
		ext := filepath.Ext(f.Name())
		if ext != ".js" && ext != ".css" {
			continue
		}
		text, err := files.ReadFile(f.Name())
		if err != nil {
			return nil, err
		}
		path := s.Asset(f.Name(), text)
		if ext == ".js" {
			b.scripts = append(b.scripts, path)
		} else {
			b.sheets = append(b.sheets, path)
		}
	}
	b.scripts = append(b.scripts, s.Stream) // last, since the others listen to it
	b.routes(s)
	return b, nil
}

// show answers with a page; own is the job of the page, nil for none.
func (b *Board) show(w http.ResponseWriter, r *http.Request, title, name string, data any, own *card) {
	b.showAs(http.StatusOK, w, r, title, name, data, own)
}

func (b *Board) showAs(status int, w http.ResponseWriter, r *http.Request, title, name string, data any, own *card) {
	var text, foot strings.Builder
	err := b.pages.ExecuteTemplate(&text, name, data)
	if stop := b.stoppable(r.Context(), own); err == nil && len(stop) > 0 {
		err = b.pages.ExecuteTemplate(&foot, "foot.html", stop)
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.web.Show(w, r, status, web.Page{Title: title, Main: template.HTML(text.String()), Scripts: b.scripts, Sheets: b.sheets, Seen: seenOf(r), Foot: template.HTML(foot.String())}) //nolint:gosec // made by html/template
}

// stoppable are the jobs that can be paused or canceled at the foot of a page: its own until it has ended, and all
// that run.
func (b *Board) stoppable(ctx context.Context, own *card) (all []card) {
	if own != nil && !own.State.Ended() {
		all = append(all, *own)
	}
	now := b.sentNow()
	for _, p := range b.o.Jobs.Now() {
		if own != nil && own.ID == p.Job {
			continue
		}
		if j, err := b.o.Jobs.Job(ctx, p.Job); err == nil && j.State == ledger.Processing {
			all = append(all, b.cardOf(ctx, j, now))
		}
	}
	return all
}

// problem shows why something was not done: a wish that cannot be met, or a fault of the program.
func (b *Board) problem(w http.ResponseWriter, r *http.Request, err error) {
	status := http.StatusInternalServerError
	var refusal *control.Refusal
	switch {
	case errors.Is(err, ledger.ErrNoJob), errors.Is(err, fs.ErrNotExist):
		status = http.StatusNotFound
	case errors.As(err, &refusal), errors.Is(err, ledger.ErrState):
		status = http.StatusConflict
	}
	text := err.Error()
	if refusal != nil && refusal.Hint != "" {
		text += "; " + refusal.Hint
	}
	b.notDone(w, r, status, "Not done", onPage(text))
}

// notDone shows why something was not done, with a link back to the job, the device or the form.
func (b *Board) notDone(w http.ResponseWriter, r *http.Request, status int, title, text string) {
	back, words := "", ""
	id, name := r.PathValue("id"), r.PathValue("name")
	switch {
	case r.Method != http.MethodPost:
	case id != "":
		back, words = "/job/"+id, "Back to job "+id
	case name != "":
		back, words = "/device/"+url.PathEscape(name), "Back to "+name
	case r.URL.Path == "/drop":
		back, words = "/drop", "Back to the form; it is filled in again there"
	}
	b.web.ProblemBack(w, r, status, title, text, back, words)
}

// withJob reads the job that a path names.
func (b *Board) withJob(fn func(http.ResponseWriter, *http.Request, ledger.Job)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
		if err != nil {
			b.web.Problem(w, r, http.StatusNotFound, "No such job", "a job is a number")
			return
		}
		j, err := b.o.Jobs.Job(r.Context(), id)
		if err != nil {
			b.problem(w, r, err)
			return
		}
		fn(w, r, j)
	}
}

// clock formats a time for people.
func (b *Board) clock(t time.Time) string {
	t = t.Local()
	now := b.o.Now().Local()
	if t.Year() == now.Year() && t.YearDay() == now.YearDay() {
		return t.Format("15:04")
	}
	return t.Format("2 Jan 2006 15:04")
}

// file sends a file of a job as a download, whatever its type.
func (b *Board) file(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	name := r.PathValue("name")
	as := name
	switch name {
	case store.ProgramBytes:
		as = "job-" + strconv.FormatInt(j.ID, 10) + ".bin"
	case j.Original:
		as = j.File
	}
	data, err := b.o.Jobs.Read(r.Context(), j.ID, name)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	web.Download(w, as, data)
}
