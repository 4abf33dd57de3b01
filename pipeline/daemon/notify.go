package daemon

import (
	"context"
	"fmt"
	"time"

	sd "github.com/coreos/go-systemd/v22/daemon"
	"go.uber.org/zap"
)

// The states that the service manager is told (sd_notify(3)).
const (
	notifyReady    = sd.SdNotifyReady
	notifyStopping = sd.SdNotifyStopping
	notifyAlive    = sd.SdNotifyWatchdog
)

// notifyReloading has the time in it, as sd_notify(3) asks for.
func notifyReloading() string { return sd.SdNotifyReloading + "\n" + sd.SdNotifyMonotonicUsec() }

// notifySystemd tells the service manager a state; without one it does nothing.
func notifySystemd(state string) { _, _ = sd.SdNotify(false, state) }

// watchdog tells the service manager that the daemon is alive, as long as the inbox works and the ledger answers. A
// machine that draws for hours is no evidence.
func (d *Daemon) watchdog(ctx context.Context) {
	every, err := sd.SdWatchdogEnabled(false)
	if err != nil || every <= 0 {
		return
	}
	tick := time.NewTicker(every / 2)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if err := d.Alive(ctx); err != nil {
				d.log.Error("not well, so the service manager is not told otherwise", zap.String("stage", "watchdog"), zap.Error(err))
				continue
			}
			d.opts.Notify(notifyAlive)
		}
	}
}

// Alive gives what is wrong with the daemon itself, nil for nothing.
func (d *Daemon) Alive(ctx context.Context) error {
	late := time.Since(d.inbox.Beat())
	if late > 3*d.inbox.Interval()+10*time.Second {
		return fmt.Errorf("the inbox has not been looked at for %s", late.Round(time.Second))
	}
	if err := d.jobs.StillThere(); err != nil {
		return err
	}
	limit, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	return d.ledger.Ping(limit)
}

// watchStore logs once when the store or the ledger is taken away, and once when it is back. Nothing is taken or sent
// meanwhile.
func (d *Daemon) watchStore(ctx context.Context) {
	tick := time.NewTicker(d.opts.Retry)
	defer tick.Stop()
	for gone := false; ; {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		switch err := d.jobs.StillThere(); {
		case err != nil && !gone:
			d.log.Error("nothing is taken and nothing sent", zap.String("stage", "store"), zap.Error(err))
		case err == nil && gone:
			d.log.Info("the store and the ledger are back", zap.String("stage", "store"))
		default:
			continue
		}
		gone = !gone
	}
}
