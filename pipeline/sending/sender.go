// Package sending sends a job's program to its device. It takes a job.Run and gives a job.Outcome. A cut that was held
// continues where the blade stood, with the rest of its program made anew. Cautions are logged before a gantry's first
// job of a day.
package sending

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/port"
	"tracewheel/devices/talk"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/machines"
)

// Sender sends programs down the workroom's ports. A port is open only while a job runs, so that
// a cable may be moved between jobs.
type Sender struct {
	room func() *config.Workroom
	rest func(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error)
	log  *zap.Logger
	// Open is port.Open unless a test replaces it by a line in memory.
	Open  func(devices.PortProfile) (devices.Line, error)
	where machines.Places
	// LiftLimit and ConfirmLimit are those of talk.Options; a test sets shorter ones.
	LiftLimit, ConfirmLimit time.Duration
}

// New gives the Sender of a workroom. rest makes the rest of a program anew, for a blade whose heading is not known;
// making.Maker.Rest does that.
func New(room func() *config.Workroom, rest func(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error), log *zap.Logger) *Sender {
	if log == nil {
		log = zap.NewNop()
	}
	return &Sender{room: room, rest: rest, log: log, Open: port.Open, where: port.Where}
}

// Send sends one run of a job and gives its outcome. It is a job.Sender.
func (s *Sender) Send(ctx context.Context, in job.Run) job.Outcome {
	profile, _ := s.room().On(in.Device, "")
	if profile.Name == "" {
		return stopped(fmt.Sprintf("the workroom file has no device %q any more", in.Device), -1)
	}
	if profile.Kind.Prints() {
		return s.print(ctx, in, profile)
	}
	if other := machines.Shared(s.room(), in.Device, s.where); other != "" {
		return stopped(machines.SharedWords(s.room(), in.Device, other), -1)
	}
	r, err := s.begin(ctx, in, profile)
	if ctx.Err() != nil {
		return stopped("the program was asked to end before the first byte", -1)
	}
	if err != nil {
		return stopped(err.Error(), -1)
	}
	ctl := talk.NewControl()
	in.Attach(ctl)
	line, err := s.openPatiently(ctx, ctl, profile.Port)
	if err != nil {
		return s.notOpened(ctx, in, ctl, profile.Port, err)
	}
	opt := talk.Options{From: r.from, Control: ctl, LiftLimit: s.LiftLimit, ConfirmLimit: s.ConfirmLimit, Progress: func(p talk.Progress) { in.Progress(r.progress(p)) }}
	if profile.Kind.Cuts() {
		opt.Continue = r.goOn
	}
	out := talk.Send(ctx, line, r.prog, profile, opt)
	if err := line.Close(); err != nil {
		s.log.Warn("the port did not close cleanly", zap.String("stage", "send"), zap.Int64("job", in.Job), zap.String("device", in.Device), zap.Error(err))
	}
	return r.outcome(out)
}

// Port gives nil while a device's port is there, as far as can be told without opening it.
func (s *Sender) Port(device string) error {
	d := s.room().Devices[device]
	if d.Kind.Prints() {
		return nil
	}
	p := d.Port
	path, err := s.where(p)
	if err == nil && filepath.IsAbs(path) {
		_, err = os.Stat(path)
	}
	switch {
	case errors.Is(err, devices.ErrGone):
		return err
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("port %q is not there: see that the cable is in and the device switched on", path)
	}
	return nil // any other fault is told when the port is opened
}

// lookTime is how long a port may be in use by another before that is a fault: `devices` opens it for the few seconds
// of its question.
const lookTime = 15 * time.Second

// openPatiently opens a port, and waits for a few seconds while `devices` asks the device.
func (s *Sender) openPatiently(ctx context.Context, ctl *talk.Control, p devices.PortProfile) (devices.Line, error) {
	for end := time.Now().Add(lookTime); ; {
		line, err := s.Open(p)
		if err == nil || !errors.Is(err, port.ErrInUse) || time.Now().After(end) || ctl.Canceled() {
			return line, err
		}
		select {
		case <-ctx.Done():
			return nil, err
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// notOpened gives the outcome of a sending that never began.
func (s *Sender) notOpened(ctx context.Context, in job.Run, ctl *talk.Control, p devices.PortProfile, err error) job.Outcome {
	switch {
	case ctl.Canceled():
		return job.Outcome{State: ledger.Canceled, Reason: "canceled by a person before the first byte", SureBlock: -1}
	case ctx.Err() != nil:
		return stopped("the program was asked to end before the first byte", -1)
	}
	return stopped(portTrouble(in.Device, p, err), -1)
}

func stopped(reason string, sure int) job.Outcome {
	return job.Outcome{State: ledger.Stopped, Reason: reason, SureBlock: sure}
}

// portTrouble says what a person at the machine can do about a port that does not open.
func portTrouble(device string, p devices.PortProfile, err error) string {
	switch {
	case errors.Is(err, port.ErrInUse):
		return fmt.Sprintf("%v; close the other program, then resume", err)
	case errors.Is(err, devices.ErrGone):
		return fmt.Sprintf("%v; `tracewheel devices` lists the ports; then resume", err)
	default:
		return fmt.Sprintf("%v; look at the port settings of %s, then resume", err, device)
	}
}
