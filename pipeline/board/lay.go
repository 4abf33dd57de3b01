package board

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/laid"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/web"
)

// layPage is the page of a job's lays.
type layPage struct {
	card
	*laid.Lays
	Last int64 // the newest event, as in jobPage
	// Cuts is true of a cutter; Ahead means that the machine's lay is not made yet.
	Cuts, Ahead bool
	// MayRelay shows the button for a better lay, Seeks the progress of a search for one.
	MayRelay  bool
	Seeks     *seeks
	Materials []string
	Unit      string
	// The form as it was sent, its result, and the addresses of the pictures.
	Form   layForm
	Fault  string
	Tried  *laid.Lays
	Query  string
	Within string // what was tried, in words
}

// layForm are the fields of the form as they were sent.
type layForm struct{ Width, Material, Cloth string }

// seeks is a running search for a better lay.
type seeks struct {
	Percent int
	Text    string
}

// shownSheet is a lay and the address of its picture.
type shownSheet struct {
	laid.Sheet
	Picture string
}

// Shown is a sheet of the page; of is "machine", or the index of a cloth, counted from 1.
func (p *layPage) Shown(s laid.Sheet, of any, query string) shownSheet {
	path := fmt.Sprintf("/job/%d/lay/picture?of=%v", p.ID, of)
	if query != "" {
		path += "&" + query
	}
	return shownSheet{s, path}
}

// Place is an index, counted from 1.
func (p *layPage) Place(i int) int { return i + 1 }

func (b *Board) layPage(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	p := &layPage{card: b.cardOf(r.Context(), j, b.sentNow()), Cuts: b.kind(j.Device).Cuts(), Unit: b.o.Room().Units,
		Ahead: !j.State.Ended(), MayRelay: j.State == ledger.Held && j.Asks == "" && !j.Fixed && j.Lay != "" && j.Ready}
	if events, err := b.o.Jobs.Events(r.Context(), j.ID); err != nil {
		b.problem(w, r, err)
		return
	} else if len(events) > 0 {
		p.Last = events[len(events)-1].Seq
	}
	if s, is := b.o.Jobs.Seeking(j.ID); is {
		p.Seeks, p.MayRelay = seeksOf(s, b.o.Now(), b.o.Room().Units), false
	}
	for name, m := range b.o.Room().Materials {
		if m.Cloth {
			p.Materials = append(p.Materials, name)
		}
	}
	slices.Sort(p.Materials)
	if j.Stripped != ledger.Forgotten {
		lays, err := b.lays.Of(r.Context(), laid.KeyOf(j), b.reads(r, j))
		if err != nil {
			b.problem(w, r, err)
			return
		}
		p.Lays = lays
		b.tried(r, j, p)
	}
	b.show(w, r, fmt.Sprintf("Lay of job %d", j.ID), "lay.html", p, nil)
}

// reads gives the function that reads a job's draft.
func (b *Board) reads(r *http.Request, j ledger.Job) func() (job.Draft, error) {
	return func() (job.Draft, error) { return job.Read(r.Context(), b.o.Jobs, j) }
}

// tried computes the lay that the form asks for, if any.
func (b *Board) tried(r *http.Request, j ledger.Job, p *layPage) {
	q := r.URL.Query()
	p.Form = layForm{strings.TrimSpace(q.Get("width")), q.Get("material"), q.Get("cloth")}
	if p.Form == (layForm{}) {
		return
	}
	wish, err := b.wishOf(p.Form, len(p.Cloths))
	if err == nil && wish.Width == 0 && wish.Material == "" {
		err = fmt.Errorf("say a width, or choose a material")
	}
	if err == nil {
		p.Tried, err = b.lays.With(r.Context(), laid.KeyOf(j), b.reads(r, j), wish)
	}
	if err != nil {
		p.Fault = err.Error()
		return
	}
	p.Query = url.Values{"width": {p.Form.Width}, "material": {p.Form.Material}, "cloth": {p.Form.Cloth}}.Encode()
	var words []string
	if wish.Material != "" {
		words = append(words, wish.Material)
	}
	if wish.Width > 0 {
		words = append(words, lay.Across(wish.Width, b.o.Room().Units)+" wide")
	}
	p.Within = strings.Join(words, ", ")
}

