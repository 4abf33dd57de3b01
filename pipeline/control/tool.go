package control

import (
	"context"
	"errors"
	"fmt"

	"go.uber.org/zap"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// drew reads a job's program and gives a function that tells what an ended run of it drew, mm, and how far along the
// material it surely came, mm; 0, with a line in the log, where the program cannot be read. It is called before the
// ledger is written, because a long program would hold up the write, and not for a run that goes on.
func (d *Jobs) drew(ctx context.Context, id int64, goesOn bool) func(s ledger.Send) (drawnMM, ranMM float64) {
	j, err := d.led.Job(ctx, id)
	if goesOn || err != nil || j.Sends == 0 || d.prints(j.Device) {
		return func(ledger.Send) (float64, float64) { return 0, 0 }
	}
	p, err := d.Program(ctx, id)
	return func(s ledger.Send) (float64, float64) {
		switch {
		case s.Bytes == 0:
			return 0, 0
		case err != nil:
			d.log.Warn("what this run drew is not counted", zap.Int64("job", id), zap.String("device", j.Device), zap.Error(err))
			return 0, 0
		}
		return places.Drawn(p, s), places.Ran(p, s)
	}
}

// Tool tells how many mm a device's pen or blade has drawn since it was changed.
func (d *Jobs) Tool(ctx context.Context, device string) (ledger.Tool, error) {
	return d.led.Tool(ctx, device)
}

// ToolChanged notes that a person changed a device's pen or blade. last is the number of the last change that the
// person saw, -1 for any; where there is a later one, it is refused. It is refused too while a job is being sent: what
// that run draws is counted when it ends, and could belong to the old tool or the new one.
func (d *Jobs) ToolChanged(ctx context.Context, device string, last int64) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	dev, served := d.device(device)
	if !served || dev.Prints {
		return refuse("tracewheel devices lists them", fmt.Sprintf("%q is no device with a pen or a blade in this workroom", device))
	}
	d.mu.Lock()
	for id, l := range d.live {
		if l.last.Device == device {
			d.mu.Unlock()
			return refuse(fmt.Sprintf("wait for job %d to end, then say it", id),
				fmt.Sprintf("job %d is on %s, and its metres count for the pen or blade that it began with", id, device))
		}
	}
	d.mu.Unlock()
	err := d.led.ChangeTool(ctx, device, asker.Sign(ctx, ""), last)
	if errors.Is(err, ledger.ErrState) {
		return refuse("look at the device again", fmt.Sprintf("the pen or blade of %s was changed meanwhile: nothing was noted", device))
	}
	return err
}
