// Package desk is the drafting page: a person writes a garment from body measures and sees its pieces meanwhile. It
// takes the measured drafts and measure cards of one folder, has them drawn by pipeline/making, and shows itself
// through pipeline/web.
package desk

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path/filepath"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/lays"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// Options are the folders and functions that the desk uses.
type Options struct {
	// Drafts and Cards are the folders of drafts and of measure cards; they are made at the first save.
	Drafts, Cards string
	// Room is the workroom file in force, the sample without one.
	Room func() *config.Workroom
	// Jobs are those of the daemon that takes drafts from the room's inbox, nil without a daemon.
	Jobs dropping.Jobs
	// Busy tells that a device is sent to, so that the search for a lay pauses; nil for never.
	Busy func() bool
	// Sharing opens a desk without a daemon to a phone, nil beside a daemon.
	Sharing Sharing
	// End closes a desk without a daemon, nil beside a daemon.
	End func()
}

// Sharing opens the pages to this machine's network, and closes them again.
type Sharing interface {
	// Share opens them until Unshare, which also ends the access of those who came in by it.
	Share() error
	Unshare() error
	// Phone gives an address for one phone, "" while they are not shared.
	Phone() string
}

// Desk serves its pages.
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

// maker makes by the workroom file in force, and reads lays from the desk's cache.
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

// plainPaths replaces paths in the desk's folders by file names: where the folders are is of no use on a page.
func (d *Desk) plainPaths(text string) string {
	return strings.NewReplacer(d.o.Cards+string(filepath.Separator), "cards/", filepath.Clean(d.o.Drafts)+string(filepath.Separator), "", d.o.Drafts+"/", "").Replace(text)
}

// fileOf is the file of a draft whose name folder.IsName accepts.
func (d *Desk) fileOf(name string) string {
	file, err := folder.File(d.o.Drafts, name)
	if err != nil {
		return filepath.Join(d.o.Drafts, "draft.yaml") // stands for the folder; the file is not read
	}
	return file
}
