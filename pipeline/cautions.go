package pipeline

import (
	"context"
	"fmt"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/ledger"
)

// BedClear is what a person says before a blade or a head above a cutter's bed moves.
const BedClear = "the bed is clear, and the cloth is backed, flat and held, in one layer"

// NotShifted is what a person says before a blade goes in again.
const NotShifted = "neither cloth nor machine has shifted, and the bed is clear"

// NeedsNotShifted tells whether letting a stopped job go on from a place moves a cutter. Without a place
// a job that was cut short only has its places listed.
func NeedsNotShifted(ctx context.Context, room *config.Workroom, id int64, from string) (bool, error) {
	led, err := LookLedger(ctx, room)
	if err != nil {
		return false, err
	}
	defer led.Close() //nolint:errcheck // only read
	j, err := led.Job(ctx, id)
	if err != nil {
		return false, err
	}
	return room.Devices[j.Device].Kind.Cuts() && j.State == ledger.Stopped && (from != "" || j.Send.End == ""), nil
}

// Cautions are shown where a person lets a cutter go.
func Cautions() []string { return knife.Cautions() }

// NeedsBedClear tells whether letting a job go moves a cutter, so that a person must say BedClear.
func NeedsBedClear(ctx context.Context, room *config.Workroom, id int64) (bool, error) {
	led, err := LookLedger(ctx, room)
	if err != nil {
		return false, err
	}
	defer led.Close() //nolint:errcheck // only read
	j, err := led.Job(ctx, id)
	if err != nil {
		return false, err
	}
	return room.Devices[j.Device].Kind.Cuts() && !j.State.Ended(), nil
}

// cautious shows the cautions in the log before each cutter's first job of a day.
type cautious struct {
	send Sender
	cuts func(device string) bool
	log  *zap.Logger
	now  func() time.Time

	mu   sync.Mutex
	told map[string]string // device to day
}

func (c *cautious) Send(ctx context.Context, in SendInput) SendOutcome {
	if c.cuts(in.Device) && c.first(in.Device) {
		c.log.Info(fmt.Sprintf("the first job of the day on %s", in.Device), zap.String("stage", "send"), zap.String("device", in.Device),
			zap.Int64("job", in.Job), zap.Strings("cautions", Cautions()))
	}
	return c.send(ctx, in)
}

func (c *cautious) first(device string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	today := c.now().Format("2006-01-02")
	if c.told[device] == today {
		return false
	}
	c.told[device] = today
	return true
}
