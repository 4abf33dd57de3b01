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

// Settings are what the daemon needs of the workroom file.
type Settings struct {
	Inbox, Store, Returned string
	// Drafts is the folder of drafts that tickets and drafts may name, empty for none.
	Drafts string
	// Made is the folder for sheets that senders write, empty for none. They stay; only half-written ones are removed.
	Made    string
	Devices []job.Device
	Watch   inbox.Settings
	// Group is the name of the group whose members may drop files, read what came back and speak to the daemon; empty
	// for none.
	Group string
	// Keep is how long programs and pictures of ended jobs are kept, and the folders in returned/ and in the store's
	// stray/; KeepDrafts is how long the jobs themselves are kept. 0 is for ever.
	Keep, KeepDrafts time.Duration
	// Rolls is what the workroom file says of materials on rolls.
	Rolls ledger.Rolls
}

// Options are what the daemon works with: its maker, its sender, and what a test replaces.
type Options struct {
	Build job.Maker
	Send  job.Sender
	// Better searches better lays; nil for none.
	Better job.Better
	// Port gives an error where nothing can be sent to a device because its port is not there; it opens nothing. Where
	// it is nil, all ports are taken to be there.
	Port func(device string) error
	Log  *zap.Logger
	// FS is the disk unless a test replaces it; Now is the clock of the ledger.
	FS  store.FS
	Now func() time.Time
	// Notify tells the service manager a state; nil is systemd's way, which does nothing where systemd does not run.
	Notify func(state string)
	// Retry is the wait after a fault that may pass, such as a full disk; 5 s unless set.
	Retry time.Duration
	// NewLedger is true where a person said that a lost or damaged ledger is to be begun anew.
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
