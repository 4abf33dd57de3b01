package pipeline

import (
	"context"
	"fmt"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices/knife"
)

// Cautions are shown where a person lets a cutter go.
func Cautions() []string { return knife.Cautions() }

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
