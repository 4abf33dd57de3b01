package sending

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/paper"
	"tracewheel/devices/queue"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// wishes holds what a person wants of a job that a print queue has.
type wishes struct {
	once sync.Once
	// cancel is closed by the first cancel; poke gets a value after every wish.
	cancel, poke chan struct{}
	mu           sync.Mutex
	pause, goOn  bool // the later one wins
	taken        bool // the queue took the cancel; only the sending goroutine uses it
}

func newWishes() *wishes {
	return &wishes{cancel: make(chan struct{}), poke: make(chan struct{}, 1)}
}

func (w *wishes) Pause()      { w.say(true) }
func (w *wishes) Resume()     { w.say(false) }
func (w *wishes) FreshSheet() {}
func (w *wishes) Sheet(bool)  {}
func (w *wishes) Cancel()     { w.once.Do(func() { close(w.cancel) }); w.wake() }

func (w *wishes) canceled() bool {
	select {
	case <-w.cancel:
		return true
	default:
		return false
	}
}

func (w *wishes) say(pause bool) {
	w.mu.Lock()
	w.pause, w.goOn = pause, !pause
	w.mu.Unlock()
	w.wake()
}

func (w *wishes) wake() {
	select {
	case w.poke <- struct{}{}:
	default:
	}
}

// now tells whether the job is to be paused, and whether a person let it go on and did not pause it again.
func (w *wishes) now() (pause, goOn bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.pause, w.goOn
}

// done notes that the job goes on, unless it was paused again.
func (w *wishes) done() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.goOn = false
}

// queueTitle is the title by which a job is found again in the queue: its number, and its name with the workroom's.
func (s *Sender) queueTitle(in job.Run, name string) string {
	room := s.room()
	sum := sha256.Sum256(append([]byte(room.Path(room.Folders.Store)+"\n"), in.Program.Bytes()...))
	short := []rune(filepath.Base(name))
	short = short[:min(len(short), 60)]
	return fmt.Sprintf("tracewheel job %d %s %s", in.Job, string(short), hex.EncodeToString(sum[:6]))
}

// toQueue hands the sheets to the print queue and waits until the queue has given them to the printer. The queue is
// asked first: what an earlier sending handed over before it was interrupted is not handed over again.
func (s *Sender) toQueue(ctx context.Context, in job.Run, draft job.Draft, p devices.SheetProfile) job.Outcome {
	q, title := &queue.Queue{Name: p.Queue}, s.queueTitle(in, draft.Name)
	told := newWishes()
	in.Attach(told)
	had, gone, err := find(ctx, q, title)
	if err != nil {
		mends := "then resume"
		if told.canceled() {
			mends = fmt.Sprintf("what it has is not taken back: stop it at the printer; tracewheel cancel %d then ends the job here", in.Job)
		}
		return stopped(fmt.Sprintf("the queue %s cannot be asked whether it has this job: %v; %s", p.Queue, err, mends), -1)
	}
	if had > 0 {
		if pause, _ := told.now(); !pause && !told.canceled() {
			told.Resume() // it is sent again because a person wants it
		}
	}
	if had == 0 {
		if out := s.before(ctx, in, gone, told); out != nil {
			return *out
		}
		if had, err = s.handOver(ctx, q, title, in, p); err != nil {
			return stopped(fmt.Sprintf("%v; then resume", err), -1)
		}
	}
	return s.follow(ctx, in, q, had, told)
}