// wishOf reads a form; a bare number is in the workroom's unit.
func (b *Board) wishOf(f layForm, ofCloths int) (w laid.Wish, err error) {
	room := b.o.Room()
	if f.Width != "" {
		if w.Width, err = pattern.ParseLengthIn(f.Width, pattern.UnitMM(room.Units)); err != nil {
			return w, fmt.Errorf("width: %w", err)
		}
		if w.Width < 50 || w.Width > 10_000 {
			return w, fmt.Errorf("width: %q is no width of cloth; write one such as 140cm or 55in", f.Width)
		}
	}
	if f.Material != "" {
		if m, ok := room.Materials[f.Material]; !ok || !m.Cloth {
			return w, fmt.Errorf("material: the workroom has no cloth %q", f.Material)
		}
		w.Material = f.Material
	}
	if f.Cloth != "" {
		if w.Cloth, err = strconv.Atoi(f.Cloth); err != nil || w.Cloth < 1 || w.Cloth > ofCloths {
			return w, fmt.Errorf("cloth: the job has no cloth %q", f.Cloth)
		}
	}
	return w, nil
}

// layPicture sends one of the pictures of layPage.
func (b *Board) layPicture(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	q, ctx, key := r.URL.Query(), r.Context(), laid.KeyOf(j)
	lays, err := b.lays.Of(ctx, key, b.reads(r, j))
	of := q.Get("of")
	if form := (layForm{q.Get("width"), q.Get("material"), q.Get("cloth")}); err == nil && form != (layForm{}) {
		var wish laid.Wish
		if wish, err = b.wishOf(form, len(lays.Cloths)); err == nil {
			lays, err = b.lays.With(ctx, key, b.reads(r, j), wish)
		}
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	n, _ := strconv.Atoi(of) // 0 is no cloth
	switch {
	case of == "machine" && lays.Machine != nil:
		web.Picture(w, lays.Machine.Picture)
	case n > 0 && n <= len(lays.Cloths):
		web.Picture(w, lays.Cloths[n-1].Picture)
	default:
		http.NotFound(w, r)
	}
}

// better starts the search for a better lay of a job.
func (b *Board) better(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	changed, err := b.changed(r, j)
	if err == nil && changed != "" {
		b.notDone(w, r, http.StatusConflict, "Not done", fmt.Sprintf("job %d has changed since this page was shown, so nothing was done: %s. Look at it again", j.ID, changed))
		return
	}
	seconds, serr := strconv.Atoi(r.PostFormValue("seconds"))
	if serr != nil {
		seconds = 60
	}
	ctx := asker.ByPage(r.Context(), web.SessionOf(r).Who)
	if err == nil {
		err = b.o.Jobs.Better(ctx, j.ID, time.Duration(seconds)*time.Second)
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	asker.LogWish(ctx, b.o.Log, "better", j.ID)
	http.Redirect(w, r, fmt.Sprintf("/job/%d/lay", j.ID), http.StatusSeeOther)
}

func seeksOf(s control.Seeking, now time.Time, unit string) *seeks {
	out := &seeks{Text: fmt.Sprintf("it waits for its turn, then a better lay is sought for %s", plainTime(s.For))}
	if s.Began.IsZero() {
		return out
	}
	gone := min(now.Sub(s.Began), s.For)
	out.Percent = int(100 * gone / max(s.For, 1))
	out.Text = fmt.Sprintf("sought for %s of %s", plainTime(gone), plainTime(s.For))
	if s.Length > 0 {
		out.Text += "; the shortest so far takes " + lay.Laid(s.Length, unit)
	}
	return out
}

// plainTime formats a duration in whole seconds or minutes.
func plainTime(d time.Duration) string {
	if d < 2*time.Minute {
		return fmt.Sprintf("%d s", int(d.Seconds()))
	}
	return fmt.Sprintf("%d min", int(d.Minutes()))
}
