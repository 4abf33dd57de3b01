package jobtext

import (
	"context"
	"fmt"
	"time"

	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
)

// look is how often a job that is waited for is looked at.
const look = 250 * time.Millisecond

// NeedsYou tells whether a job goes no further without a person.
func NeedsYou(j ledger.Job) bool { return j.State == ledger.Held || j.State == ledger.Stopped }

// Until waits until a job has ended or, with person, until it needs one, and gives it as it then is. tell, nil for
// none, hears of it each time that it is looked at.
func Until(ctx context.Context, led reading.Reader, id int64, person bool, tell func(ledger.Job) error) (ledger.Job, error) {
	for {
		j, err := led.Job(ctx, id)
		if err == nil && tell != nil {
			err = tell(j)
		}
		if err != nil || j.State.Ended() || person && NeedsYou(j) {
			return j, err
		}
		select {
		case <-ctx.Done():
			return j, ctx.Err()
		case <-time.After(look):
		}
	}
}

// Follow tells what happens to a job after so many lines of its history, and how far its sending is, until it has
// ended.
func (t Teller) Follow(ctx context.Context, led reading.Reader, id int64, told int) (ledger.Job, error) {
	said, next := "", time.Time{}
	return Until(ctx, led, id, false, func(j ledger.Job) error {
		events, err := led.Events(ctx, id)
		if err != nil {
			return err
		}
		if told < len(events) {
			t.Events(events[told:])
			told = len(events)
		}
		if time.Now().Before(next) {
			return nil
		}
		next = time.Now().Add(2 * time.Second)
		if now := t.now(ctx, j); now != "" && now != said {
			said = now
			fmt.Fprintf(t.Out, "  now  %s\n", pattern.Printable(now))
		}
		return nil
	})
}

// soon is how long a command waits to see whether a job that was let go begins.
const soon = 2 * time.Second

// Begun waits a little to see whether a job does what it was let go for, and says what keeps it from that: a port
// that is not there, or a draft or a workroom file that has changed.
func (t Teller) Begun(ctx context.Context, c *remote.Client, id int64, what string) error {
	j, sending, err := Begins(ctx, c, id, soon)
	switch {
	case err != nil || sending || j.Reason == "" || j.State.Ended(): // what was asked was done; `show` tells the rest
	case j.State == ledger.Pending:
		fmt.Fprintf(t.Out, "job %d waits: %s\n", id, pattern.Printable(j.Reason))
	default:
		return fmt.Errorf("job %d does not %s: %s", id, what, pattern.Printable(j.Reason))
	}
	return nil
}

// Watch tells of each job of a filter that is new or stands otherwise than before, until the context ends; known are
// those that were told already.
func Watch(ctx context.Context, led reading.Reader, f ledger.Filter, known []ledger.Job, tell func(ledger.Job) error) error {
	type stand struct {
		state  ledger.State
		reason string
		short  bool
	}
	standOf := func(j ledger.Job) stand {
		return stand{j.State, j.Reason, j.Supply != nil && j.Supply.ShortMM > 0}
	}
	was := map[int64]stand{}
	for _, j := range known {
		was[j.ID] = standOf(j)
	}
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(2 * look):
		}
		list, err := led.Jobs(ctx, f)
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			return err
		}
		now := map[int64]stand{}
		for i := len(list) - 1; i >= 0; i-- { // the oldest first, as it happened
			j := list[i]
			now[j.ID] = standOf(j)
			if before, is := was[j.ID]; is && before == now[j.ID] {
				continue
			}
			if err := tell(j); err != nil {
				return err
			}
		}
		was = now
	}
}

// Line is a job on one line, with the time at which it is told.
func (t Teller) Line(j ledger.Job) {
	text := fmt.Sprintf("%s  job %d, %s for %s: %s", time.Now().Format("15:04:05"), j.ID, pattern.Short(j.File), pattern.Short(j.Device), stateWords(j))
	if trial := j.TrialSaid(); trial != "" {
		text += "; " + trial
	}
	if j.Reason != "" {
		text += "; " + j.Reason
	}
	if short, _ := t.Stock(j); short != "" {
		text += "; " + short
	}
	fmt.Fprintln(t.Out, pattern.Printable(text))
}
