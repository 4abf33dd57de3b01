// Package control moves jobs from state to state; nothing else does. It takes the wishes of people (wishes.go), from
// the socket, a page or a signal alike, and what the daemon's workers report (made.go, send.go). It writes each change to the
// ledger before the change takes effect, and gives refusals that say what can be done instead. A cutter's job, a
// stopped job and one whose sending had begun go on only when a person says so.
package control

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
)

// Jobs moves jobs from state to state. Its methods may be called from several goroutines.
type Jobs struct {
	led *ledger.Ledger
	st  *store.Store
	log *zap.Logger
	now func() time.Time

	// wishes lets one wish of a person be carried out at a time, so that of two people who resume a paused job only
	// one does.
	wishes sync.Mutex

	mu   sync.Mutex
	live map[int64]*live
	seek map[int64]time.Duration // jobs for which a better lay is wanted
	// seeking are the searches for a better lay that are going on, by job.
	seeking map[int64]Seeking
	kicks   map[string][]chan struct{}
	subs    map[*subscriber]bool
	served  []Device
	// untaken lists the files in the inbox that become no job, nil until TellInbox is called.
	untaken func() []ledger.Untaken
	// page is asked for what the workroom's page gives, nil where there is no page.
	page func(wish string, browser int) (string, error)
	// fit tells whether a job fits a remnant, nil until TellFit is called.
	fit func(context.Context, ledger.Job, ledger.Remnant) error
	// dropped says by whom a draft was put into the inbox, by its device and file, until it is taken.
	dropped map[[2]string]string
	// leaving are the devices whose workers are about to end: nothing of them may begin.
	leaving []string
}

// live is a job that is being sent.
type live struct {
	sending Sending
	pending []func(Sending) // wishes made before the sender was attached
	send    ledger.Send
	last    Progress
	written time.Time // when progress was last written to the ledger
	paused  bool
	pausing bool     // a pause was asked for, and the sender has not told of it yet
	remarks []string // remarks that are not in the ledger yet
	// later is true while a write is put off because the last one was too recent.
	later bool
	// turned is true when paused has changed and the ledger does not say so yet.
	turned bool
	// writing is held while progress or remarks are written to the ledger.
	writing sync.Mutex
	// poke lets writeProgress write, over ends it, idle is closed when it has ended.
	poke, over, idle chan struct{}
	once             sync.Once
}

// Sending is how a running sender is told to stop, pause or go on. Its methods never block.
type Sending interface {
	Pause()
	Resume()
	Cancel()
	FreshSheet()
	Sheet(whole bool)
}

// New gives the jobs of an open ledger and store. now may be nil.
func New(led *ledger.Ledger, st *store.Store, log *zap.Logger, now func() time.Time) *Jobs {
	if now == nil {
		now = time.Now
	}
	return &Jobs{led: led, st: st, log: log, now: now, live: map[int64]*live{}, seek: map[int64]time.Duration{}, seeking: map[int64]Seeking{},
		kicks: map[string][]chan struct{}{}, subs: map[*subscriber]bool{}}
}

// Jobs, Job, Events and the like read the ledger.
func (d *Jobs) Jobs(ctx context.Context, f ledger.Filter) ([]ledger.Job, error) {
	return d.led.Jobs(ctx, f)
}

// Job is one job.
func (d *Jobs) Job(ctx context.Context, id int64) (ledger.Job, error) { return d.led.Job(ctx, id) }

// Events is a job's history.
func (d *Jobs) Events(ctx context.Context, id int64) ([]ledger.Event, error) {
	return d.led.Events(ctx, id)
}

// EventsAfter is what happened to any job after an event, the oldest first.
func (d *Jobs) EventsAfter(ctx context.Context, seq int64) ([]ledger.Event, error) {
	return d.led.EventsAfter(ctx, seq)
}

// Files lists what the store holds for a job.
func (d *Jobs) Files(ctx context.Context, id int64) ([]ledger.File, error) {
	return d.led.Files(ctx, id)
}

