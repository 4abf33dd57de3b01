// Package daemon takes dropped files as jobs, has them made and sent, one at a time for each device, and corrects the
// state of jobs that an earlier run left. It takes the settings of a workroom, a job.Maker and a job.Sender, and gives
// the jobs by pipeline/control. It knows nothing of drafts and of ports.
package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/trusted"
)

// Daemon takes files, makes programs and sends them. New opens what it needs, Start starts it, Stop ends it.
type Daemon struct {
	opts   Options
	log    *zap.Logger
	store  *store.Store
	ledger *ledger.Ledger
	jobs   *control.Jobs
	taker  *inbox.Taker
	inbox  *inbox.Inbox

	// returned is the folder for refused files; it stays the same while the daemon runs.
	returned string
	// group is the group whose members may drop files, read what came back and speak to the daemon; store.NoGroup for
	// none.
	group int
	// closers are closed in reverse order.
	closers []closer
	once    sync.Once
	stopErr error

	mu       sync.Mutex
	settings Settings
	running  bool
	workers  map[string]*worker

	// sending counts the jobs that are being sent.
	sending atomic.Int64
	// taken counts the workroom files that were taken over.
	taken atomic.Int64
}

type closer struct {
	name string
	fn   func(context.Context) error
}

// New opens the store and the ledger and makes the folders, but starts nothing. What it opened is
// closed again when it fails.
func New(ctx context.Context, s Settings, opts Options) (d *Daemon, err error) {
	if err := errors.Join(opts.fill(), s.validate()); err != nil {
		return nil, err
	}
	d = &Daemon{opts: opts, log: opts.Log, settings: s, returned: s.Returned, workers: map[string]*worker{}}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.Stop(ctx))
			d = nil
		}
	}()
	if d.group, err = store.GroupOf(s.Group); err != nil {
		return d, err
	}
	for _, dir := range []string{s.Returned, s.Made} { // files are written into both folders, and those of a crash removed from them
		if err := store.NoLink(opts.FS, dir); err != nil && dir != "" {
			return d, err
		}
	}
	for dir, perm := range map[string]fs.FileMode{s.Inbox: 0o770, s.Returned: 0o750} {
		if err := store.MakeShared(opts.FS, dir, d.group, perm); err != nil {
			return d, store.WithAdvice(fmt.Errorf("making the folder %q: %w", dir, err))
		}
	}
	if d.store, err = store.Open(s.Store, opts.FS); err != nil {
		return d, err
	}
	d.taker = &inbox.Taker{FS: opts.FS, Store: d.store, Root: s.Inbox, Drafts: s.Drafts, Group: d.group}
	d.onStop("store", func(context.Context) error { return d.store.Close() })
	folders, err := d.inboxFolders()
	if err != nil {
		return d, err
	}
	claimed, err := d.taker.Claimed(folders)
	if err != nil {
		return d, err
	}
	if d.ledger, err = trusted.Open(ctx, trusted.Opening{Store: d.store, Log: d.log, Now: opts.Now, NewLedger: opts.NewLedger, Claimed: claimed}); err != nil {
		return d, err
	}
	d.onStop("ledger", func(context.Context) error { return d.ledger.Close() })
	if err := d.store.Protect(d.group); err != nil && d.group != store.NoGroup {
		return d, fmt.Errorf("folders.group: the store cannot be shared with it; is the user that tracewheel runs as its member? %w", err)
	} else if err != nil { // some file systems have no permissions
		d.log.Warn("others on this machine may be able to read the store: its rights cannot be set", zap.String("stage", "start"), zap.Error(err))
	}
	d.jobs = control.New(d.ledger, d.store, d.log, opts.Now)
	d.onStop("progress", func(context.Context) error { d.jobs.Shut(); return nil })
	d.ledger.KeepRolls(s.Rolls)
	d.jobs.Serve(s.Devices)
	d.jobs.TellFit(fitter(d.jobs, opts.Build, func(mm float64) string { return d.ledger.Rolls().Say(mm) }))
	d.taker.Book = d.jobs
	return d, nil
}

func (d *Daemon) onStop(name string, fn func(context.Context) error) {
	d.closers = append(d.closers, closer{name, fn})
}

// Jobs gives the jobs, for pages and commands in the same process.
func (d *Daemon) Jobs() *control.Jobs { return d.jobs }

