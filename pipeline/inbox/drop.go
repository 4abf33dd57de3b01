package inbox

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"tracewheel/pipeline/store"
)

// Drop puts a draft with its ticket, nil for none, into a device's folder as a person would, the ticket first.
// Each comes whole under a hidden name and gets its own last, so that a crash leaves a hidden file that nobody
// takes, or a ticket without a draft, of which `tracewheel jobs` tells. A draft of that name that waits there
// is not replaced, and its ticket stays its own: fs.ErrExist.
func Drop(fsys store.FS, dir, name string, draft, ticket []byte) error {
	waits := func(err error) error {
		return fmt.Errorf("%q lies in the inbox already and has not been taken yet; wait a moment, or give it another name (%w)", name, err)
	}
	if err := store.NoLink(fsys, dir); err != nil {
		return err
	}
	if _, err := fsys.Lstat(filepath.Join(dir, name)); err == nil {
		return waits(fs.ErrExist)
	}
	beside := filepath.Join(dir, name+".ticket.yaml")
	if ticket != nil {
		if err := store.SaveNew(fsys, beside, bytes.NewReader(ticket), store.PrivateFile); errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("a ticket of %q lies in the inbox already; remove it, or give the draft another name (%w)", name, fs.ErrExist)
		} else if err != nil {
			return err
		}
	}
	err := store.SaveNew(fsys, filepath.Join(dir, name), bytes.NewReader(draft), store.PrivateFile)
	if err == nil {
		return nil
	}
	if ticket != nil { // else it would go with somebody else's draft
		err = errors.Join(err, fsys.Remove(beside))
	}
	if errors.Is(err, fs.ErrExist) {
		return waits(err)
	}
	return err
}
