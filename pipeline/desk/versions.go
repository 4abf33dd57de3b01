package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"slices"

	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/desk/sharing"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/web"
)

// oldVersion is a draft as it was until At.
type oldVersion struct {
	store.Version
	When string // At for people, in the time of this machine
	// Text is what it held, Change what was done to it then.
	Text   string
	Change differing.Change
}

// withChanges are versions, the newest first, with their texts and what became of each: the next one, or the file of now.
func withChanges(list []oldVersion, now []byte) (out []oldVersion) {
	next := string(now)
	for _, v := range list {
		text, err := readPlain(v.File)
		if err != nil {
			continue // removed meanwhile
		}
		v.Text = string(text)
		v.Change = differing.Of(v.Text, next)
		next = v.Text
		out = append(out, v)
	}
	return out
}

// since tells what differs between an old version of a draft and the file of now, for a page that shows it anew because
// another program changed it.
func (p *deskPage) since(file, id string) {
	old, err := oldText(file, id)
	if err != nil {
		return
	}
	if p.Since = differing.Of(string(old), p.Text); p.Since.Gone+p.Since.New > 0 {
		p.Said = "The file was changed by another program, and is shown as it is now. What stood here before is kept under Older versions."
	}
}

// keepShown keeps what stood on a page whose file another program changed: that program kept nothing. Where the newest version
// holds it already, that is the one.
func keepShown(file string, text []byte) (id string, err error) {
	saving.Lock()
	defer saving.Unlock()
	old, err := versionsOf(file)
	if err != nil {
		return "", err
	}
	if len(old) > 0 {
		if last, err := readPlain(old[0].File); err == nil && bytes.Equal(last, text) {
			return old[0].ID, nil
		}
	}
	return keepOld(file, text)
}

// differs answers a page, whose words come with the request, with what another program changed in the file since.
func (d *Desk) differs(w http.ResponseWriter, r *http.Request) {
	now, _, err := d.read(r.PathValue("name"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	c := differing.Of(r.PostFormValue("text"), string(now))
	lines := slices.Clone(c.Figures)
	for _, l := range c.Lines {
		lines = append(lines, fmt.Sprintf("%s, line %d: %s", l.Words(), l.No, l.Text))
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(lines) // the browser may be gone
}

// versionsOf lists the old versions of a draft, the newest first.
func versionsOf(file string) (out []oldVersion, err error) {
	all, err := store.Versions(file)
	for _, v := range slices.Backward(all) {
		info, err := os.Lstat(v.File)
		if err != nil || !info.Mode().IsRegular() {
			continue // removed meanwhile, or no plain file
		}
		out = append(out, oldVersion{v, v.At.Local().Format("2 January 2006, 15:04:05"), "", differing.Change{}})
	}
	return out, err
}

// oldText is what an old version holds.
func oldText(file, id string) ([]byte, error) {
	v, is := store.VersionOf(file, id)
	if !is {
		return nil, fmt.Errorf("there is no version %q: %w", id, fs.ErrNotExist)
	}
	return readPlain(v.File)
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
	now, _ := readPlain(file) // where it is gone, each line is
	list = withChanges(list, now)
	d.show(w, r, http.StatusOK, "Versions of "+r.PathValue("name"), "versions.html", struct {
		Name string
		Most int
		List []oldVersion
	}{r.PathValue("name"), versionsKept, list})
}

// cardVersions shows a card as it was, and writes one of those again: what the card is now is then kept as well.
func (d *Desk) cardVersions(w http.ResponseWriter, r *http.Request) {
	card, draft := r.PathValue("card"), r.FormValue("draft")
	file, now, err := d.cardFile(card)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	if id := r.PostFormValue("version"); id != "" {
		old, err := oldText(file, id)
		if err == nil {
			err = save(file, old, versionOf(now))
		}
		if err != nil {
			d.problem(w, r, err)
			return
		}
		http.Redirect(w, r, "/desk/draft/"+url.PathEscape(draft)+"?said=fitted&body="+url.QueryEscape(card)+"&was="+versionOf(now), http.StatusSeeOther)
		return
	}
	list, err := versionsOf(file)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	d.show(w, r, http.StatusOK, "Versions of the card "+card, "cardversions.html", struct {
		Card, Draft string
		List        []oldVersion
	}{card, draft, withChanges(list, now)})
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

// version says which version the file has now, and in a second line what the card is now that the page names, for a
// page that looks whether somebody else changed either.
func (d *Desk) version(w http.ResponseWriter, r *http.Request) {
	text, _, err := d.read(r.PathValue("name"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprint(w, versionOf(text))
	if card := r.URL.Query().Get("card"); card != "" {
		if _, text, err := d.cardFile(card); err == nil {
			fmt.Fprint(w, "\n"+cardSeen(card, text))
		}
	}
}

// share gives a draft as one file for others.
func (d *Desk) share(w http.ResponseWriter, r *http.Request) {
	text, _, err := d.read(r.PathValue("name"))
	if err == nil {
		if r.URL.Query().Get("bodies") == "no" {
			text, err = sharing.Bare(text)
		} else {
			text, err = sharing.Plain(text)
		}
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	web.Download(w, r.PathValue("name")+".yaml", text)
}
