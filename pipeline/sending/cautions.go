package sending

import (
	"context"
	"fmt"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/job"
)

// penCautions are the cautions for a gantry that moves a pen.
func penCautions() []string {
	return []string{
		"the machine's manual and the rules of your workroom come first; where they differ from this, follow them",
		"the gantry moves with force: keep hands, hair, sleeves, tapes and lanyards out of its reach while its axes are enabled",
		"the machine's own emergency stop must be within reach and tried before work; pause and cancel here go over a cable and a computer and are no substitute for it",
		"check that the paper is held down and that no weight, clip or tool lies in the gantry's way; change the pen with the axes disabled",
		"stay with the machine while it draws",
	}
}

// CautionsOf gives the cautions that are shown where a person releases a job of a device of that kind; none for a pen
// plotter.
func CautionsOf(k devices.Kind) []string {
	switch {
	case k.Cuts():
		return knife.Cautions()
	case k == devices.PenGantry:
		return penCautions()
	}
	return nil
}

// cautious writes the cautions into the log before each gantry's first job of a day.
type cautious struct {
	send job.Sender
	kind func(device string) devices.Kind
	log  *zap.Logger
	now  func() time.Time

	mu    sync.Mutex
	shown map[string]string // device to day
}

// WithCautions gives a sender that logs the cautions first and then calls send; kind gives the kind of a device.
func WithCautions(send job.Sender, kind func(device string) devices.Kind, log *zap.Logger, now func() time.Time) job.Sender {
	return (&cautious{send: send, kind: kind, log: log, now: now, shown: map[string]string{}}).Send
}

func (c *cautious) Send(ctx context.Context, in job.Run) job.Outcome {
	if all := CautionsOf(c.kind(in.Device)); len(all) > 0 && c.first(in.Device) {
		c.log.Info(fmt.Sprintf("the first job of the day on %s", in.Device), zap.String("stage", "send"), zap.String("device", in.Device),
			zap.Int64("job", in.Job), zap.Strings("cautions", all))
	}
	return c.send(ctx, in)
}

func (c *cautious) first(device string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	today := c.now().Format("2006-01-02")
	if c.shown[device] == today {
		return false
	}
	c.shown[device] = today
	return true
}

// Shown gives the cautions of a kind for a release: all of them, or one line where they were shown that day.
func Shown(k devices.Kind, device string, seen bool) []string {
	list := CautionsOf(k)
	if len(list) == 0 || !seen {
		return list
	}
	clear := "keep out of the gantry's reach"
	if k.Cuts() {
		clear = "keep clear of the blade"
	}
	return []string{clear + "; all cautions were shown at today's first release of " + device + ", --cautions shows them again"}
}