// PieceList is what the ledger holds of a job's pieces.
func (d *Jobs) PieceList(ctx context.Context, id int64) ([]ledger.Piece, error) {
	return d.led.Pieces(ctx, id)
}

// Productions are the shows that the newest jobs are made for.
func (d *Jobs) Productions(ctx context.Context, most int) ([]ledger.Production, error) {
	return d.led.Productions(ctx, most)
}

// Tick notes of pieces, ended jobs' too, that they are cut, bundled, sewn or fitted, or not after all.
func (d *Jobs) Tick(ctx context.Context, id int64, ticks []ledger.Tick) error {
	var said []string
	for _, t := range ticks {
		is := ""
		if !t.Is {
			is = "not "
		}
		said = append(said, pattern.Printable(t.Name)+" "+is+t.What)
	}
	_, err := d.change(ctx, id, func(*ledger.Job) (ledger.Step, error) {
		return ledger.Step{Kind: "ticked", Text: strings.Join(said, ", "), Ticks: ticks}, nil
	})
	return err
}

// LastEvent is the number of the ledger's newest event: while it stays, no job has changed.
func (d *Jobs) LastEvent(ctx context.Context) (int64, error) { return d.led.LastEvent(ctx) }

// Happened tells whether a job of a device has such an event since then.
func (d *Jobs) Happened(ctx context.Context, device, kind, text string, since time.Time) (bool, error) {
	return d.led.Happened(ctx, device, kind, text, since)
}

// Listen gives a channel that wakes a worker of a device when there may be something to do, and what ends it.
func (d *Jobs) Listen(device string) (kicks <-chan struct{}, stop func()) {
	c := make(chan struct{}, 1)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.kicks[device] = append(d.kicks[device], c)
	return c, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.kicks[device] = slices.DeleteFunc(d.kicks[device], func(o chan struct{}) bool { return o == c })
	}
}

// Kick wakes a device's workers.
func (d *Jobs) Kick(device string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, c := range d.kicks[device] {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// changed wakes the device's worker and informs the subscribers.
func (d *Jobs) changed(j ledger.Job) {
	d.Kick(j.Device)
	d.publish(Progress{Job: j.ID, Device: j.Device, State: j.State, Reason: j.Reason, Total: j.Send.Total,
		Bytes: j.Send.Bytes, Sure: j.Send.Stroke, Stroke: -1, Piece: -1, SureBlock: -1})
}

// change writes a change to the ledger and then calls changed.
func (d *Jobs) change(ctx context.Context, id int64, fn func(j *ledger.Job) (ledger.Step, error)) (ledger.Job, error) {
	j, err := d.led.Change(ctx, id, asker.SignStep(ctx, fn))
	if err != nil {
		return j, err
	}
	d.changed(j)
	return j, nil
}

// Refusal is the answer to a wish that cannot be met now, with what the person can do instead.
type Refusal struct {
	Text string
	Hint string
	// Points are the places from which the job can go on, where the person has to choose one.
	Points []places.Point
	// Say is the confirmation with which the wish would be met, empty where none helps.
	Say Confirmation
	// Lies names what must lie under the tool and is asked for together with that confirmation.
	Lies string
	// Cause is ledger.ErrState or ledger.ErrNoJob.
	Cause error
}

func (r *Refusal) Error() string { return r.Text }

func (r *Refusal) Unwrap() error { return r.Cause }

func refuse(hint, text string) error { return &Refusal{Text: text, Hint: hint, Cause: ledger.ErrState} }

// IsRefusal tells whether an error means that a wish cannot be met or that there is no such job, and not a fault of
// the disk or of the program.
func IsRefusal(err error) bool {
	return errors.Is(err, ledger.ErrState) || errors.Is(err, ledger.ErrNoJob)
}

// Seeking is a search for a better lay that is going on.
type Seeking struct {
	// Began is zero while the search waits for its turn.
	Began time.Time
	For   time.Duration
	// Length is that of the shortest lay found so far, mm, 0 for none.
	Length float64
}
