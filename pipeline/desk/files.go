package desk

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/store"
)

// versionsKept is how many old versions of a draft lie in .versions beside it.
const versionsKept = 50

// errChanged means that a file is not what a page began from.
var errChanged = errors.New("the file was changed meanwhile")

// versionOf names what a file holds, "" where there is none.
func versionOf(text []byte) string {
	if text == nil {
		return ""
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// create writes a new file; one that is there is never replaced.
func create(file string, text []byte) error {
	if err := store.MakeDirs(store.Disk{}, filepath.Dir(file), 0o755); err != nil {
		return err
	}
	if err := whole(file, text, store.Disk{}.RenameNew); errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already; give another name", filepath.Base(file))
	} else if err != nil {
		return err
	}
	return nil
}

// save writes a file that a page began from version. What was there lies in .versions before it is replaced, so
// a kill at any moment leaves the old text or the new one under its name, and the old one twice at worst. Where
// the file is not that version any more nothing is written: errChanged.
func save(file string, text []byte, version string) error {
	old, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) && version == "" {
		return create(file, text)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if versionOf(old) != version {
		return errChanged
	}
	if string(old) == string(text) {
		return nil
	}
	dir := filepath.Join(filepath.Dir(file), ".versions")
	if err := store.MakeDirs(store.Disk{}, dir, 0o700); err != nil {
		return err
	}
	base := strings.TrimSuffix(filepath.Base(file), ".yaml")
	kept := filepath.Join(dir, base+" "+time.Now().UTC().Format("20060102-150405.000")+".yaml")
	if err := whole(kept, old, store.Disk{}.RenameNew); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	if err := prune(dir, base); err != nil {
		return err
	}
	return whole(file, text, store.Disk{}.Rename)
}

// prune removes the oldest versions of a file.
func prune(dir, base string) error {
	all, err := filepath.Glob(filepath.Join(dir, base+" 2*.yaml"))
	if err != nil {
		return err
	}
	slices.Sort(all) // their names are their times
	for len(all) > versionsKept {
		if err := os.Remove(all[0]); err != nil {
			return err
		}
		all = all[1:]
	}
	return nil
}

// whole writes a file under a hidden name, synced, and gives it its name last.
func whole(file string, text []byte, rename func(from, to string) error) (err error) {
	tmp, err := os.CreateTemp(filepath.Dir(file), ".desk-*")
	if err != nil {
		return store.WithAdvice(err)
	}
	defer os.Remove(tmp.Name()) //nolint:errcheck // gone where all went well
	_, err = tmp.Write(text)
	if err := errors.Join(err, tmp.Sync(), tmp.Close()); err != nil {
		return store.WithAdvice(err)
	}
	if err := rename(tmp.Name(), file); err != nil {
		return err
	}
	return store.WithAdvice(store.Disk{}.SyncDir(filepath.Dir(file)))
}
