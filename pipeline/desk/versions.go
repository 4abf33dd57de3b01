package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/desk/folder"
)

// since sets the differences between an old version of a draft and the present file, for a page that was reloaded
// because another program changed the file.
func (p *deskPage) since(file, id string) {
	old, err := folder.OldText(file, id)
	if err != nil {
		return
	}
	if p.Since = differing.Of(string(old), p.Text); p.Since.Gone+p.Since.New > 0 {
		p.Said = "The file was changed by another program, and is shown as it is now. What stood here before is kept under Older versions."
	}
}

// differs answers a page, which sends its text, with what another program changed in the file since.
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

// versions lists a draft's old versions.
func (d *Desk) versions(w http.ResponseWriter, r *http.Request) {
	file, err := folder.File(d.o.Drafts, r.PathValue("name"))
	var list []folder.Old
	if err == nil {
		list, err = folder.Versions(file)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	now, _ := folder.Read(file) // without a file all its lines are gone
	list = folder.WithChanges(list, now)
	d.show(w, r, http.StatusOK, "Versions of "+r.PathValue("name"), "versions.html", struct {
		Name string
		Most int
		List []folder.Old
	}{r.PathValue("name"), folder.Most, list})
}

// cardVersions shows old versions of a card, and restores one: the present card is then kept as well.
func (d *Desk) cardVersions(w http.ResponseWriter, r *http.Request) {
	card, draft := r.PathValue("card"), r.FormValue("draft")
	file, now, err := d.cardFile(card)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	if id := r.PostFormValue("version"); id != "" {
		old, err := folder.OldText(file, id)
		if measures, kind := cardtext.Measures(old); err == nil {
			err = d.misread(unitOr(cardtext.Unit(old), "cm"), kind, measures)
		}
		if err == nil {
			err = folder.Save(file, old, folder.VersionOf(now))
		}
		if err != nil {
			d.problem(w, r, err)
			return
		}
		http.Redirect(w, r, "/desk/draft/"+url.PathEscape(draft)+"?said=fitted&body="+url.QueryEscape(card)+"&was="+folder.VersionOf(now), http.StatusSeeOther)
		return
	}
	list, err := folder.Versions(file)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	d.show(w, r, http.StatusOK, "Versions of the card "+card, "cardversions.html", struct {
		Card, Draft string
		List        []folder.Old
	}{card, draft, folder.WithChanges(list, now)})
}

// bringBack opens a draft with the text of an old version. Nothing is written: a save does that, and keeps the file's
// present text as a version.
func (d *Desk) bringBack(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	file, err := folder.File(d.o.Drafts, name)
	var old []byte
	if err == nil {
		old, err = folder.OldText(file, r.PathValue("version"))
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	now, err := folder.Read(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	d.page(w, r, http.StatusOK, deskPage{Name: name, Text: string(old), Version: folder.VersionOf(now), Unsaved: string(now) != string(old),
		Said: "These are the words of an older version. Nothing is changed until you save; then the file of now is kept as a version as well."}, nil)
}

// version gives the file's present version, in a second line that of the page's card, and in a line each those of the
// drafts that it takes from, so that a page sees when another program changes one of them.
func (d *Desk) version(w http.ResponseWriter, r *http.Request) {
	name, q := r.PathValue("name"), r.URL.Query()
	text, _, err := d.read(name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.problem(w, r, err)
		return
	}
	lines := []string{folder.VersionOf(text)}
	card, blocks := q.Get("card"), q["block"]
	if _, text, err := d.cardFile(card); err == nil && card != "" {
		lines = append(lines, cardSeen(card, text))
	} else if len(blocks) > 0 {
		lines = append(lines, "")
	}
	for _, block := range blocks[:min(len(blocks), blocksAsked)] {
		lines = append(lines, d.blockVersion(block, name))
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprint(w, strings.Join(lines, "\n"))
}

// blocksAsked bounds the blocks that a page may ask for at once.
const blocksAsked = 20
