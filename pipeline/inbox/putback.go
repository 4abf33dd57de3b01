package inbox

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// putBack gives a claim its name again, or a similar one where a newer file has it. The ticket gets its name first, so
// that the file is not taken without it, and then the drafts that it names. No file is replaced. A crash in between leaves
// the claim, which finds its ticket unless the ticket had to take another name.
func (t *Taker) putBack(c claim) error {
	delete(t.watched, c.job)
	for n := 1; ; n++ {
		err := t.putBackAs(&c, n)
		if !errors.Is(err, fs.ErrExist) {
			return store.WithAdvice(errors.Join(err, t.FS.SyncDir(t.Dir(c.device))))
		}
	}
}

// putBackAs tries the nth names: skirt.svg, skirt (2).svg and so on. fs.ErrExist says to try the next.
func (t *Taker) putBackAs(c *claim, n int) error {
	numbered := func(base, ending string) string {
		if n > 1 {
			base = fmt.Sprintf("%s (%d)", base, n)
		}
		return filepath.Join(t.Dir(c.device), base+ending)
	}
	base, ext := stem(c.name), filepath.Ext(c.name)
	if c.path != "" {
		// Asked before the ticket gets its name, so that it is seldom renamed twice.
		if _, err := t.FS.Lstat(numbered(base, ext)); err == nil {
			return fs.ErrExist
		}
	}
	if c.ticketPath != "" {
		name := c.ticketName()
		of, _ := pattern.TicketOf(name)
		ending := name[len(of):]
		switch {
		case of == c.name:
			of, ending = base, ext+ending
		case c.path != "":
			of = base
		}
		to := numbered(of, ending)
		if err := t.rename(c.ticketPath, to); err != nil {
			return err
		}
		c.ticketPath = to
	}
	for name, path := range c.with {
		for k := 1; ; k++ { // each on its own: the ticket means a newer draft of that name now
			to := filepath.Join(t.Dir(c.device), name)
			if k > 1 {
				to = filepath.Join(t.Dir(c.device), fmt.Sprintf("%s (%d)%s", stem(name), k, filepath.Ext(name)))
			}
			err := t.rename(path, to)
			if err == nil {
				delete(c.with, name)
			} else if errors.Is(err, fs.ErrExist) {
				continue
			} else {
				return err
			}
			break
		}
	}
	if c.path == "" {
		return nil
	}
	return t.rename(c.path, numbered(base, ext))
}

// ticketName is the name that the claimed ticket was dropped with.
func (c *claim) ticketName() string {
	base := filepath.Base(c.ticketPath)
	if _, _, name, ok := parseClaim(base); ok {
		return name
	}
	return base // it has its name again already
}

// rename renames a file; one that a person took away meanwhile is no fault.
func (t *Taker) rename(from, to string) error {
	if err := t.FS.RenameNew(from, to); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
