package board

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/web"
)

// beat is the interval at which pages are sent changes. Events without a listener are sent up to a number and an age;
// older ones are visible on the page.
const (
	beat     = 500 * time.Millisecond
	toldBack = 200
	toldFor  = 10 * time.Minute
)

// watcher sends changes to pages.
type watcher struct {
	jobs   *control.Jobs
	events *web.Events
	now    func() time.Time
	// problem shows why a page is not shown.
	problem func(http.ResponseWriter, *http.Request, error)
	pics    *jobpicture.Pictures
}

// moment is the message to pages about a job that is being sent.
type moment struct {
	progress
	// Sure and Sent are strokes, Far is how far each piece is made, as in places.Far.
	Sure int         `json:"sure"`
	Sent int         `json:"sent"`
	Far  [][2]string `json:"far,omitempty"`
}

// momentOf is the last moment of a job that is being sent; of another job it tells only that its state changed, and
// the page reads its progress again.
func (c *watcher) momentOf(ctx context.Context, p control.Progress) moment {
	now, sent := c.jobs.NowOf(p.Job)
	if !sent {
		return moment{progress: progressOf(p), Sure: -1, Sent: -1}
	}
	return moment{progress: progressOf(now), Sure: now.Sure, Sent: now.Sent, Far: c.pics.Rows(ctx, p.Job, now.Far())}
}

type seenKey struct{}

// live serves a page that updates itself. The number of the last event is read before the page's data, so that changes
// in between are sent to it.
func (c *watcher) live(h http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		seen, err := c.jobs.LastEvent(r.Context())
		if err != nil {
			c.problem(w, r, err)
			return
		}
		h(w, r.WithContext(context.WithValue(r.Context(), seenKey{}, strconv.FormatInt(seen, 10))))
	}
}

// seenOf is the number that live read, "" for a page that does not update.
func seenOf(r *http.Request) string {
	seen, _ := r.Context().Value(seenKey{}).(string)
	return seen
}

// notification is a page's notification about an event: without names and reasons, which may hold measures.
type notification struct {
	No     int64  `json:"no"`
	Job    int64  `json:"job"`
	What   string `json:"what"`
	Device string `json:"device"`
	// Trial is true of a job that only moved with the tool up.
	Trial bool `json:"trial,omitempty"`
}

// since are the messages about everything after an event, and the newest event's number.
func (c *watcher) since(ctx context.Context, after int64) (all []web.Message, last int64, err error) {
	last, err = c.jobs.LastEvent(ctx)
	if err != nil {
		return nil, last, err
	}
	var events []ledger.Event
	if after < last {
		if events, err = c.jobs.EventsAfter(ctx, max(after, last-toldBack)); err != nil {
			return nil, last, err
		}
	}
	for _, e := range events {
		last = max(last, e.Seq)
		what := e.Tells()
		if what == "" || c.now().Sub(e.At) > toldFor {
			continue
		}
		t := notification{No: e.Seq, Job: e.Job, What: what}
		if j, err := c.jobs.Job(ctx, e.Job); err == nil {
			t.Device, t.Trial = j.Device, j.Trial() != ""
		}
		all = append(all, web.Message{Name: "tell", Key: strconv.FormatInt(e.Seq, 10), No: e.Seq, Data: t})
	}
	return append(all, web.Message{Name: "changed", No: last, Data: last}), last, nil
}

// Watch sends changes to pages until the context ends: a job's progress at most twice a second, and new events of the
// ledger.
func (c *watcher) Watch(ctx context.Context) {
	moments, stop := c.jobs.Subscribe()
	defer stop()
	latest := map[int64]control.Progress{}
	tick := time.NewTicker(beat)
	defer tick.Stop()
	seen := int64(0)
	for {
		select {
		case <-ctx.Done():
			return
		case p := <-moments:
			latest[p.Job] = p
		case <-tick.C:
			if c.events.Listeners() == 0 {
				clear(latest)
				continue
			}
			for id, p := range latest {
				c.events.Publish(web.Message{Name: "progress", Key: strconv.FormatInt(id, 10), Data: c.momentOf(ctx, p)})
			}
			clear(latest)
			last, err := c.jobs.LastEvent(ctx)
			if err != nil || last == seen {
				continue
			}
			// Without listeners for a while, some events were sent when the stream began; pages recognise them by
			// number.
			all, last, err := c.since(ctx, seen)
			if err != nil {
				continue // tried again at the next tick
			}
			for _, m := range all {
				c.events.Publish(m)
			}
			seen = last
		}
	}
}
