// Package pipeline puts the rooms below it together: a Workshop is the daemon for a workroom file, with
// what makes drafts (pipeline/making) and what sends programs (pipeline/sending) filled in. Every other
// thing has a room of its own; DEVELOPERS.md says which.
package pipeline

import (
	"context"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sending"
)

// Workshop is a daemon for a workroom file: the Daemon with its Maker and Sender filled in, so
// that a new workroom file reaches all three.
type Workshop struct {
	*daemon.Daemon
	keeper *keeper
}

// New opens a workroom's store and prepares its daemon, with may set more of its options; Start and Stop are the Daemon's.
func New(ctx context.Context, room *config.Workroom, log *zap.Logger, with ...func(*daemon.Options)) (*Workshop, error) {
	k := &keeper{room: room}
	sender := sending.New(k.get, func(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error) {
		return making.New(k.get()).Rest(ctx, in, r)
	}, log)
	kind := func(device string) devices.Kind { return k.get().Devices[device].Kind }
	opts := daemon.Options{
		Log:  log,
		Send: sending.WithCautions(sender.Send, kind, log, time.Now),
		Port: sender.Port,
		Build: func(ctx context.Context, in job.Draft) (job.Made, error) {
			return making.New(k.get()).Build(ctx, in)
		},
		Better: func(ctx context.Context, in job.Draft, seek time.Duration) ([]byte, string, error) {
			return making.New(k.get()).Better(ctx, in, seek)
		},
	}
	for _, fn := range with {
		fn(&opts)
	}
	d, err := daemon.New(ctx, settingsOf(room), opts)
	if err != nil {
		return nil, err
	}
	return &Workshop{Daemon: d, keeper: k}, nil
}

// Reload takes a new workroom file over, or keeps the old one whole and says why.
func (w *Workshop) Reload(room *config.Workroom) error {
	return w.Daemon.Reload(settingsOf(room), func() {
		w.keeper.set(room) // before the worker of a device that is new in it begins
	})
}

// Reread reads the workroom file again and takes it over. On any fault the old one stays in force; the log says both.
func (w *Workshop) Reread(log *zap.Logger) {
	room, err := config.Load(w.Room().File, pattern.RuleNames())
	if err == nil {
		for _, old := range room.Notes {
			log.Warn(old, zap.String("stage", "reload"))
		}
		err = w.Reload(room)
	}
	if err != nil {
		log.Error("the new workroom file is not taken over, the old one stays in force", zap.String("stage", "reload"), zap.Error(err))
	}
}

// Room is the workroom file in force.
func (w *Workshop) Room() *config.Workroom { return w.keeper.get() }

func settingsOf(room *config.Workroom) daemon.Settings {
	s := daemon.Settings{
		Inbox: room.Path(room.Folders.Inbox), Store: room.Path(room.Folders.Store),
		Drafts: room.Path("drafts"), Returned: room.Path(room.Folders.Returned), Made: room.Path(room.Folders.Made),
		Watch: inbox.Settings{Settle: room.Watch.Settle.D(), Unsure: room.Watch.SettleUnsure.D(), Limit: room.Watch.Limit.D(),
			Rescan: room.Watch.Rescan.D()},
		Keep: room.Keep.D(), KeepDrafts: room.KeepDrafts.D(), Group: room.Folders.Group,
	}
	s.Rolls = ledger.Rolls{Unit: room.Units, Width: map[string]float64{}, Least: map[string]float64{}}
	for name, m := range room.Materials {
		s.Rolls.Width[name], s.Rolls.Least[name] = m.Width, m.RollLeast
	}
	for _, name := range room.DeviceNames() {
		d := room.Devices[name]
		s.Devices = append(s.Devices, job.Device{Name: name, Cuts: d.Kind.Cuts(), Waits: d.Kind == devices.PenGantry && !d.StartsByItself, Prints: d.Kind.Prints(), Material: d.Material})
	}
	return s
}

// keeper holds a workroom that may be replaced while the daemon runs.
type keeper struct {
	mu   sync.Mutex
	room *config.Workroom
}

func (k *keeper) get() *config.Workroom {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.room
}

func (k *keeper) set(w *config.Workroom) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.room = w
}
