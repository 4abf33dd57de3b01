package inbox

import (
	"context"
	"errors"
	"io/fs"
	"time"

	"tracewheel/pipeline/store"
)

// lateWait is how long a claim stays, hidden, after it was entered, where nobody tells who writes: a
// writer that had it open and stalled is still seen in that time.
const lateWait = 10 * time.Minute

// stillWatched is a claim as it was when it was copied.
type stillWatched struct {
	before Entry
	until  time.Time
}

func (t *Taker) watch(c claim, before Entry) {
	if t.watched == nil {
		t.watched = map[int64]stillWatched{}
	}
	t.watched[c.job] = stillWatched{before, time.Now().Add(lateWait)}
}

// entered finishes a claim whose job is known: it is removed, unless it was written to after it was
// copied or may still be. After a restart the copy in the store tells.
func (t *Taker) entered(ctx context.Context, c claim) (done bool, err error) {
	w, is := t.watched[c.job]
	if !is {
		if same, err := t.sameAsStored(c); err != nil {
			return false, err
		} else if !same {
			return true, t.late(ctx, c)
		}
		return true, t.remove(c)
	}
	switch {
	case t.look(c.path, w.before) != nil:
		return true, t.late(ctx, c)
	case time.Now().Before(w.until):
		return false, nil
	}
	return true, t.remove(c)
}

// sameAsStored compares a claim with its copy, byte for byte by their sums.
func (t *Taker) sameAsStored(c claim) (bool, error) {
	kept, err := t.Store.Sum(c.job, originalName(c.name))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil // never removed unread
	}
	if err != nil {
		return false, err
	}
	there, err := store.SumFile(t.FS, c.path)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil // a person took it away
	}
	return kept.Size == there.Size && kept.SHA256 == there.SHA256, err
}

// late treats a file that went on being written after it was copied. What was copied is a job, and may
// be half a draft: that is told first. What lies there now is a newer drop.
func (t *Taker) late(ctx context.Context, c claim) error {
	if err := t.Book.Late(ctx, c.job); err != nil {
		return err
	}
	return t.putBack(c)
}
