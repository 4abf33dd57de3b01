package backup

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// outside refuses a copy in a folder where the program would take it for a file of its own, or for a draft.
func outside(r Room, to string) error {
	for _, no := range []struct{ dir, why string }{
		{r.Store, "the store, where only the program writes"},
		{r.Cards, "the folder of measure cards, which every copy holds"},
		{r.Inbox, "the inbox, where it would be taken for a draft"},
	} {
		lies, err := inside(no.dir, to)
		if err != nil {
			return err
		}
		if lies {
			return fmt.Errorf("%s would lie in %s: name a place outside the workroom, best on another disk", to, no.why)
		}
	}
	return nil
}

// inside tells whether a file would lie in a folder or below it, by whatever links either is named.
func inside(dir, file string) (bool, error) {
	of, err := os.Stat(dir)
	if dir == "" || errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	at, err := filepath.Abs(filepath.Dir(file))
	if err == nil {
		at, err = filepath.EvalSymlinks(at)
	}
	for err == nil {
		var info fs.FileInfo
		if info, err = os.Stat(at); err == nil && os.SameFile(info, of) {
			return true, nil
		}
		if at == filepath.Dir(at) {
			break
		}
		at = filepath.Dir(at)
	}
	return false, err
}
