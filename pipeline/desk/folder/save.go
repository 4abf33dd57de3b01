package folder

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"tracewheel/pipeline/store"
)

// Most is the number of old versions of a draft in .versions beside it.
const Most = 50

// ErrChanged means that a file changed since a page read it.
var ErrChanged = errors.New("the file was changed meanwhile")

// VersionOf is a hash of a file's text, "" for no file.
func VersionOf(text []byte) string {
	if text == nil {
		return ""
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// Read reads a regular file. Links, which may lead out of the folder, and pipes, which may never end, are refused.
func Read(file string) ([]byte, error) {
	info, err := os.Lstat(file)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no plain file", filepath.Base(file))
	}
	return os.ReadFile(file)
}

// Create writes a new file and never replaces one.
func Create(file string, text []byte) error {
	if err := store.MakeDirs(store.Disk{}, filepath.Dir(file), 0o755); err != nil {
		return err
	}
	err := store.SaveNew(store.Disk{}, file, bytes.NewReader(text), 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already; give another name", filepath.Base(file))
	}
	return err
}

// saving lets one page save at a time, so that each sees the other's text.
var saving sync.Mutex

// Save writes a file that a page read as version. The old text is written to .versions before it is replaced, so that
// a crash at any moment leaves the old text or the new one under its name, and the old one twice at worst. Where the
// file has another version nothing is written: ErrChanged.
func Save(file string, text []byte, version string) error {
	saving.Lock()
	defer saving.Unlock()
	old, err := Read(file)
	if errors.Is(err, fs.ErrNotExist) && version == "" {
		return Create(file, text)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if VersionOf(old) != version {
		return ErrChanged
	}
	if string(old) == string(text) {
		return nil
	}
	if _, err := keepOld(file, old); err != nil {
		return err
	}
	perm := fs.FileMode(0o644)
	if info, err := os.Stat(file); err == nil {
		perm = info.Mode().Perm()
	}
	_, err = store.SaveFile(store.Disk{}, file, bytes.NewReader(text), perm)
	return err
}

// keepOld stores a text as an old version of a file, and gives its id.
func keepOld(file string, old []byte) (id string, err error) {
	dir := store.VersionsDir(file)
	if err := cmp.Or(store.NoLink(store.Disk{}, dir), store.MakeDirs(store.Disk{}, dir, 0o700)); err != nil {
		return "", err
	}
	for now := time.Now(); ; now = now.Add(time.Millisecond) { // versions of the same time get increasing names
		v := store.VersionAt(file, now)
		err := store.SaveNew(store.Disk{}, v.File, bytes.NewReader(old), store.PrivateFile)
		if err == nil {
			return v.ID, prune(file)
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", err
		}
	}
}

// prune removes the oldest versions of a file.
func prune(file string) error {
	all, err := store.Versions(file)
	if err != nil {
		return err
	}
	for len(all) > Most {
		if err := os.Remove(all[0].File); err != nil {
			return err
		}
		all = all[1:]
	}
	return nil
}
