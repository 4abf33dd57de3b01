package ledger

import (
	"context"
	"errors"
	"fmt"

	"modernc.org/sqlite"
)

// Copy writes the ledger at from to a new file, as it was at one moment, by SQLite's own online copy
// (https://sqlite.org/backup.html): a daemon that writes at the same time is not held up, and no change is copied in part.
func Copy(ctx context.Context, from, to string) (err error) {
	l, err := Look(ctx, from)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	c, err := l.look.Conn(ctx)
	if err != nil {
		return explain(err)
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	err = c.Raw(func(driver any) error {
		maker, ok := driver.(interface {
			NewBackup(string) (*sqlite.Backup, error)
		})
		if !ok {
			return errors.New("this build of SQLite makes no copies")
		}
		b, err := maker.NewBackup(to)
		if err != nil {
			return err
		}
		for more := true; more && err == nil; {
			more, err = b.Step(-1)
		}
		return errors.Join(err, b.Finish())
	})
	if err != nil {
		return fmt.Errorf("copying the ledger %q: %w", from, explain(err))
	}
	return nil
}

// Restored corrects a job of a copy that is brought back: what was sent of it since the copy was taken is not known, so it
// is stopped until a person decides. It keeps what was surely drawn by then. blocks and total are those of its program, 0
// without one; of a job without a program the copy has only draft, ticket, measure cards and blocks. A job that had ended
// stays as it is.
func (l *Ledger) Restored(ctx context.Context, id int64, reason string, blocks int, total int64) error {
	for {
		j, err := l.Change(ctx, id, func(j *Job) (Step, error) { return l.restored(j, reason, blocks, total), nil })
		if err != nil {
			return err
		}
		if j.State != Stopped && !j.State.Ended() {
			continue // the table of transitions has no shorter way
		}
		if j.Ready || j.State.Ended() {
			return nil
		}
		_, err = l.db.ExecContext(ctx, "DELETE FROM files WHERE job = ? AND name NOT IN (?, ?, ?) AND substr(name, 1, ?) <> ? AND substr(name, 1, ?) <> ? AND substr(name, 1, ?) <> ?",
			id, j.Original, j.Ticket, LayFile(j.Lay), len(cardPrefix), cardPrefix, len(blockPrefix), blockPrefix, len(withPrefix), withPrefix)
		return explain(err)
	}
}

// restored makes one transition.
func (l *Ledger) restored(j *Job, reason string, blocks int, total int64) Step {
	step := Step{Kind: "restored", Text: reason}
	switch j.State {
	case Held:
		j.State, j.Reason = Pending, reason
	case Pending:
		j.State, j.Reason, j.Released = Processing, reason, false
		step.Send = &Send{No: j.Sends + 1, Began: l.now(), Updated: l.now(), Blocks: blocks, Total: total, Sure: -1, Stroke: -1, Tool: Unknown}
	case Processing, Stopped:
		send := j.Send
		send.Tool, send.Cancel, send.End = Unknown, false, "cut short"
		if send.Ended.IsZero() {
			send.Ended = l.now()
		}
		j.State, j.Reason, step.Send = Stopped, reason, &send
	default:
		return Step{}
	}
	return step
}
