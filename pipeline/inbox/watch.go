package inbox

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// Settings are the inbox's times. Zero values are replaced by the usual ones.
type Settings struct {
	// Settle is how long a file must stay unchanged, 0.75 s; Unsure the same where the system does not tell whether a
	// program still writes to it, 10 s; Limit when a trial is made nevertheless, 60 s; Rescan the time between two looks
	// through the whole folder, 5 s.
	Settle, Unsure, Limit, Rescan time.Duration
}

func (s Settings) filled() Settings {
	fill := func(d *time.Duration, usual time.Duration) {
		if *d <= 0 {
			*d = usual
		}
	}
	fill(&s.Settle, 750*time.Millisecond)
	fill(&s.Unsure, 10*time.Second)
	fill(&s.Limit, time.Minute)
	fill(&s.Rescan, 5*time.Second)
	return s
}

// Inbox watches the folders. New makes one, Run lets it watch.
type Inbox struct {
	taker *Taker
	log   *zap.Logger
	hints hints

	mu       sync.Mutex
	settings Settings
	devices  []string
	changed  chan struct{}
	beat     time.Time
	untaken  []ledger.Untaken // what publish made

	core    *core
	strange map[place]string // why it is left alone, as logged; of the last look
	faults  map[place]string
	lone    []Take // tickets without a file
	held    []Take // drafts that wait for the draft of a ticket
	// finishing tells for which devices the finishing of claims is queued already.
	finishing map[string]bool
	done      chan func()
}

// hints are the system's events; tests replace them.
type hints interface {
	Add(dir string) error
	Watching(dir string) bool
	Events() <-chan fsnotify.Event
	Errors() <-chan error
	Close() error
}

type systemHints struct{ w *fsnotify.Watcher }

func (s systemHints) Add(dir string) error { return s.w.Add(dir) }
func (s systemHints) Watching(dir string) bool {
	return slices.Contains(s.w.WatchList(), dir)
}
func (s systemHints) Events() <-chan fsnotify.Event { return s.w.Events }
func (s systemHints) Errors() <-chan error          { return s.w.Errors }
func (s systemHints) Close() error                  { return s.w.Close() }

// New makes an inbox for the given devices. Where the system gives no events it works by the timer alone, and logs that.
func New(taker *Taker, devices []string, settings Settings, log *zap.Logger) *Inbox {
	var h hints = noHints{}
	if w, err := fsnotify.NewWatcher(); err != nil {
		log.Warn("no file events on this system, the inbox is looked through on a timer only", zap.Error(err))
	} else {
		h = systemHints{w}
	}
	return newInbox(taker, devices, settings, log, h)
}

func newInbox(taker *Taker, devices []string, settings Settings, log *zap.Logger, h hints) *Inbox {
	settings = settings.filled()
	return &Inbox{taker: taker, log: log, hints: h, settings: settings, devices: slices.Clone(devices),
		changed: make(chan struct{}, 1), core: newCore(settings),
		strange: map[place]string{}, faults: map[place]string{}, finishing: map[string]bool{},
		done: make(chan func())}
}

// Change gives the inbox other devices and clocks while it runs.
func (in *Inbox) Change(devices []string, settings Settings) {
	in.mu.Lock()
	in.devices, in.settings = slices.Clone(devices), settings.filled()
	in.mu.Unlock()
	select {
	case in.changed <- struct{}{}:
	default:
	}
}

// Beat is when the loop last ran; the watchdog asks for it.
func (in *Inbox) Beat() time.Time {
	in.mu.Lock()
	defer in.mu.Unlock()
	return in.beat
}

// Interval is the longest time between two beats.
func (in *Inbox) Interval() time.Duration {
	in.mu.Lock()
	defer in.mu.Unlock()
	return in.settings.Rescan
}

// Run watches until the context ends; a taking that has begun is completed first. All state belongs to this goroutine; a
// second one takes files, so that events are read without a pause.
func (in *Inbox) Run(ctx context.Context) {
	var hand sync.WaitGroup
	queue := make(chan func(context.Context) func(), 1)

	hand.Go(func() {
		for job := range queue {
			report := job(context.WithoutCancel(ctx))
			select {
			case in.done <- report:
			case <-ctx.Done():
			}
		}
	})
	defer func() {
		close(queue)
		hand.Wait()
		if err := in.hints.Close(); err != nil {
			in.log.Warn("closing the file events", zap.Error(err))
		}
	}()
	in.loop(ctx, queue)
}

func (in *Inbox) loop(ctx context.Context, queue chan<- func(context.Context) func()) {
	rescan := time.NewTimer(0)
	defer rescan.Stop()
	next := time.NewTimer(time.Hour)
	defer next.Stop()
	var todo []func(context.Context) func()
	for {
		now := time.Now()
		in.mu.Lock()
		in.beat = now
		in.mu.Unlock()
		takes, at := in.core.due(now)
		for len(takes) > 0 {
			n := together(takes)
			todo = append(todo, in.takeJob(takes[:n]))
			takes = takes[n:]
		}
		if !at.IsZero() {
			next.Reset(max(at.Sub(now), time.Millisecond))
		}
		var out chan<- func(context.Context) func()
		var first func(context.Context) func()
		if len(todo) > 0 {
			out, first = queue, todo[0]
		}
		select {
		case <-ctx.Done():
			return
		case out <- first:
			todo = todo[1:]
		case report := <-in.done:
			report()
		case e, ok := <-in.hints.Events():
			if ok {
				in.event(e)
			}
		case err, ok := <-in.hints.Errors():
			if ok {
				in.lost(err)
				rescan.Reset(0)
			}
		case <-in.changed:
			in.adopt()
			rescan.Reset(0)
		case <-next.C:
		case <-rescan.C:
			todo = append(todo, in.rescan()...)
			rescan.Reset(in.Interval())
		}
	}
}

