// Package pipeline runs the house: the daemon that takes dropped files, has them made into programs
// and sends those to their devices (New, Start, Stop, Reload).
package pipeline

import (
	"context"
	"errors"
	"fmt"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// BuildInput is a draft and what was said about it.
type BuildInput struct {
	Job    int64
	Source []byte
	// Name is the dropped file's name, Ticket the bytes of its ticket, nil for none.
	Name, Device string
	Ticket       []byte
	// Answers are what people said when they released the job: "allowance" -> "10mm".
	Answers map[string]string
}

// Built is what was made of a draft.
type Built struct {
	Style    string
	Pieces   int
	Findings []pattern.Finding
	// Program is what is to be sent; its Blocks are empty where the draft is refused or waits for an
	// answer.
	Program devices.Program
	// Report and Pictures are files, name to content: the report goes back with a refused file.
	Report, Pictures map[string][]byte
	DrawnMM          float64
	Notes            []string
	// Refused ends the job; Reason then says why in one line.
	Refused bool
	Reason  string
	// Hold is what a person must answer first, empty for nothing.
	Hold string
}

// Builder makes a program of a draft. An error is a fault of the program itself, not of the draft:
// what is wrong with a draft is said by Refused. It is called for one job of a device at a time, but
// for several devices at once, and must give the same for the same input.
type Builder func(ctx context.Context, in BuildInput) (Built, error)

// SendInput is what a Sender is given. Blocks and strokes count in Program.
type SendInput struct {
	Job     int64
	Device  string
	Program devices.Program
	// From is the block to go on with, 0 for the whole program.
	From int
	// Held is where in the first stroke the blade goes in again, nil to make all of it.
	Held *ledger.Place
	// Attach hands over the control by which people pause, resume and cancel this sending; it is
	// called once, before the first byte.
	Attach func(control.Hands)
	// Progress is called now and then from one goroutine. Job, Device and State are filled in here;
	// Sure is a stroke and SureBlock a block, -1 where nothing is sure.
	Progress func(control.Progress)
	// Draft reads what the program was made of, for the rest of a chained one to be made anew.
	Draft func() (BuildInput, error)
}

// SendOutcome is how a sending ended.
type SendOutcome struct {
	// State is completed, canceled or processing-stopped.
	State ledger.State
	// Reason is for people: the device's own words, their meaning, what mends it.
	Reason string
	Bytes  int64
	// SureBlock is the last block that surely was drawn, -1 where nothing is sure.
	SureBlock int
	// Held is where a blade stood, nil where that is not known. What was cut before it is.
	Held *ledger.Place
	// InDoubt is true where nothing that was called sure holds any more, as after a reset.
	InDoubt bool
	// ToolUp is true where the device confirmed that its tool is up.
	ToolUp bool
}

// Sender sends a program to a device. When ctx ends it stops as for a pause, lifts the tool and
// returns processing-stopped; it returns when nothing more of its doing can reach the device.
type Sender func(ctx context.Context, in SendInput) SendOutcome

// Device is a machine of the workroom as the daemon sees it.
type Device = control.Device

// Settings are the daemon's part of the workroom file.
type Settings struct {
	Inbox, Store, Returned string
	Devices                []Device
	Watch                  inbox.Settings
	// Group of the system may drop files, read what came back and speak to the daemon; empty for none.
	Group string
	// Keep is how long programs and pictures of ended jobs are kept, and the folders in returned and in
	// the store's stray; KeepDrafts is how long the jobs themselves are. 0 is for ever.
	Keep, KeepDrafts time.Duration
}

// Options are what the daemon works with.
type Options struct {
	Build Builder
	Send  Sender
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
		return errors.New("the daemon needs a Builder and a Sender")
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
