package control

import (
	"context"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
)

// Progress is a moment of a job: a change of its state, or how far its sending has come.
type Progress struct {
	Job    int64        `json:"job"`
	Device string       `json:"device"`
	State  ledger.State `json:"state"`
	Reason string       `json:"reason,omitempty"`
	// Bytes of Total are written to the line.
	Bytes int64 `json:"bytes"`
	Total int64 `json:"total"`
	// Stroke and Piece are being sent, -1 in set-up and end. Sure is the last stroke that surely is
	// drawn, -1 for none or where nobody can say.
	Stroke int `json:"stroke"`
	Piece  int `json:"piece"`
	Sure   int `json:"sure"`
	// Waiting says what the sender waits for; Person is true if it is a person.
	Waiting string `json:"waiting,omitempty"`
	Person  bool   `json:"person,omitempty"`

	// SureBlock is the last block that surely is drawn, -1 for none; for the ledger.
	SureBlock int `json:"-"`
}

// subscriber is one who watches; a slow one loses the oldest moments, never holds a sender.
type subscriber struct {
	c chan Progress
}

// Subscribe gives live progress of all jobs until stop is called.
func (d *Desk) Subscribe() (moments <-chan Progress, stop func()) {
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

func (d *Desk) publish(p Progress) {
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

// Now is the last moment of each job that is being sent.
func (d *Desk) Now() []Progress {
	d.mu.Lock()
	defer d.mu.Unlock()
	var all []Progress
	for _, l := range d.live {
		all = append(all, l.last)
	}
	return all
}

// sparsely is how often the progress of a sending is written to the ledger. What is written is a
// lower bound of the truth, so a kill costs at most this much knowledge and never a wrong word.
const sparsely = time.Second

// Moment takes what a sender tells of itself. It returns quickly: the ledger is written only now
// and then, and when the sender begins or ends to wait for a person.
func (d *Desk) Moment(ctx context.Context, p Progress) {
	d.mu.Lock()
	l := d.live[p.Job]
	if l == nil {
		d.mu.Unlock()
		return
	}
	now := d.now()
	turned := p.Person != l.paused
	l.paused = p.Person
	l.send.Bytes = max(l.send.Bytes, p.Bytes)
	l.send.Sure, l.send.Stroke = max(l.send.Sure, p.SureBlock), max(l.send.Stroke, p.Sure)
	l.send.Updated = now
	due := now.Sub(l.written) >= sparsely
	if due || turned {
		l.written = now
	}
	if p.Device == "" {
		p.Device = l.last.Device
	}
	p.State = ledger.Processing
	if l.paused {
		p.State = ledger.Stopped
	}
	l.last = p
	send := l.send
	d.mu.Unlock()
	d.publish(p)
	var err error
	switch {
	case turned:
		err = d.turn(ctx, p, send)
	case due:
		err = d.led.Progress(ctx, p.Job, send)
	}
	if err != nil {
		d.log.Warn("progress could not be written down", zap.Int64("job", p.Job), zap.Error(err))
	}
}

// turn writes that a running job began or ceased to wait for a person. Ceasing was written by the
// wish that caused it, unless the sender went on by itself.
func (d *Desk) turn(ctx context.Context, p Progress, send ledger.Send) error {
	_, err := d.change(ctx, p.Job, func(j *ledger.Job) (ledger.Step, error) {
		send.Cancel = j.Send.Cancel
		step := ledger.Step{Send: &send}
		if j.State == p.State {
			return step, nil
		}
		j.State, j.Reason, step.Kind, step.Text = p.State, p.Waiting, "paused", p.Waiting
		if p.State == ledger.Processing {
			step.Kind = "went on"
		}
		return step, nil
	})
	return err
}