// before carries out the wishes that came before the hand-over; it gives an outcome where nothing is to be handed
// over, otherwise nil. gone is true where the queue knows of an earlier hand-over; as queues forget, it may be false
// although there was one.
func (s *Sender) before(ctx context.Context, in job.Run, gone bool, told *wishes) *job.Outcome {
	canceled, paused, before := "canceled by a person before it was handed over", "nothing was handed over to the queue", "it was handed over"
	cut := false
	for _, e := range in.Earlier {
		gone, cut = gone || e.Bytes > 0, cut || e.End == "" || e.End == "cut short"
	}
	if gone || cut {
		canceled = "canceled by a person; the queue does not have it; an earlier sending was cut short, so a part may have been printed"
		paused, before = "nothing is handed over to the queue again", "it was handed over again"
	}
	if gone {
		canceled = "canceled by a person; the queue has it no more; a part may have been printed"
	}
	for {
		if told.canceled() {
			return &job.Outcome{State: ledger.Canceled, Reason: canceled, SureBlock: -1}
		}
		if pause, _ := told.now(); !pause {
			return nil
		}
		in.Progress(progressOf(in, 0, "a person: it is paused, and "+paused, true))
		select {
		case <-ctx.Done():
			out := stopped("the program was asked to end before "+before, -1)
			return &out
		case <-told.poke:
		}
	}
}

func progressOf(in job.Run, bytes int64, waiting string, person bool) control.Progress {
	return control.Progress{Bytes: bytes, Total: int64(in.Program.Len()), Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1, Waiting: waiting, Person: person}
}

// stand has a job canceled, held or released in the queue, as a person wants, and gives the job as it is then. What
// the queue does not do is asked of it again in the next round.
func stand(ctx context.Context, q *queue.Queue, j queue.Job, told *wishes) (queue.Job, error) {
	var err error
	switch pause, goOn := told.now(); {
	case told.canceled() && !told.taken && j.State < queue.Canceled:
		err = q.Cancel(ctx, j.ID)
		told.taken = err == nil
	case told.canceled():
		return j, nil
	case pause && j.State < queue.Canceled && j.State != queue.Held:
		err = q.Hold(ctx, j.ID)
	case goOn && j.State == queue.Held:
		if err = q.Release(ctx, j.ID); err == nil {
			told.done()
		}
	default:
		if goOn {
			told.done()
		}
		return j, nil
	}
	if now, known, askErr := q.Job(ctx, j.ID); askErr == nil && known {
		j = now
	}
	return j, err
}

// find gives the number of the queue's job with a title that was not taken back, 0 for none. gone is true where one
// was taken back or given up.
func find(ctx context.Context, q *queue.Queue, title string) (id int, gone bool, err error) {
	all, err := q.Jobs(ctx)
	for _, j := range all {
		switch {
		case j.Title != title:
		case j.State == queue.Canceled || j.State == queue.Aborted:
			gone = true
		default:
			id = max(id, j.ID)
		}
	}
	return id, gone, err
}

// handOver gives the pages to the queue. Where lp fails, the queue is asked whether it has them nevertheless. lp gets
// a file in the job's folder, so that what a kill leaves is removed at the next start, and with the job where a card
// is forgotten.
func (s *Sender) handOver(ctx context.Context, q *queue.Queue, title string, in job.Run, p devices.SheetProfile) (id int, err error) {
	on, err := paper.Parse(p.Paper, p.Free())
	if err != nil {
		return 0, err
	}
	medium := p.Medium
	if medium == "" {
		medium = on.Medium(on.Height)
		printer, err := q.Printer(ctx)
		w, h := on.Width, on.Height
		if _, turned := on.Upright(); turned {
			w, h = h, w
		}
		if err != nil || !printer.Has(w, h) { // the printer would crop the sheets without a message
			return 0, errors.Join(err, fmt.Errorf("nothing was handed over: the queue %s has no paper %s; take another under sheets.paper, or say in sheets.medium what the queue calls it", p.Queue, on.Name))
		}
	}
	// lp is not interrupted: whether the queue has the job must be known.
	room := s.room()
	err = store.Look(room.Path(room.Folders.Store)).Lend(in.Job, "sheets.pdf", bytes.NewReader(in.Program.Bytes()), func(path string) (err error) {
		id, err = q.HandOver(context.WithoutCancel(ctx), path, title, medium)
		return err
	})
	if err != nil {
		if had, _, askErr := find(context.WithoutCancel(ctx), q, title); askErr == nil && had > 0 {
			return had, nil
		}
	}
	return id, err
}

// lookEvery is the time between two questions to the queue.
const lookEvery = time.Second

