package store

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// FS has every file operation on which the safety of a job depends. Tests replace it by one that records the order, drops
// what was not synced, or fails on request.
type FS interface {
	OpenFile(name string, flag int, perm fs.FileMode) (File, error)
	Mkdir(name string, perm fs.FileMode) error
	Rename(from, to string) error
	// RenameNew renames a file and never replaces another: fs.ErrExist where the new name is taken.
	RenameNew(from, to string) error
	// Remove removes a file or an empty folder.
	Remove(name string) error
	Lstat(name string) (fs.FileInfo, error)
	ReadDir(name string) ([]fs.DirEntry, error)
	// Rights sets who may use a file or folder; with NoGroup the group stays as it is.
	Rights(name string, group int, perm fs.FileMode) error
	// NoWriter gives nil where no program has a plain file open for writing at this moment, ErrWriting where one has, and
	// ErrCannotTell where system, file system or permissions do not tell.
	NoWriter(name string) error
	// SyncDir makes the names in a folder durable: creations, renames and removals.
	SyncDir(name string) error
}

// File is an open file of an FS.
type File interface {
	io.Reader
	io.Writer
	io.Closer
	Sync() error
	Stat() (fs.FileInfo, error)
}

// Disk is the real file system.
type Disk struct{}

var _ FS = Disk{}

// OpenFile opens a file as os.OpenFile does.
func (Disk) OpenFile(name string, flag int, perm fs.FileMode) (File, error) {
	f, err := os.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// Mkdir makes one folder.
func (Disk) Mkdir(name string, perm fs.FileMode) error { return os.Mkdir(name, perm) }

// Rename moves a name; a file with the new name is replaced.
func (Disk) Rename(from, to string) error { return os.Rename(from, to) }

// RenameNew moves the name of a file, unless the new name is taken.
func (Disk) RenameNew(from, to string) error { return renameNew(from, to) }

// Remove removes one name.
func (Disk) Remove(name string) error { return os.Remove(name) }

// Lstat looks at a name without following a link.
func (Disk) Lstat(name string) (fs.FileInfo, error) { return os.Lstat(name) }

// ReadDir lists a folder by name.
func (Disk) ReadDir(name string) ([]fs.DirEntry, error) { return os.ReadDir(name) }

// Rights sets the group, where one is named and the system has groups, and the permissions.
func (Disk) Rights(name string, group int, perm fs.FileMode) error {
	if group != NoGroup {
		if err := os.Chown(name, -1, group); err != nil {
			return err
		}
	}
	return os.Chmod(name, perm)
}

// SyncDir makes the names in a folder durable.
func (Disk) SyncDir(name string) error { return syncDir(name) }

// MakeDirs makes a folder and those missing above it, each durable in its parent.
func MakeDirs(fsys FS, dir string, perm fs.FileMode) error {
	info, err := fsys.Lstat(dir)
	if err == nil {
		if info.IsDir() || info.Mode()&fs.ModeSymlink != 0 {
			return nil
		}
		return &fs.PathError{Op: "mkdir", Path: dir, Err: errors.New("a file of that name is in the way")}
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	parent := filepath.Dir(dir)
	if parent != dir {
		if err := MakeDirs(fsys, parent, perm); err != nil {
			return err
		}
	}
	if err := fsys.Mkdir(dir, perm); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return fsys.SyncDir(parent)
}

// NoLink refuses a link in the place of a folder of this program, because it may lead anywhere. A missing folder is no
// fault.
func NoLink(fsys FS, dir string) error {
	info, err := fsys.Lstat(dir)
	if err == nil && info.Mode()&fs.ModeSymlink != 0 {
		return fmt.Errorf("%q is a link, and links are not followed: put a folder in its place", dir)
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// RemoveTree removes a folder and all in it; one that is not there is no fault. Links are removed,
// never followed.
func RemoveTree(fsys FS, dir string) error {
	entries, err := fsys.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		if e.IsDir() {
			err = RemoveTree(fsys, path)
		} else {
			err = fsys.Remove(path)
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if err := fsys.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
