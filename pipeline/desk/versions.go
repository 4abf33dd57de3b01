package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/web"
)

// stamp is when a version was replaced, as its file's name has it, in UTC.
const stamp = "20060102-150405.000"

// oldVersion is a draft as it was until When.
type oldVersion struct {
	ID   string // its time, as in the file's name
	When string // the same for people, in the time of this machine
	Size int64
}

// versionsOf lists the old versions of a draft, the newest first.
func versionsOf(file string) (out []oldVersion, err error) {
	base := strings.TrimSuffix(filepath.Base(file), ".yaml")
	all, err := filepath.Glob(filepath.Join(filepath.Dir(file), ".versions", base+" 2*.yaml"))
	if err != nil {
		return nil, err
	}
	slices.Sort(all)
	slices.Reverse(all)
	for _, f := range all {
		id := strings.TrimSuffix(strings.TrimPrefix(filepath.Base(f), base+" "), ".yaml")
		when, err := time.Parse(stamp, id)
		if err != nil {
			continue // of another draft, whose name is longer
		}
		text, err := readPlain(f)
		if err != nil {
			continue // removed meanwhile, or no plain file
		}
		out = append(out, oldVersion{id, when.Local().Format("2 January 2006, 15:04:05"), int64(len(text))})
	}
	return out, nil
}

// oldText is what an old version holds.
func oldText(file, id string) ([]byte, error) {
	if _, err := time.Parse(stamp, id); err != nil {
		return nil, fmt.Errorf("there is no version %q: %w", id, fs.ErrNotExist)
	}
	base := strings.TrimSuffix(filepath.Base(file), ".yaml")
	return readPlain(filepath.Join(filepath.Dir(file), ".versions", base+" "+id+".yaml"))
}

// versions lists them.
func (d *Desk) versions(w http.ResponseWriter, r *http.Request) {
	file, err := fileOf(d.o.Drafts, r.PathValue("name"))
	var list []oldVersion
	if err == nil {
		list, err = versionsOf(file)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	d.show(w, r, http.StatusOK, "Versions of "+r.PathValue("name"), "versions.html", struct {
		Name string
		Most int
		List []oldVersion
	}{r.PathValue("name"), versionsKept, list})
}

// bringBack opens a draft with the words of an old version. Nothing is written: a save does that, and keeps what the
// file holds now as a version of its own.
func (d *Desk) bringBack(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	file, err := fileOf(d.o.Drafts, name)
	var old []byte
	if err == nil {
		old, err = oldText(file, r.PathValue("version"))
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	now, err := readPlain(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	d.page(w, r, http.StatusOK, deskPage{Name: name, Text: string(old), Version: versionOf(now), Unsaved: string(now) != string(old),
		Said: "These are the words of an older version. Nothing is changed until you save; then the file of now is kept as a version as well."}, nil)
}

// version says which version the file has now, for a page that looks whether an editor saved it.
func (d *Desk) version(w http.ResponseWriter, r *http.Request) {
	text, _, err := d.read(r.PathValue("name"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprint(w, versionOf(text))
}

// share gives a draft as one file for others.
func (d *Desk) share(w http.ResponseWriter, r *http.Request) {
	text, _, err := d.read(r.PathValue("name"))
	if err == nil {
		text, err = shared(text)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	web.Download(w, r.PathValue("name")+".yaml", text)
}
