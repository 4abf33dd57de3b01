package board

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/web"
)

// field is a search field for past jobs.
type field struct{ Name, Label, Value string }

// jobNumber is a word that may be the number of a job: 7, #7, job 7.
var jobNumber = regexp.MustCompile(`^(?i:job\s*)?#?\s*([0-9]{1,18})$`)

// past searches jobs of earlier days.
func (b *Board) past(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	f := ledger.Filter{Newest: true, Faulty: true, Device: q.Get("device"), Due: q.Get("due"), Limit: listed + 1}
	data := struct {
		Fields                     []field
		Device, Since, Due, Faults string
		Devices                    []string
		Jobs                       []card
		More                       bool
	}{Device: f.Device, Since: q.Get("since"), Due: f.Due, Devices: b.o.Room().DeviceNames()}
	for _, one := range []struct {
		name, label string
		at          *string
	}{{"word", "Word", &f.Word}, {"wearer", "Wearer", &f.Wearer}, {"production", "Production", &f.Production}, {"style", "Style", &f.Style},
		{"piece", "Piece", &f.Piece}, {"material", "Material", &f.Material}} {
		*one.at = strings.TrimSpace(q.Get(one.name))
		data.Fields = append(data.Fields, field{one.name, one.label, *one.at})
	}
	if err := config.Day(f.Due); err != nil {
		data.Faults, f.Due = "fitting on: "+err.Error()+". Nothing is listed", ""
	}
	if data.Since != "" {
		day, err := time.ParseInLocation(time.DateOnly, data.Since, time.Local)
		if err != nil {
			data.Faults = fmt.Sprintf("received since: %q is no day; write it as 2026-03-01. Nothing is listed", data.Since)
		}
		f.Since = day
	}
	var jobs []ledger.Job
	if data.Faults == "" { // otherwise the list would answer another search
		var err error
		if jobs, err = b.o.Jobs.Jobs(r.Context(), f); err != nil {
			b.problem(w, r, err)
			return
		}
	}
	// The job with that number is listed first, unless another field excludes it.
	only := ledger.Filter{Newest: true, Faulty: true, Limit: f.Limit, Word: f.Word}
	if m := jobNumber.FindStringSubmatch(f.Word); m != nil && data.Faults == "" && reflect.DeepEqual(f, only) {
		id, _ := strconv.ParseInt(m[1], 10, 64) // 0 where it is too large: no job has that number
		if j, err := b.o.Jobs.Job(r.Context(), id); err == nil {
			jobs = slices.Insert(slices.DeleteFunc(jobs, func(o ledger.Job) bool { return o.ID == id }), 0, j)
		}
	}
	if none := b.o.Room().NoneSought(f.Device, f.Material); len(jobs) == 0 && data.Faults == "" && none != nil {
		data.Faults = none.Error()
	}
	if data.More = len(jobs) > listed; data.More {
		jobs = jobs[:listed]
	}
	now := b.sentNow()
	for _, j := range jobs {
		data.Jobs = append(data.Jobs, b.cardOf(r.Context(), j, now))
	}
	b.show(w, r, "Past jobs", "past.html", data, nil)
}

// ticked are the pieces of a job with their boxes.
type ticked struct {
	ID     int64
	Ticks  []string
	Pieces []tickedPiece
	// Back is the page of the form.
	Back string
}

type tickedPiece struct {
	ledger.Piece
	Boxes []box
}

// box is a checkbox of a piece; Key says for what.
type box struct {
	Key, What string
	Is        bool
}

// ticksOf are a job's pieces for a form; nil where no piece can be made yet, or their names are not known.
func (b *Board) ticksOf(r *http.Request, j ledger.Job) (*ticked, error) {
	if j.Sends == 0 || j.Trial() != "" {
		return nil, nil
	}
	pieces, err := b.o.Jobs.PieceList(r.Context(), j.ID)
	if err != nil || len(pieces) == 0 {
		return nil, err
	}
	t := &ticked{ID: j.ID, Ticks: ledger.Ticks, Back: r.URL.RequestURI()}
	for _, p := range pieces {
		one := tickedPiece{Piece: p}
		for _, what := range ledger.Ticks {
			one.Boxes = append(one.Boxes, box{url.Values{"what": {what}, "name": {p.Name}, "size": {p.Size}}.Encode(), what, p.Ticked(what)})
		}
		t.Pieces = append(t.Pieces, one)
	}
	return t, nil
}

