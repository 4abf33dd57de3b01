package inbox

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"tracewheel/pipeline/store"
)

// claimTicket claims the ticket that lies beside a claimed file under its own name. A ticket for
// which another file of the same name waits stays where it is and is only copied: it goes with the
// last of them.
func (t *Taker) claimTicket(c *claim) error {
	if c.ticketPath != "" {
		return nil
	}
	beside, shared, err := t.beside(c.device, c.name)
	if err != nil || beside == "" || shared {
		return err
	}
	dir := t.Dir(c.device)
	to := filepath.Join(dir, claimName(c.job, true, beside))
	if err := t.FS.Rename(filepath.Join(dir, beside), to); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		return store.Explain(fmt.Errorf("taking the ticket %q out of the inbox: %w", beside, err))
	}
	c.ticketPath = to
	return store.Explain(t.FS.SyncDir(dir))
}

// ticketOf is the path of the ticket to be copied, empty for none.
func (t *Taker) ticketOf(c claim) string {
	if c.ticketPath != "" {
		return c.ticketPath
	}
	beside, _, err := t.beside(c.device, c.name)
	if err != nil || beside == "" {
		return ""
	}
	return filepath.Join(t.Dir(c.device), beside)
}

// beside finds the ticket of a file in the folder, and whether other files wait for it.
func (t *Taker) beside(device, name string) (ticket string, shared bool, err error) {
	entries, err := t.FS.ReadDir(t.Dir(device))
	if err != nil {
		return "", false, err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || leftAlone(e.Name()) {
			continue
		}
		if of, is := isTicket(e.Name()); is {
			if of == stem(name) && ticket == "" {
				ticket = e.Name()
			}
		} else if stem(e.Name()) == stem(name) {
			shared = true
		}
	}
	return ticket, shared, nil
}
