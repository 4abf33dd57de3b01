package store

import (
	"errors"
	"io/fs"
	"path/filepath"
)

// Drafts, ledger and reports hold people's measures. They are the user's alone, unless the workroom
// names a group.
const (
	Private     fs.FileMode = 0o700
	PrivateFile fs.FileMode = 0o600
)

// NoGroup stands where the workroom names none: the superuser's own group is never shared with.
const NoGroup = 0

// MakeShared makes a folder that is the user's alone, or, with a group, one that it may reach with the
// rights of perm. One that is there already keeps its rights where no group is named.
func MakeShared(fsys FS, dir string, group int, perm fs.FileMode) error {
	if err := MakeDirs(fsys, dir, Private); err != nil || group == NoGroup {
		return err
	}
	return fsys.Rights(dir, group, perm|fs.ModeSetgid)
}

// Protect makes the store the user's alone, also one that an earlier version made readable to all. A
// group may pass through it, to the control socket and to nothing else.
func (s *Store) Protect(group int) error {
	entries, err := s.fs.ReadDir(s.dir)
	if err != nil {
		return err
	}
	perm := Private
	if group != NoGroup {
		perm |= 0o010
	}
	faults := []error{s.fs.Rights(s.dir, group, perm)}
	for _, e := range entries {
		path := filepath.Join(s.dir, e.Name())
		switch {
		case e.IsDir():
			err = s.fs.Rights(path, NoGroup, Private)
		case e.Type().IsRegular():
			err = s.fs.Rights(path, NoGroup, PrivateFile)
		default:
			continue
		}
		if !errors.Is(err, fs.ErrNotExist) { // the ledger's own files come and go
			faults = append(faults, err)
		}
	}
	return errors.Join(faults...)
}
