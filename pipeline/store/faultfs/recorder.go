// Package faultfs holds file systems for tests of what must survive: one that records the order of
// operations, one in memory that forgets at a crash what was not synced, and one that fails on
// request. They stand in for store.FS.
package faultfs

import (
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"tracewheel/pipeline/store"
)

// Recorder writes down every operation that changes something, before it is done, as "rename a b",
// "write a", "sync a", "syncdir a" ... with base names.
type Recorder struct {
	store.FS
	mu  sync.Mutex
	ops []string
}

var _ store.FS = (*Recorder)(nil)

// Record starts a recorder over another file system.
func Record(inner store.FS) *Recorder { return &Recorder{FS: inner} }

// Note adds a line of another's doing, such as an entry in the ledger.
func (r *Recorder) Note(op string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.ops = append(r.ops, op)
}

// Ops are the lines so far.
func (r *Recorder) Ops() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]string(nil), r.ops...)
}

// OpenFile records the making of a file.
func (r *Recorder) OpenFile(name string, flag int, perm fs.FileMode) (store.File, error) {
	if flag&os.O_CREATE != 0 {
		r.Note("create " + filepath.Base(name))
	}
	f, err := r.FS.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return &recordedFile{File: f, r: r, name: filepath.Base(name)}, nil
}

// Mkdir records the making of a folder.
func (r *Recorder) Mkdir(name string, perm fs.FileMode) error {
	r.Note("mkdir " + filepath.Base(name))
	return r.FS.Mkdir(name, perm)
}

// Rename records both names.
func (r *Recorder) Rename(from, to string) error {
	r.Note("rename " + filepath.Base(from) + " " + filepath.Base(to))
	return r.FS.Rename(from, to)
}

// RenameNew records both names.
func (r *Recorder) RenameNew(from, to string) error {
	r.Note("rename " + filepath.Base(from) + " " + filepath.Base(to))
	return r.FS.RenameNew(from, to)
}

// Remove records the name.
func (r *Recorder) Remove(name string) error {
	r.Note("remove " + filepath.Base(name))
	return r.FS.Remove(name)
}

// SyncDir records the folder.
func (r *Recorder) SyncDir(name string) error {
	r.Note("syncdir " + filepath.Base(name))
	return r.FS.SyncDir(name)
}

type recordedFile struct {
	store.File
	r    *Recorder
	name string
}

func (f *recordedFile) Write(p []byte) (int, error) {
	f.r.Note("write " + f.name)
	return f.File.Write(p)
}

func (f *recordedFile) Sync() error {
	f.r.Note("sync " + f.name)
	return f.File.Sync()
}
