// Package jobpicture shows a job's picture on its page: large, with its findings, how far the job is, and its pieces, which a
// person chooses by their numbers. It knows the picture's places, and asks pipeline/control how far a job came.
package jobpicture

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/web"
)

// Pictures answers for the pictures of jobs.
type Pictures struct {
	Jobs *control.Jobs
	// Kind is that of a device, Unit the workroom's.
	Kind func(device string) devices.Kind
	Unit func() string
	Now  func() time.Time
	// Problem shows why something is not shown.
	Problem func(http.ResponseWriter, *http.Request, error)

	shown shownPictures
	small smallPictures
	spans spansKept
}

// pictures are those that this program drew of a job: its lay, the pieces on its sheets, or of a refused one its draft with
// the findings.
var pictures = []string{"picture-lay.svg", "picture-pieces.svg", draftPicture}

// draftPicture is the picture in which findings are ringed and numbered; in a lay the numbers are those of pieces.
const draftPicture = "report-picture.svg"

// pictureOf is the file of the picture that is shown of a job; with draft the one of its draft, if it has one. false where
// it has none.
func pictureOf(files []ledger.File, draft bool) (ledger.File, bool) {
	has := func(name string) int {
		return slices.IndexFunc(files, func(f ledger.File) bool { return f.Name == name })
	}
	i := -1
	if draft {
		i = has(draftPicture)
	}
	for _, name := range pictures {
		if i < 0 {
			i = has(name)
		}
	}
	if i < 0 {
		return ledger.File{}, false
	}
	return files[i], true
}

// Has tells whether there is a picture among a job's files.
func Has(files []ledger.File) bool {
	_, is := pictureOf(files, false)
	return is
}

// asked is the picture of a job that is asked for; where there is none, that is answered.
func (p *Pictures) asked(w http.ResponseWriter, r *http.Request, j ledger.Job) (ledger.File, bool) {
	files, err := p.Jobs.Files(r.Context(), j.ID)
	if err != nil {
		p.Problem(w, r, err)
		return ledger.File{}, false
	}
	file, is := pictureOf(files, r.URL.Query().Has("draft"))
	if !is {
		http.NotFound(w, r)
	}
	return file, is
}

// Picture sends a job's picture.
func (p *Pictures) Picture(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	file, is := p.asked(w, r, j)
	if !is {
		return
	}
	svg, err := p.Jobs.Read(r.Context(), j.ID, file.Name)
	if err != nil {
		p.Problem(w, r, err)
		return
	}
	if r.URL.Query().Has("small") {
		svg = p.small.of(file.SHA256, svg)
	}
	web.Picture(w, svg)
}

// shownPictures keeps what was read of the pictures that were looked at last, by their sums: one that fifty pages look at is
// read once.
type shownPictures struct {
	mu    sync.Mutex
	bySum map[string]*picture.Shown
	order []string // the oldest first
}

// shownKept is of how many pictures it is kept.
const shownKept = 16

// shownOf is what is known of a picture of a job.
func (p *Pictures) shownOf(ctx context.Context, f ledger.File) (*picture.Shown, error) {
	k := &p.shown
	k.mu.Lock()
	defer k.mu.Unlock()
	if s := k.bySum[f.SHA256]; s != nil {
		return s, nil
	}
	svg, err := p.Jobs.Read(ctx, f.Job, f.Name)
	if err != nil {
		return nil, err
	}
	s := picture.Read(svg)
	if k.bySum == nil {
		k.bySum = map[string]*picture.Shown{}
	}
	if k.order = append(k.order, f.SHA256); len(k.order) > shownKept {
		delete(k.bySum, k.order[0])
		k.order = k.order[1:]
	}
	k.bySum[f.SHA256] = &s
	return &s, nil
}

// Large is a job's picture on its page.
type Large struct {
	// Source is the picture's address, Key what it is kept by while the page is renewed.
	Source, Key string
	// Draft is true for the draft's picture, whose numbers are findings; of others they are pieces. Other is the address of
	// the page with the other picture, "" where there is none.
	Draft bool
	Other string
	// Scale and ScaleTo are written for the page; Unit is the workroom's.
	Scale, ScaleTo, Unit string
	// Over is the address of what is drawn over it; Marked says that a page without scripts needs it.
	Over   string
	Marked bool
}

// Large is the picture that a job's page shows, nil for none, as the page's address asks: that of the draft, a finding
// ringed. far is true where its progress is drawn.
func (p *Pictures) Large(r *http.Request, j ledger.Job, files []ledger.File, far bool) *Large {
	draft := r.URL.Query().Has("draft")
	file, is := pictureOf(files, draft)
	if !is {
		return nil
	}
	page := fmt.Sprintf("/job/%d", j.ID)
	// A browser shows again what it has of an address; the picture of a job that is made anew has another one.
	sum := file.SHA256[:min(8, len(file.SHA256))]
	l := &Large{Source: page + "/picture?of=" + sum, Over: page + "/over?at=" + string(j.State) + "&of=" + sum, Draft: file.Name == draftPicture, Unit: p.Unit()}
	l.Key = page + "/picture-" + sum
	if draft {
		l.Source, l.Over = l.Source+"&draft", l.Over+"&draft"
	}
	if n, err := strconv.Atoi(r.URL.Query().Get("finding")); err == nil && l.Draft {
		l.Over += fmt.Sprintf("&finding=%d", n)
		l.Marked = true
	}
	l.Marked = l.Marked || far && !l.Draft
	if other, is := pictureOf(files, !l.Draft); is && other.Name != file.Name {
		l.Other = page
		if !l.Draft {
			l.Other += "?draft"
		}
	}
	s, err := p.shownOf(r.Context(), file)
	if err != nil { // the picture itself says what is wrong with it
		s = &picture.Shown{}
	}
	if s.Scale > 0 {
		l.Scale = strconv.FormatFloat(s.Scale, 'f', -1, 64)
	}
	if s.ScaleTo > 0 {
		l.ScaleTo = strconv.FormatFloat(s.ScaleTo, 'f', -1, 64)
	}
	return l
}

// Over sends what is drawn over a job's picture.
func (p *Pictures) Over(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	file, is := p.asked(w, r, j)
	if !is {
		return
	}
	s, err := p.shownOf(r.Context(), file)
	if err != nil {
		p.Problem(w, r, err)
		return
	}
	o := picture.Over{Small: r.URL.Query().Has("small")}
	if o.Finding, err = strconv.Atoi(r.URL.Query().Get("finding")); err != nil {
		o.Finding = 0
	}
	if file.Name == pictures[0] {
		far, told := p.Far(r.Context(), j)
		_, runs := p.Jobs.NowOf(j.ID)
		o.Sure, o.Sent, o.Progress, o.Lost = far.Sure, far.Sent, told, far.Open() && !runs
	}
	web.Picture(w, s.Over(o))
}

// Places are where findings stand in the picture of the draft, by their numbers; none is there where it has no such
// picture. told is false of a picture by an older program, which does not say.
func (p *Pictures) Places(ctx context.Context, files []ledger.File) (at map[int]orb.Point, told bool) {
	file, is := pictureOf(files, true)
	if !is || file.Name != draftPicture {
		return nil, true
	}
	s, err := p.shownOf(ctx, file)
	if err != nil {
		return nil, true
	}
	return s.Findings, s.Scale > 0
}
