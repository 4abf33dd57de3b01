package control

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Progress is the state of a job at one moment: after a change of state, or while it is being sent.
type Progress struct {
	Job    int64        `json:"job"`
	Device string       `json:"device"`
	State  ledger.State `json:"state"`
	Reason string       `json:"reason,omitempty"`
	// Bytes of Total have been written to the line; both count the whole job, also when it was resumed in the middle.
	Bytes int64 `json:"bytes"`
	Total int64 `json:"total"`
	// Stroke and Piece are being sent, -1 during set-up and at the end. Sure is the last stroke that is surely drawn,
	// -1 where there is none or it is not known.
	Stroke int `json:"stroke"`
	Piece  int `json:"piece"`
	Sure   int `json:"sure"`
	// Sent is the last stroke of which anything was sent, -1 for none, places.Everything once all is.
	Sent int `json:"sent"`
	// Waiting says what the sender waits for; Person is true if it is a person.
	Waiting string `json:"waiting,omitempty"`
	Person  bool   `json:"person,omitempty"`
	// Pausing is true from when a person asked for a pause until the device stands.
	Pausing bool `json:"pausing,omitempty"`
	// Held is true where the device itself, or somebody at its panel, holds the job.
	Held bool `json:"held,omitempty"`
	// Remark is what a person should know of a sending that goes on nevertheless; empty where there is nothing, or
	// nothing any more.
	Remark string `json:"remark,omitempty"`
	// Ending is true where everything is sent and the device cannot tell whether it is drawn; Sheet is accepted then.
	Ending bool `json:"ending,omitempty"`
	// Left is how many seconds the blocks take of which nothing is sent yet, by the speeds of the workroom file.
	Left float64 `json:"left,omitempty"`

	// SureBlock is the last block that is surely drawn, -1 for none; for the ledger.
	SureBlock int `json:"-"`
	// Place is where a paused knife stands, nil where it is not known; for the ledger.
	Place *ledger.Place `json:"-"`
}

// Far is how far the program came at that moment.
func (p Progress) Far() places.Far { return places.Far{Block: p.SureBlock, Sure: p.Sure, Sent: p.Sent} }

// subscriber receives the progress of all jobs. A slow one loses the oldest entries and never delays a sender.
type subscriber struct {
	c chan Progress
}

// Subscribe gives live progress of all jobs until stop is called.
func (d *Jobs) Subscribe() (updates <-chan Progress, stop func()) {
	s := &subscriber{c: make(chan Progress, 64)}
	d.mu.Lock()
	d.subs[s] = true
	d.mu.Unlock()
	var once sync.Once
	return s.c, func() {
		once.Do(func() {
			d.mu.Lock()
			delete(d.subs, s)
			d.mu.Unlock()
		})
	}
}

func (d *Jobs) publish(p Progress) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for s := range d.subs {
		for {
			select {
			case s.c <- p:
			default:
				select {
				case <-s.c:
				default:
				}
				continue
			}
			break
		}
	}
}

// Now gives the latest progress of each job that is being sent, in the order of their numbers.
func (d *Jobs) Now() []Progress {
	d.mu.Lock()
	defer d.mu.Unlock()
	all := make([]Progress, 0, len(d.live))
	for _, id := range slices.Sorted(maps.Keys(d.live)) {
		all = append(all, d.live[id].last)
	}
	return all
}

// NowOf is the last moment of a job, false for one that is not being sent.
func (d *Jobs) NowOf(id int64) (p Progress, is bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	l := d.live[id]
	if l == nil {
		return p, false
	}
	return l.last, true
}

// sparsely is the least time between two writes of a sending's progress to the ledger. What is written is a lower
// bound, so a kill loses at most this much knowledge and leaves nothing wrong. Progress that comes sooner is written
// when the time has passed, because a device that stalls may report nothing more.
const sparsely = time.Second

// Progress takes what a sender reports. It only notes it; another goroutine writes the ledger, so that a slow disk
// delays neither the machine nor a wish to stop it.
func (d *Jobs) Progress(p Progress) {
	d.mu.Lock()
	l := d.live[p.Job]
	if l == nil {
		d.mu.Unlock()
		return
	}
	l.send.Bytes, l.send.Total = max(l.send.Bytes, p.Bytes), max(l.send.Total, p.Total)
	l.send.Sure, l.send.Stroke = max(l.send.Sure, p.SureBlock), max(l.send.Stroke, p.Sure)
	l.send.Held = latest(l.send.Held, p.Place)
	l.send.Updated = d.now()
	p.SureBlock, p.Sure, p.Sent = l.send.Sure, l.send.Stroke, max(l.last.Sent, p.Stroke)
	if p.Total > 0 && p.Bytes >= p.Total {
		p.Sent = places.Everything
	}
	l.pausing = l.pausing && !p.Person
	p.Pausing = l.pausing
	turned := p.Person != l.paused
	l.paused, l.turned = p.Person, l.turned || turned
	p.State = ledger.Processing
	if l.paused {
		p.State = ledger.Stopped
	}
	remarked := l.remarked(p)
	l.last = p
	if due := l.send.Updated.Sub(l.written) >= sparsely; due || turned || remarked {
		l.written = l.send.Updated
		l.wake()
	} else if !l.later {
		l.later = true
		time.AfterFunc(sparsely, l.wake)
	}
	d.mu.Unlock()
	d.publish(p)
}

