package faultfs

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"tracewheel/pipeline/store"
)

// Faulty fails on request; its zero faults let everything through.
type Faulty struct {
	store.FS
	mu sync.Mutex
	// room is how many bytes may still be written, -1 for no end.
	room     int64
	readOnly bool
	// onRead is called before each read of a file whose name has the suffix.
	suffix string
	onRead func()
	// blind makes NoWriter tell nothing.
	blind bool
}

var _ store.FS = (*Faulty)(nil)

// Fail starts a faulty file system over another.
func Fail(inner store.FS) *Faulty { return &Faulty{FS: inner, room: -1} }

// DiskFullAfter lets n more bytes be written and then says that the disk is full.
func (f *Faulty) DiskFullAfter(n int64) { f.set(func() { f.room = n }) }

// ReadOnly makes everything that writes fail as on a file system mounted read-only.
func (f *Faulty) ReadOnly() { f.set(func() { f.readOnly = true }) }

// WhileReading calls fn before each read of a file whose name ends in suffix.
func (f *Faulty) WhileReading(suffix string, fn func()) {
	f.set(func() { f.suffix, f.onRead = suffix, fn })
}

// CannotTell makes it a file system that does not tell who writes.
func (f *Faulty) CannotTell() { f.set(func() { f.blind = true }) }

// NoWriter is the inner file system's, where that may tell.
func (f *Faulty) NoWriter(name string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.blind {
		return store.ErrCannotTell
	}
	return f.FS.NoWriter(name)
}

// Clear takes all faults back but that one.
func (f *Faulty) Clear() { f.set(func() { f.room, f.readOnly, f.onRead = -1, false, nil }) }

func (f *Faulty) set(fn func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	fn()
}

func (f *Faulty) writable(op, name string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.readOnly {
		return &fs.PathError{Op: op, Path: name, Err: syscall.EROFS}
	}
	return nil
}

// OpenFile refuses to open for writing where that is not possible.
func (f *Faulty) OpenFile(name string, flag int, perm fs.FileMode) (store.File, error) {
	if flag&(os.O_WRONLY|os.O_RDWR|os.O_CREATE) != 0 {
		if err := f.writable("open", name); err != nil {
			return nil, err
		}
	}
	inner, err := f.FS.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return &faultyFile{File: inner, f: f, name: name}, nil
}

// Mkdir fails where nothing can be written.
func (f *Faulty) Mkdir(name string, perm fs.FileMode) error {
	if err := f.writable("mkdir", name); err != nil {
		return err
	}
	return f.FS.Mkdir(name, perm)
}

// Rename fails where nothing can be written.
func (f *Faulty) Rename(from, to string) error {
	if err := f.writable("rename", from); err != nil {
		return err
	}
	return f.FS.Rename(from, to)
}

// RenameNew fails where nothing can be written.
func (f *Faulty) RenameNew(from, to string) error {
	if err := f.writable("rename", from); err != nil {
		return err
	}
	return f.FS.RenameNew(from, to)
}

// Remove fails where nothing can be written.
func (f *Faulty) Remove(name string) error {
	if err := f.writable("remove", name); err != nil {
		return err
	}
	return f.FS.Remove(name)
}

type faultyFile struct {
	store.File
	f    *Faulty
	name string
}

func (f *faultyFile) Read(p []byte) (int, error) {
	f.f.mu.Lock()
	fn := f.f.onRead
	hit := fn != nil && strings.HasSuffix(filepath.Base(f.name), f.f.suffix)
	f.f.mu.Unlock()
	if hit {
		fn()
	}
	return f.File.Read(p)
}

func (f *faultyFile) Write(p []byte) (int, error) {
	f.f.mu.Lock()
	room := f.f.room
	if room >= 0 {
		f.f.room = max(0, room-int64(len(p)))
	}
	f.f.mu.Unlock()
	if room >= 0 && int64(len(p)) > room {
		n, _ := f.File.Write(p[:room])
		return n, &fs.PathError{Op: "write", Path: f.name, Err: syscall.ENOSPC}
	}
	return f.File.Write(p)
}
