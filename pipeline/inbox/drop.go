package inbox

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"

	"tracewheel/pipeline/store"
)

// Dropped is a file to be put into the inbox.
type Dropped struct {
	Name string
	Data []byte
}

// Drop puts a draft with its ticket, nil for none, and the drafts that this ticket names into a device's folder as a
// person would: the ticket first, which holds the others, and the draft last, which begins the job. Each comes whole
// under a hidden name and gets its own last, so that a crash leaves a hidden file that nobody takes, or a ticket
// without its draft and the drafts that it holds, of which `tracewheel jobs` tells. What waits there by one of the
// names is not replaced, and its ticket stays its own: fs.ErrExist, and nothing new is left there.
func Drop(fsys store.FS, dir, name string, draft, ticket []byte, with ...Dropped) error {
	if err := store.NoLink(fsys, dir); err != nil {
		return err
	}
	if err := Waits(fsys, dir, append([]Dropped{{Name: name}}, with...)...); err != nil {
		return err
	}
	var all []Dropped
	if ticket != nil {
		all = append(all, Dropped{name + ".ticket.yaml", ticket})
	}
	all = append(append(all, with...), Dropped{name, draft})
	for i, f := range all {
		err := store.SaveNew(fsys, filepath.Join(dir, f.Name), bytes.NewReader(f.Data), store.PrivateFile)
		if err == nil {
			continue
		}
		if errors.Is(err, fs.ErrExist) {
			if err = waits(f.Name, err); ticket != nil && i == 0 {
				err = fmt.Errorf("a ticket of %q lies in the inbox already; remove it, or give the draft another name (%w)", name, fs.ErrExist)
			}
		}
		for _, put := range slices.Backward(all[:i]) { // the ticket last: else it would go with somebody else's draft, or leave those that it holds to be taken
			err = errors.Join(err, fsys.Remove(filepath.Join(dir, put.Name)))
		}
		return err
	}
	return nil
}

// Waits gives fs.ErrExist where a file of one of some names is in a device's folder already.
func Waits(fsys store.FS, dir string, files ...Dropped) error {
	for _, f := range files {
		if _, err := fsys.Lstat(filepath.Join(dir, f.Name)); err == nil {
			return waits(f.Name, fs.ErrExist)
		}
	}
	return nil
}

func waits(name string, err error) error {
	return fmt.Errorf("%q lies in the inbox already and has not been taken yet; wait a moment, or give it another name (%w)", name, err)
}