// tick saves the boxes that a person changed since the form was shown; changes by others stay.
func (b *Board) tick(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	is, was := map[string]bool{}, map[string]bool{}
	for _, key := range r.PostForm["is"] {
		is[key] = true
	}
	for _, key := range r.PostForm["was"] {
		was[key] = true
	}
	var ticks []ledger.Tick
	for _, key := range r.PostForm["box"] {
		of, err := url.ParseQuery(key)
		if err == nil && is[key] != was[key] {
			ticks = append(ticks, ledger.Tick{Name: of.Get("name"), Size: of.Get("size"), What: of.Get("what"), Is: is[key]})
		}
	}
	if len(ticks) > 0 {
		if err := b.o.Jobs.Tick(asker.ByPage(r.Context(), web.SessionOf(r).Who), j.ID, ticks); err != nil {
			b.problem(w, r, err)
			return
		}
	}
	http.Redirect(w, r, web.Within(r.PostFormValue("back"), fmt.Sprintf("/job/%d", j.ID)), http.StatusSeeOther)
}

// garment is a job of a production with its pieces.
type garment struct {
	card
	Ticked *ticked
}

// production shows the productions in work, or the garments of one, the next fitting first.
func (b *Board) production(w http.ResponseWriter, r *http.Request) {
	data := struct {
		Name        string
		Shows       []ledger.Production
		Garments    []garment
		Page, Pages int
		Others      []int // the numbers of all pages, if there are several
		More        bool
	}{Name: r.URL.Query().Get("name")}
	var err error
	if data.Name == "" {
		data.Shows, err = b.o.Jobs.Productions(r.Context(), listed)
	} else {
		data.Page, _ = strconv.Atoi(r.URL.Query().Get("page")) // 0, the first page, where it is no number
		data.Garments, data.Page, data.Pages, data.More, err = b.garments(r, data.Name, data.Page)
		for n := 1; n <= data.Pages && data.Pages > 1; n++ {
			data.Others = append(data.Others, n)
		}
	}
	if err == nil && data.Name != "" && len(data.Garments) == 0 { // maybe a part of a name
		data.Shows, err = b.o.Jobs.Productions(r.Context(), listed)
		data.Shows = slices.DeleteFunc(data.Shows, func(p ledger.Production) bool {
			return p.Name == data.Name || !strings.Contains(strings.ToLower(p.Name), strings.ToLower(data.Name))
		})
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.show(w, r, "Productions", "production.html", data, nil)
}

// garmentsShown is the number of garments of a production on one page, each with a row for each of its pieces.
const garmentsShown = 10

// garments are those of a page, counted from 1, and the number of pages; a page that does not exist is replaced by the
// nearest.
func (b *Board) garments(r *http.Request, name string, page int) (all []garment, at, pages int, more bool, err error) {
	jobs, err := b.o.Jobs.Jobs(r.Context(), ledger.Filter{For: name, Newest: true, Limit: listed + 1})
	if err != nil {
		return nil, 1, 1, false, err
	}
	if more = len(jobs) > listed; more {
		jobs = jobs[:listed]
	}
	jobs = slices.DeleteFunc(jobs, func(j ledger.Job) bool {
		return j.State == ledger.Canceled || j.State == ledger.Aborted || j.Trial() != "" // no garment was made of it
	})
	slices.SortStableFunc(jobs, func(a, c ledger.Job) int {
		if (a.Due == "") != (c.Due == "") {
			return cmp.Compare(c.Due, a.Due)
		}
		return cmp.Compare(a.Due, c.Due)
	})
	pages = max(1, (len(jobs)+garmentsShown-1)/garmentsShown)
	at = min(max(page, 1), pages)
	now := b.sentNow()
	for _, j := range jobs[(at-1)*garmentsShown : min(at*garmentsShown, len(jobs))] {
		g := garment{card: b.cardOf(r.Context(), j, now)}
		if g.Ticked, err = b.ticksOf(r, j); err != nil {
			return nil, at, pages, more, err
		}
		all = append(all, g)
	}
	return all, at, pages, more, nil
}
