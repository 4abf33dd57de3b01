package inbox

import (
	"context"
	"errors"
	"io/fs"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// lateWait is how long a claim stays, hidden, after its job was entered, where the system does not tell whether a program
// writes to it: a program that had it open and stalled is still noticed in that time.
const lateWait = 10 * time.Minute

// stillWatched is a claim as it was when it was copied.
type stillWatched struct {
	before map[string]Entry
	until  time.Time
}

func (t *Taker) watch(c claim, before map[string]Entry) {
	if t.watched == nil {
		t.watched = map[int64]stillWatched{}
	}
	t.watched[c.job] = stillWatched{before, time.Now().Add(lateWait)}
}

// entered completes a claim whose job is in the book: it is removed, unless it was written to after it was copied or may
// still be. After a restart the copy in the store tells.
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
	case t.changed(w.before):
		return true, t.late(ctx, c)
	case time.Now().Before(w.until):
		return false, nil
	}
	return true, t.remove(c)
}

// changed tells whether one of the claimed files is no longer as it was when it was copied.
func (t *Taker) changed(before map[string]Entry) bool {
	for path, was := range before {
		if t.look(path, was) != nil {
			return true
		}
	}
	return false
}

// sameAsStored tells whether a claim is the same as its copy, by their sums.
func (t *Taker) sameAsStored(c claim) (bool, error) {
	paths := map[string]string{originalName(c.name): c.path}
	for name, path := range c.with {
		paths[ledger.WithFile(name)] = path
	}
	for name, path := range paths {
		kept, err := t.Store.Sum(c.job, name)
		if errors.Is(err, fs.ErrNotExist) {
			return false, nil // a claim that was not read is never removed
		}
		if err != nil {
			return false, err
		}
		there, err := store.SumFile(t.FS, path)
		if errors.Is(err, fs.ErrNotExist) {
			continue // a person took it away
		}
		if err != nil || kept.Size != there.Size || kept.SHA256 != there.SHA256 {
			return false, err
		}
	}
	return true, nil
}

// late handles a file that was written to after it was copied. The copy is a job, and may be half a draft: that is told
// first. The file itself is then a newer drop.
func (t *Taker) late(ctx context.Context, c claim) error {
	if err := t.Book.Late(ctx, c.job); err != nil {
		return err
	}
	return t.putBack(c)
}
