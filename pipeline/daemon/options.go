package daemon

import (
	"errors"
	"fmt"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Settings are the daemon's part of the workroom file.
type Settings struct {
	Inbox, Store, Returned string
	// Drafts is the folder of drafts that tickets and drafts may name, empty for none.
	Drafts string
	// Made is where senders put sheets, empty for none. They stay: only half-written ones are removed.
	Made    string
	Devices []job.Device
	Watch   inbox.Settings
	// Group of the system may drop files, read what came back and speak to the daemon; empty for none.
	Group string
	// Keep is how long programs and pictures of ended jobs are kept, and the folders in returned and in
	// the store's stray; KeepDrafts is how long the jobs themselves are. 0 is for ever.
	Keep, KeepDrafts time.Duration
	// Rolls is what is said of materials.
	Rolls ledger.Rolls
}

// Options are what the daemon works with.
type Options struct {
	Build job.Maker
	Send  job.Sender
	// Better seeks better lays; nil for none.
	Better job.Better
	// Port tells of a device why nothing can be sent to it, as its port is not there, without opening
	// anything; nil is always there.
	Port func(device string) error
	Log  *zap.Logger
	// FS is the disk unless a test puts another in its place; Now the clock of the ledger.
	FS  store.FS
	Now func() time.Time
	// Notify tells the service manager; nil is systemd's way, which does nothing elsewhere.
	Notify func(state string)
	// Retry is how long to wait after a full disk and the like, 5 s unless set.
	Retry time.Duration
	// NewLedger is a person's word that a lost or damaged ledger is begun anew.
	NewLedger bool
}

func (s Settings) validate() error {
	var faults []error
	for _, f := range [][2]string{{"inbox", s.Inbox}, {"returned", s.Returned}, {"store", s.Store}} {
		if f[1] == "" {
			faults = append(faults, fmt.Errorf("no folder is set for %q", f[0]))
		}
	}
	seen := map[string]bool{}
	for _, d := range s.Devices {
		if seen[d.Name] {
			faults = append(faults, fmt.Errorf("two devices are called %q", d.Name))
		}
		seen[d.Name] = true
	}
	if len(s.Devices) == 0 {
		faults = append(faults, errors.New("no device is set up"))
	}
	return errors.Join(faults...)
}

func (s Settings) names() []string {
	names := make([]string, len(s.Devices))
	for i, d := range s.Devices {
		names[i] = d.Name
	}
	return names
}

func (o *Options) fill() error {
	if o.Build == nil || o.Send == nil {
		return errors.New("the daemon needs a Maker and a Sender")
	}
	if o.Log == nil {
		o.Log = zap.NewNop()
	}
	if o.FS == nil {
		o.FS = store.Disk{}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Notify == nil {
		o.Notify = notifySystemd
	}
	if o.Retry <= 0 {
		o.Retry = 5 * time.Second
	}
	return nil
}
