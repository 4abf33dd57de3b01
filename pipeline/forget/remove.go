package forget

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
)

func (f *forgetting) files(context.Context) error {
	for _, id := range f.mark.Jobs {
		if err := f.st.Drop(id); err != nil {
			return err
		}
	}
	stray := filepath.Join(f.st.Dir(), "stray")
	return removeIn(stray, func(name string) bool {
		number, _, _ := strings.Cut(name, "-")
		return slices.ContainsFunc(f.mark.Jobs, func(id int64) bool { return fmt.Sprint(id) == number })
	})
}

func (f *forgetting) returned(context.Context) error {
	if err := removeIn(f.room.Path(f.room.Folders.Returned), f.theirs); err != nil {
		return err
	}
	return f.st.UnseeReturned(f.theirs)
}

// made removes the sheets of the jobs, and what a crash left while they were written.
func (f *forgetting) made(context.Context) error {
	return removeIn(f.room.Path(f.room.Folders.Made), f.theirs)
}

// theirs tells by its name whether a file or folder belongs to one of the jobs.
func (f *forgetting) theirs(name string) bool {
	return slices.Contains(f.mark.Jobs, returned.JobOf(name))
}

func (f *forgetting) card(context.Context) error {
	files, err := f.cardFiles()
	if err != nil {
		return err
	}
	for _, path := range files {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := (store.Disk{}).SyncDir(filepath.Dir(path)); err != nil {
			return err
		}
	}
	return nil
}

// removeIn removes the folders and files of a folder that is picks.
func removeIn(dir string, is func(name string) bool) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !is(e.Name()) {
			continue
		}
		path := filepath.Join(dir, e.Name())
		if e.IsDir() {
			err = store.RemoveTree(store.Disk{}, path)
		} else {
			err = os.Remove(path)
		}
		if err != nil {
			return fmt.Errorf("removing %s: %w", pattern.Printable(path), err)
		}
	}
	return store.Disk{}.SyncDir(dir)
}
