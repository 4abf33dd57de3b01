package pipeline

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/port"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// PortSender sends programs down the workroom's ports. A port is open only while a job runs, so that
// a cable may be moved between jobs.
type PortSender struct {
	room func() *config.Workroom
	make func(ctx context.Context, in BuildInput, fromStroke int) (Built, error)
	log  *zap.Logger
	// open is port.Open unless a test puts a line in memory in its place.
	open func(devices.PortProfile) (devices.Line, error)
}

// NewPortSender gives the Sender of a workroom. rest makes the program anew from a stroke on, for a
// blade whose heading was lost.
func NewPortSender(room func() *config.Workroom, rest func(ctx context.Context, in BuildInput, fromStroke int) (Built, error), log *zap.Logger) *PortSender {
	return &PortSender{room: room, make: rest, log: log, open: port.Open}
}

// Send is a Sender.
func (s *PortSender) Send(ctx context.Context, in SendInput) SendOutcome {
	profile, _ := s.room().On(in.Device, "")
	if profile.Name == "" {
		return stopped(fmt.Sprintf("the workroom file has no device %q any more", in.Device), -1)
	}
	prog, from, shift, err := s.rest(ctx, in)
	if err != nil {
		return stopped(err.Error(), -1)
	}
	line, err := s.open(profile.Port)
	if err != nil {
		return stopped(portTrouble(in.Device, profile.Port, err), -1)
	}
	ctl := port.NewControl()
	in.Attach(ctl)
	out := port.Send(ctx, line, prog, profile, port.Options{
		From: from, Control: ctl,
		Progress: func(p port.Progress) { in.Progress(progressOf(p, shift.stroke)) },
	})
	if err := line.Close(); err != nil {
		s.log.Warn("the port did not close cleanly", zap.String("device", in.Device), zap.Error(err))
	}
	return outcomeOf(out, shift.block)
}

// shift is by how much the numbers of a program made anew differ from those of the whole one.
type shift struct{ stroke, block int }

// rest is what is really sent. Where every stroke relies on the blade's heading that the one before
// it left, going on from the middle means a new program with an alignment stroke of its own.
func (s *PortSender) rest(ctx context.Context, in SendInput) (devices.Program, int, shift, error) {
	if in.From <= in.Program.Prelude || !in.Program.Chained {
		return in.Program, in.From, shift{}, nil
	}
	stroke := in.Program.Blocks[in.From].Stroke
	for b := in.From; stroke < 0 && b < len(in.Program.Blocks); b++ {
		stroke = in.Program.Blocks[b].Stroke
	}
	if stroke < 0 {
		return devices.Program{}, 0, shift{}, errors.New("nothing is left to cut from there")
	}
	draft, err := in.Draft()
	if err != nil {
		return devices.Program{}, 0, shift{}, fmt.Errorf("the draft cannot be read again: %w", err)
	}
	built, err := s.make(ctx, draft, stroke)
	if err != nil {
		return devices.Program{}, 0, shift{}, err
	}
	return built.Program, 0, shift{stroke: stroke, block: in.From}, nil
}

func stopped(reason string, sure int) SendOutcome {
	return SendOutcome{State: ledger.Stopped, Reason: reason, SureBlock: sure}
}

// portTrouble tells what a person at the machine can do about a port that does not open.
func portTrouble(device string, p devices.PortProfile, err error) string {
	switch {
	case errors.Is(err, port.ErrInUse):
		return fmt.Sprintf("%v; close the other program, then resume", err)
	case errors.Is(err, devices.ErrGone):
		return fmt.Sprintf("%v; is %s switched on and plugged in? `tracewheel devices` lists the ports; then resume", err, device)
	default:
		return fmt.Sprintf("%v; look at the port settings of %s, then resume", err, device)
	}
}

func progressOf(p port.Progress, shift int) control.Progress {
	out := control.Progress{Bytes: p.Bytes, Total: p.Total, Stroke: p.Stroke, Piece: p.Piece, Sure: -1,
		Waiting: p.Waiting, Person: p.Person}
	if p.Stroke >= 0 {
		out.Stroke += shift
	}
	if p.SureKnown && p.Sure >= 0 {
		out.Sure = p.Sure + shift
	}
	return out
}

func outcomeOf(o port.Outcome, shift int) SendOutcome {
	out := SendOutcome{Reason: o.Reason, Bytes: o.Written, SureBlock: -1, ToolUp: o.Tool == port.ToolUp}
	if o.Sure.Known && o.Sure.Block >= 0 && shift == 0 {
		out.SureBlock = o.Sure.Block
	}
	switch o.State {
	case port.Done:
		out.State = ledger.Completed
	case port.Canceled:
		out.State = ledger.Canceled
	default:
		out.State = ledger.Stopped
		if o.Words != "" {
			out.Reason = fmt.Sprintf("%s (the device said %q)", o.Reason, o.Words)
		}
	}
	return out
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