// wake lets writeProgress write once.
func (l *live) wake() {
	select {
	case l.poke <- struct{}{}:
	default:
	}
}

// writeProgress writes a live job's progress to the ledger until the job's end, and tries again where a write failed.
func (d *Jobs) writeProgress(l *live) {
	defer close(l.idle)
	trouble := ""
	for {
		select {
		case <-l.over:
			return
		case <-l.poke:
		}
		p, err := d.note(context.Background(), l)
		switch {
		case err == nil:
			trouble = ""
		case err.Error() != trouble:
			trouble = err.Error()
			d.log.Warn("progress could not be written down", zap.String("stage", "send"), zap.String("device", p.Device), zap.Int64("job", p.Job), zap.Error(err))
		}
	}
}

// note writes the progress of a live job once; where that fails, it is due again a little later.
func (d *Jobs) note(ctx context.Context, l *live) (p Progress, err error) {
	l.writing.Lock()
	defer l.writing.Unlock()
	d.mu.Lock()
	p, send, turned := l.last, l.send, l.turned
	l.turned, l.later = false, false
	d.mu.Unlock()
	if turned {
		err = d.turn(ctx, p, send)
	} else {
		err = d.led.Progress(ctx, p.Job, send)
	}
	if err == nil {
		err = d.writeRemarks(ctx, l)
	}
	if err != nil {
		d.mu.Lock()
		l.turned, l.later = l.turned || turned, true
		d.mu.Unlock()
		time.AfterFunc(sparsely, l.wake)
	}
	return p, err
}

// rest ends writeProgress and waits until it has ended. It may be called twice.
func (l *live) rest() {
	l.once.Do(func() { close(l.over) })
	<-l.idle
}

// turn writes to the ledger that a running job began or ceased to wait for a person. The wish that made it go on has
// written this already, unless the sender went on by itself.
func (d *Jobs) turn(ctx context.Context, p Progress, send ledger.Send) error {
	_, err := d.change(ctx, p.Job, func(j *ledger.Job) (ledger.Step, error) {
		send.Cancel = j.Send.Cancel
		step := ledger.Step{Send: &send}
		if j.State == p.State {
			return step, nil
		}
		j.State, j.Reason, step.Kind, step.Text = p.State, p.Waiting, "paused", p.Waiting
		if p.State == ledger.Processing {
			step.Kind = "went on"
			if p.Waiting != "" { // a job that was told to stop while it was paused
				step.Kind = "waits"
			}
		}
		return step, nil
	})
	return err
}

// Shut ends the writing of progress, after the workers and before the ledger.
func (d *Jobs) Shut() {
	d.mu.Lock()
	all := slices.Collect(maps.Values(d.live))
	d.mu.Unlock()
	for _, l := range all {
		l.rest()
	}
}

func (d *Jobs) isLive(id int64) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.live[id] != nil
}

// tell passes a wish on to the sender of a running job, or keeps it until the sender is attached. It gives the
// sending, nil where none runs.
func (d *Jobs) tell(id int64, wish func(Sending)) *live {
	d.mu.Lock()
	l := d.live[id]
	if l == nil {
		d.mu.Unlock()
		return nil
	}
	h := l.sending
	if h == nil {
		l.pending = append(l.pending, wish)
	}
	d.mu.Unlock()
	if h != nil {
		wish(h)
	}
	return l
}

// stillPaused has the pause of a job written once more. A pause right after a resume may reach the sender before it
// has left the first pause, so that it reports no change.
func (d *Jobs) stillPaused(id int64) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if l := d.live[id]; l != nil && l.paused {
		l.turned = true
		l.wake()
	}
}

// pausing has it told whether a pause was asked for that the device has not confirmed yet.
func (d *Jobs) pausing(id int64, is bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if l := d.live[id]; l != nil {
		l.pausing = is && !l.paused
		l.last.Pausing = l.pausing
	}
}

// tellAgain repeats a stop that was passed on before d.wishes was held: meanwhile another sending may have begun, or a
// resume may have let the machine go on. The caller holds d.wishes, so that nothing begins, goes on or ends now, and
// the last command that the machine receives is the one answered last.
func (d *Jobs) tellAgain(id int64, first *live, wish func(Sending)) (told, running bool) {
	now := d.tell(id, wish)
	return first != nil || now != nil, now != nil
}
