package pipeline

import (
	"context"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/testsquare"
)

// Workshop is a daemon for a workroom file: the Daemon with its Builder and Sender filled in, so
// that a new workroom file reaches all three.
type Workshop struct {
	*Daemon
	house *houseKeeper
}

// houseKeeper gives every draft and every sending the workroom of the moment.
type houseKeeper struct {
	keeper
}

func (k *houseKeeper) house() *House {
	room := k.get()
	return &House{Room: room, setting: func(device string) testsquare.Setting { return testsquare.SettingOf(room, device, time.Now()) }}
}

// NewWorkshop opens a workroom's store and prepares its daemon, with may set more of its options; Start and Stop are the Daemon's.
func NewWorkshop(ctx context.Context, room *config.Workroom, log *zap.Logger, with ...func(*Options)) (*Workshop, error) {
	k := &houseKeeper{}
	k.set(room)
	sender := NewPortSender(k.get, func(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error) {
		return k.house().Rest(ctx, in, r)
	}, log)
	kind := func(device string) devices.Kind { return k.get().Devices[device].Kind }
	opts := Options{
		Log:  log,
		Send: WithCautions(sender.Send, kind, log, time.Now),
		Port: sender.Port,
		Build: func(ctx context.Context, in job.Draft) (job.Made, error) {
			return k.house().Build(ctx, in)
		},
	}
	for _, fn := range with {
		fn(&opts)
	}
	d, err := New(ctx, settingsOf(room), opts)
	if err != nil {
		return nil, err
	}
	return &Workshop{Daemon: d, house: k}, nil
}

// Reload takes a new workroom file over, or keeps the old one whole and says why.
func (w *Workshop) Reload(room *config.Workroom) error {
	return w.reload(settingsOf(room), func() {
		w.house.set(room) // before the worker of a device that is new in it begins
		w.taken.Add(1)    // from now on programs are made by it
	})
}

func settingsOf(room *config.Workroom) Settings {
	s := Settings{
		Inbox: room.Path(room.Folders.Inbox), Store: room.Path(room.Folders.Store),
		Returned: room.Path(room.Folders.Returned),
		Watch: inbox.Settings{Settle: room.Watch.Settle.D(), Unsure: room.Watch.SettleUnsure.D(), Limit: room.Watch.Limit.D(),
			Rescan: room.Watch.Rescan.D()},
		Keep: room.Keep.D(), KeepDrafts: room.KeepDrafts.D(), Group: room.Folders.Group,
	}
	for _, name := range room.DeviceNames() {
		d := room.Devices[name]
		s.Devices = append(s.Devices, job.Device{Name: name, Cuts: d.Kind.Cuts(), Waits: d.Kind == devices.PenGantry && !d.StartsByItself})
	}
	return s
}