// cancelLimit is how long the queue is asked to cancel a job.
var cancelLimit = 10 * time.Minute

// follow waits until a job of the queue has ended.
func (s *Sender) follow(ctx context.Context, in job.Run, q *queue.Queue, id int, told *wishes) job.Outcome {
	name, total := fmt.Sprintf("%s-%d", q.Name, id), int64(in.Program.Len())
	ended := func(state ledger.State, reason string) job.Outcome {
		return job.Outcome{State: state, Reason: reason, Bytes: total, SureBlock: -1}
	}
	begun, since := false, time.Time{} // since: when a cancel was first wanted
	byHand := fmt.Sprintf("stop it at the printer, or in the print system by `cancel %s`", name)
	for {
		j, known, err := q.Job(ctx, id)
		waiting, remark, fault := "", "", err
		begun = begun || j.State == queue.Processing
		if err == nil && known {
			if j, fault = stand(context.WithoutCancel(ctx), q, j, told); j.State >= queue.Canceled {
				fault = nil
			}
		}
		if told.canceled() && since.IsZero() {
			since = time.Now()
		}
		switch {
		case fault != nil && told.canceled():
			remark = fmt.Sprintf("the queue does not take %s back, and is asked again: %v; %s", name, fault, byHand)
		case fault != nil && err == nil:
			remark = fmt.Sprintf("the queue does not do what was asked of %s, and is asked again: %v; `tracewheel cancel %d` takes it back", name, fault, in.Job)
		}
		open := err != nil || known && j.State < queue.Canceled // as far as is known the job has not ended
		late := open && !since.IsZero() && time.Since(since) > cancelLimit
		ending := open && ctx.Err() != nil
		switch {
		case ending && told.canceled() && told.taken:
			return ended(ledger.Stopped, fmt.Sprintf("the program ended after the queue took the cancel of %s, and before it said that it was canceled; the next start asks the queue again; a part may have been printed", name))
		case ending && told.canceled():
			return ended(ledger.Stopped, fmt.Sprintf("the program ended while the queue had it as %s and had not taken it back: %s; the next start asks the queue again", name, byHand))
		case ending:
			return ended(ledger.Stopped, fmt.Sprintf("the program ended while the queue had it as %s; resume looks how it is there", name))
		case late:
			return ended(ledger.Stopped, fmt.Sprintf("the queue has not taken %s back for %s: %s; tracewheel cancel %d then ends the job here", name, cancelLimit, byHand, in.Job))
		case err != nil:
			waiting = fmt.Sprintf("the queue, which has it as %s and cannot be asked: %v", name, err)
		case !known:
			return ended(ledger.Stopped, fmt.Sprintf("the queue had it as %s and does not know of it any more: see whether it was printed", name))
		case j.State == queue.Completed:
			return allSent(in, fmt.Sprintf("sent to the printer as %s: see whether all sheets are there, and measure the first one's squares", name))
		case j.State == queue.Canceled:
			return ended(ledger.Canceled, fmt.Sprintf("%s was canceled; the printer may have printed a part of it", name))
		case j.State == queue.Aborted:
			return ended(ledger.Stopped, fmt.Sprintf("the queue gave %s up: %s; see to the printer, then resume", name, j.Says))
		case j.State == queue.Held:
			waiting = fmt.Sprintf("a person: it is held in the queue as %s", name)
			if begun {
				waiting += "; its printing had begun and begins anew with the first sheet when it is resumed"
			}
		default:
			waiting = fmt.Sprintf("the printer, which has it as %s, %s", name, j.State)
			if p, err := q.Printer(ctx); err == nil && p.Stopped {
				waiting += "; the printer is stopped: " + p.Says
			} else if j.Says != "" {
				waiting += ": " + j.Says
			}
		}
		p := progressOf(in, total, waiting, err == nil && j.State == queue.Held)
		p.Remark = remark
		in.Progress(p)
		select {
		case <-ctx.Done():
		case <-told.poke:
		case <-time.After(lookEvery):
		}
	}
}