// lost logs that events were lost; the folder is looked through right after.
func (in *Inbox) lost(err error) {
	if errors.Is(err, fsnotify.ErrEventOverflow) {
		in.log.Info("more events than the system could hold, looking through the inbox")
		return
	}
	in.log.Warn("file events", zap.Error(err))
}

// adopt uses what Change was given.
func (in *Inbox) adopt() {
	in.mu.Lock()
	devices, settings := in.devices, in.settings
	in.mu.Unlock()
	in.core.set(settings)
	for device := range in.core.devices {
		if !slices.Contains(devices, device) {
			in.core.drop(device)
		}
	}
}

// most is how many files are taken together: enough that the disk is seldom waited for, few enough that
// the first need not wait long for the last.
const most = 16

// together is how many of the first files may be taken together: no two of them may share a ticket.
func together(takes []Take) int {
	names := map[string]bool{}
	takes = takes[:min(most, len(takes))]
	for n, take := range takes {
		whole := filepath.Join(take.Device, take.Entry.Name)
		short := filepath.Join(take.Device, stem(take.Entry.Name))
		if names[whole] || names[short] {
			return n
		}
		names[whole], names[short] = true, true
	}
	return len(takes)
}

// takeJob takes some files; the function that it returns is run in the loop's goroutine.
func (in *Inbox) takeJob(takes []Take) func(context.Context) func() {
	return func(ctx context.Context) func() {
		all := in.taker.takeAll(ctx, takes)
		return func() {
			for i, take := range takes {
				in.took(take, all[i].Job, all[i].Err)
			}
			in.publish()
		}
	}
}

func (in *Inbox) took(take Take, job int64, err error) {
	path := place{device: take.Device, name: take.Entry.Name}
	log := in.log.With(zap.String("device", take.Device), zap.String("file", take.Entry.Name))
	switch {
	case err == nil:
		log.Info("taken", zap.Int64("job", job), zap.Int64("bytes", take.Entry.Size))
		in.core.gone(take.Device, take.Entry.Name)
		delete(in.faults, path)
	case errors.Is(err, fs.ErrNotExist) && job == 0:
		in.core.gone(take.Device, take.Entry.Name)
		delete(in.faults, path)
	case errors.Is(err, store.ErrCannotTell):
		in.core.unsure(take.Device, take.Entry.Name)
	case errors.Is(err, store.ErrWriting) || errors.As(err, &waiting{}):
		in.core.open(time.Now(), take.Device, take.Entry.Name)
		in.fault(log, path, err)
	case job != 0:
		// The file is a claim already: the next look through the folder completes it.
		in.core.gone(take.Device, take.Entry.Name)
		in.fault(log, path, err)
	default:
		in.core.back(time.Now(), take.Device, take.Entry.Name)
		if take.Trial || !errors.Is(err, ErrChanging) {
			in.fault(log, path, err)
		}
	}
}

// fault logs a fault once, until another takes its place.
func (in *Inbox) fault(log *zap.Logger, path place, err error) {
	if in.faults[path] == err.Error() {
		return
	}
	in.faults[path] = err.Error()
	if errors.Is(err, ErrChanging) || errors.Is(err, store.ErrWriting) {
		log.Info("still being written, left for later")
		return
	}
	log.Warn("cannot be taken yet, it stays in the inbox and is tried again", zap.Error(err))
}

// event looks at the one name in an event.
func (in *Inbox) event(e fsnotify.Event) {
	device, name, ok := in.placeOf(e.Name)
	if !ok || e.Op == fsnotify.Chmod || pattern.LeftAlone(name) {
		return
	}
	info, err := in.taker.FS.Lstat(e.Name)
	if err != nil || !info.Mode().IsRegular() || hidden(e.Name) {
		in.core.gone(device, name)
		return
	}
	in.core.saw(time.Now(), device, in.entry(device, info), e.Has(fsnotify.Write) || e.Has(fsnotify.Create))
}

// entry is what is seen of a file; of a ticket also the drafts that it names, which are read once while the ticket stays
// the same.
func (in *Inbox) entry(device string, info fs.FileInfo) Entry {
	e := entryOf(info)
	if _, is := pattern.TicketOf(e.Name); is {
		if s := in.core.file(device, e.Name); s != nil && s.same(e) && len(s.With) > 0 {
			e.With = s.With
		} else {
			e.With = in.taker.named(filepath.Join(in.taker.Dir(device), e.Name))
		}
	}
	return e
}

// placeOf says to which device's folder a path belongs.
func (in *Inbox) placeOf(path string) (device, name string, ok bool) {
	dir, name := filepath.Split(path)
	in.mu.Lock()
	defer in.mu.Unlock()
	for _, d := range in.devices {
		if filepath.Clean(dir) == in.taker.Dir(d) {
			return d, name, true
		}
	}
	return "", "", false
}

type noHints struct{}

func (noHints) Add(string) error              { return nil }
func (noHints) Watching(string) bool          { return true }
func (noHints) Events() <-chan fsnotify.Event { return nil }
func (noHints) Errors() <-chan error          { return nil }
func (noHints) Close() error                  { return nil }

// makeDir makes the device's folder when it is missing; it was there when the program began.
func (in *Inbox) makeDir(log *zap.Logger, device string) error {
	dir := in.taker.Dir(device)
	_, err := in.taker.FS.Lstat(dir)
	missing := errors.Is(err, fs.ErrNotExist)
	if err := in.taker.MakeDir(device); err != nil || !missing {
		return err
	}
	log.Warn("the folder was gone and was made anew; drafts that lay in it are wherever it went", zap.String("folder", dir))
	return nil
}
