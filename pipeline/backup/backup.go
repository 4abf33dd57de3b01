// Package backup takes a copy of a workroom while its daemon runs, and brings one back: ledger, the
// files of jobs, what was measured, measure cards and the workroom file in one tar archive, each file
// with its sum. It knows store and ledger, and starts nothing.
package backup

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tracewheel/pipeline/store"
)

// Room says where the parts of a workroom are.
type Room struct {
	// File is the workroom file, Store the store's folder, Cards the folder of measure cards, which may be missing, Inbox
	// that of the devices' folders, empty where a copy cannot come to lie in it.
	File, Store, Cards, Inbox string
}

// Copied says what a copy holds.
type Copied struct {
	Jobs, Files int
	Bytes       int64
	// Faults are files of jobs that are not as they were saved: they are in the copy as they are, or missing.
	Faults []string
	// Left are files, such as links, that were left out.
	Left []string
	// Unlisted is why the store's list of copies lacks this one, nil where it has it.
	Unlisted error
}

// tries is how often the copy is begun again when a job was made anew or removed during it.
const tries = 5

// Take writes the copy of a workroom to a new file that only its owner can read. It copies the ledger first and then the
// files that this copy names, so that none of them is missing. A crash leaves a hidden file beside it, never half a copy
// under its name.
func Take(ctx context.Context, r Room, to string, now time.Time) (c Copied, err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return c, fmt.Errorf("%s is there already; a copy never replaces a file, so name another: %w", to, cmp.Or(err, fs.ErrExist))
	}
	if err := outside(r, to); err != nil {
		return c, err
	}
	for n := 1; ; n++ {
		c, err = take(ctx, r, to, now, n == tries)
		if err != nil && !errors.Is(err, errShorter) || err == nil && len(c.Faults) == 0 || n == tries {
			if err == nil {
				c.Unlisted = note(store.Disk{}, r.Store, Noted{File: to, At: now})
			}
			return c, err
		}
		select {
		case <-ctx.Done():
			return c, ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// take tries once; a copy with faults is kept only from the last try.
func take(ctx context.Context, r Room, to string, now time.Time, last bool) (Copied, error) {
	temp := filepath.Join(filepath.Dir(to), ".part-"+filepath.Base(to))
	w := &writer{ctx: ctx, room: r, man: manifest{Format: format, Taken: now.UTC(), Store: storeIn(r)}}
	err := errors.Join(removeIfThere(temp), removeIfThere(temp+".ledger"))
	if err == nil {
		err = w.write(temp)
	}
	if err == nil && (last || len(w.faults) == 0) {
		if err = os.Rename(temp, to); err == nil {
			err = store.Disk{}.SyncDir(filepath.Dir(to))
		}
	}
	err = errors.Join(err, removeIfThere(temp), removeIfThere(temp+".ledger"))
	for _, rest := range []string{"-wal", "-shm", "-journal"} {
		err = errors.Join(err, removeIfThere(temp+".ledger"+rest))
	}
	c := Copied{Jobs: w.jobs, Files: len(w.man.Files), Faults: w.faults, Left: w.left}
	for _, f := range w.man.Files {
		c.Bytes += f.Size
	}
	return c, store.WithAdvice(err)
}

// storeIn is the store's folder in the archive.
func storeIn(r Room) string {
	rel, err := filepath.Rel(filepath.Dir(r.File), r.Store)
	if err != nil || !filepath.IsLocal(rel) || rel == "." || strings.HasPrefix(filepath.ToSlash(rel)+"/", cardsName+"/") {
		return "store"
	}
	return filepath.ToSlash(rel)
}