// Start corrects the state of jobs that an earlier run left, and starts everything. The order matters: nothing is sent
// before every interrupted job is known, and no file is taken before the claims of an earlier run are finished. After
// a failed Start call Stop.
func (d *Daemon) Start(ctx context.Context) error {
	if err := d.recover(ctx); err != nil {
		return err
	}
	server, err := remote.Serve(d.jobs, d.settings.Store, d.group, d.log)
	if err != nil {
		return err
	}
	d.onStop("control socket", func(context.Context) error { return server.Close() })
	d.mu.Lock()
	d.running = true
	for _, dev := range d.settings.Devices {
		d.workers[dev.Name] = d.startWorker(dev)
	}
	d.mu.Unlock()
	d.onStop("devices", d.stopWorkers)
	d.inbox = inbox.New(d.taker, d.settings.names(), d.settings.Watch, d.log.With(zap.String("stage", "inbox")))
	d.jobs.TellInbox(d.inbox.Untaken)
	d.background("inbox", d.inbox.Run)
	d.background("pruning", remover{jobs: d.jobs, store: d.store, returned: d.returned, log: d.log, now: d.opts.Now, keep: d.keep}.run)
	d.background("watchdog", d.watchdog)
	d.background("store", d.watchStore)
	d.opts.Notify(notifyReady)
	d.log.Info("ready", zap.String("stage", "start"), zap.Strings("devices", d.settings.names()), zap.String("inbox", d.settings.Inbox))
	return nil
}

// background runs a function until Stop; its context ends then.
func (d *Daemon) background(name string, run func(context.Context)) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		run(ctx)
	}()
	d.onStop(name, func(limit context.Context) error {
		cancel()
		return waitFor(limit, done)
	})
}

func waitFor(limit context.Context, done <-chan struct{}) error {
	select {
	case <-done:
		return nil
	case <-limit.Done():
		return fmt.Errorf("not ended in time: %w", limit.Err())
	}
}

// Stop ends everything within the context's limit, and may be called twice. The inbox ends first, so that no new file
// is taken (one in hand is finished). Then the devices: making is given up and repeated by the next start, sending is
// brought to rest with the tool up and its job is stopped. Then the socket, because people must be able to cancel
// until the machines rest; then the ledger, after all that write to it; last the store's lock, so that no other daemon
// begins on files that this one still uses.
func (d *Daemon) Stop(ctx context.Context) error {
	d.once.Do(func() {
		if d.inbox != nil {
			d.opts.Notify(notifyStopping)
		}
		for _, c := range slices.Backward(d.closers) {
			if err := c.fn(ctx); err != nil {
				d.log.Warn("stopping", zap.String("stage", "stop"), zap.String("part", c.name), zap.Error(err))
				d.stopErr = errors.Join(d.stopErr, fmt.Errorf("stopping the %s: %w", c.name, err))
			}
		}
	})
	return d.stopErr
}

// Reload takes new settings over. All that can fail is tried first; after a fault the old settings stay in force. take
// is called when the new ones come into force: the workers that end have ended, and no new worker has begun. Programs
// are made by the new settings from then on.
func (d *Daemon) Reload(s Settings, take func()) error {
	d.opts.Notify(notifyReloading())
	defer d.opts.Notify(notifyReady)
	if err := s.validate(); err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	leave, err := d.mayReload(s)
	if err != nil {
		d.jobs.Serve(d.settings.Devices)
		for _, w := range leave {
			d.jobs.Kick(w.device.Name)
		}
		return err
	}
	for _, w := range leave {
		w.stop()
		<-w.done
		delete(d.workers, w.device.Name)
	}
	d.settings = s
	take()
	d.taken.Add(1)
	d.ledger.KeepRolls(s.Rolls)
	d.jobs.Serve(s.Devices)
	for _, dev := range s.Devices {
		if d.workers[dev.Name] == nil {
			d.workers[dev.Name] = d.startWorker(dev)
		}
	}
	d.inbox.Change(s.names(), s.Watch)
	d.log.Info("settings taken over", zap.String("stage", "reload"), zap.Strings("devices", s.names()))
	return nil
}

// mayReload tries all that can fail in a reload, and gives the workers that must end.
func (d *Daemon) mayReload(s Settings) (leave []*worker, err error) {
	if !d.running {
		return nil, errors.New("the daemon does not run")
	}
	if s.Inbox != d.settings.Inbox || s.Store != d.settings.Store || s.Returned != d.settings.Returned || s.Group != d.settings.Group {
		return nil, errors.New("the folders inbox, store and returned, and their group, cannot change while the daemon runs: stop it and start it again")
	}
	for name, w := range d.workers {
		if slices.Contains(s.Devices, w.device) {
			continue
		}
		if err := d.jobs.Leave(name); err != nil {
			return leave, err
		}
		leave = append(leave, w)
		will := job.Device{Name: name}
		if i := slices.IndexFunc(s.Devices, func(o job.Device) bool { return o.Name == name }); i >= 0 {
			will = s.Devices[i]
		}
		if err := d.takeBack(context.Background(), will, "the workroom file changed its device"); err != nil {
			return leave, err
		}
	}
	for _, dev := range s.Devices {
		if err := d.taker.MakeDir(dev.Name); err != nil {
			return leave, store.WithAdvice(err)
		}
	}
	return leave, nil
}

// keep gives how long programs and how long whole jobs are kept.
func (d *Daemon) keep() (programs, drafts time.Duration) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.settings.Keep, d.settings.KeepDrafts
}
