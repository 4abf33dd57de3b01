package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
)

// Drafts, ledger and reports hold people's measures. Only the user may read them, unless the workroom names a group.
const (
	Private     fs.FileMode = 0o700
	PrivateFile fs.FileMode = 0o600
)

// NoGroup means that the workroom names no group: nothing is ever shared with the superuser's own group.
const NoGroup = 0

// MakeShared makes a folder for the user alone or, with a group, one that the group may use with the permissions perm. An
// existing folder keeps its permissions where no group is named.
func MakeShared(fsys FS, dir string, group int, perm fs.FileMode) error {
	if err := MakeDirs(fsys, dir, Private); err != nil || group == NoGroup {
		return err
	}
	return fsys.Rights(dir, group, perm|fs.ModeSetgid)
}

// Protect lets only the user read the store, also one that an earlier version made readable to all. A group may pass
// through it to the control socket, and to nothing else.
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

// GroupOf gives the number of the group that the workroom file names; NoGroup for none.
func GroupOf(name string) (int, error) {
	if name == "" {
		return NoGroup, nil
	}
	if runtime.GOOS == "windows" {
		return 0, errors.New("folders.group: this system has no such groups; leave it out and set the folders' rights by hand")
	}
	g, err := user.LookupGroup(name)
	if err != nil {
		return 0, fmt.Errorf("folders.group: there is no group %q on this system; make it (groupadd %s) and add its people, or leave it out: %w", name, name, err)
	}
	id, err := strconv.Atoi(g.Gid)
	if err == nil && id == NoGroup {
		err = fmt.Errorf("folders.group: %q is the superuser's own group; name one of the people who work here", name)
	}
	return id, err
}

// Share lets a group read a folder and the files in it.
func Share(fsys FS, dir string, group int) error {
	if group == NoGroup {
		return nil
	}
	entries, err := fsys.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := fsys.Rights(filepath.Join(dir, e.Name()), group, 0o640); err != nil {
			return err
		}
	}
	return fsys.Rights(dir, group, 0o750|fs.ModeSetgid)
}
