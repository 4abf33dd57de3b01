package jobtext

import (
	"context"
	"slices"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
)

// Begins watches a job that a person has let go for so long, until bytes of it are sent, or it is seen that none will
// be: its state is another then, or its reason says what it waits for.
func Begins(ctx context.Context, c *remote.Client, id int64, limit time.Duration) (j ledger.Job, sending bool, err error) {
	for end := time.Now().Add(limit); ; {
		if j, err = c.Job(ctx, id); err != nil {
			return j, false, err
		}
		now, err := c.Now(ctx)
		i := slices.IndexFunc(now, func(p control.Progress) bool { return p.Job == id })
		sending = i >= 0 && now[i].Bytes > 0
		waits := j.State != ledger.Processing && (j.State != ledger.Pending || j.Reason != "" && j.Ready)
		if err != nil || sending || waits || time.Now().After(end) {
			return j, sending, err
		}
		select {
		case <-ctx.Done():
			return j, false, ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}
