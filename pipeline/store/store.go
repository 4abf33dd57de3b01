// Package store keeps the files of jobs: the original as it was dropped, its ticket, the program
// that is sent, report and pictures, each job in its own folder store/jobs/<job>/. A file is there
// whole or not at all, and what was saved stays through a power cut. Only one daemon at a time may
// hold a store. What the files mean, and the states of jobs, are the ledger's and others' business.
package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Store is an open store. Its methods may be called from several goroutines, for one job from one at a time.
type Store struct {
	dir  string
	fs   FS
	lock *os.File
}

// Open makes the store's folders where they are missing, takes its lock and makes sure that it can be written to. The
// errors are ErrInUse, ErrFull and ErrReadOnly.
func Open(dir string, fsys FS) (*Store, error) {
	s := &Store{dir: dir, fs: fsys}
	if err := MakeDirs(fsys, s.jobsDir(), Private); err != nil {
		return nil, WithAdvice(fmt.Errorf("making the store %q: %w", dir, err))
	}
	lock, err := takeLock(filepath.Join(dir, "lock"))
	if err != nil {
		return nil, err
	}
	s.lock = lock
	if err := s.prove(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// Look opens a store for reading only: it takes no lock and changes nothing.
func Look(dir string) *Store { return In(dir, Disk{}) }

// In is Look on the given file system.
func In(dir string, fsys FS) *Store { return &Store{dir: dir, fs: fsys} }

// prove writes and removes a byte, so that a store that cannot be written to is reported at the start and not at the first
// job.
func (s *Store) prove() error {
	path := filepath.Join(s.dir, "proof")
	if _, err := SaveFile(s.fs, path, strings.NewReader("this store can be written\n"), PrivateFile); err != nil {
		return err
	}
	if err := s.fs.Remove(path); err != nil {
		return WithAdvice(fmt.Errorf("removing %q: %w", path, err))
	}
	return nil
}

func takeLock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, PrivateFile)
	if err != nil {
		return nil, WithAdvice(fmt.Errorf("locking the store: %w", err))
	}
	got, err := tryLock(f)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("locking %q: %w", path, err), f.Close())
	}
	if !got {
		who, _ := os.ReadFile(path)
		return nil, errors.Join(fmt.Errorf("%w by another daemon (%s): stop that one first, or give this one a store of its own than %q",
			ErrInUse, strings.TrimSpace(string(who)), filepath.Dir(path)), f.Close())
	}
	text := fmt.Sprintf("process %d since %s\n", os.Getpid(), time.Now().Format("2006-01-02 15:04:05"))
	err = f.Truncate(0)
	if err == nil {
		_, err = f.WriteAt([]byte(text), 0)
	}
	if err != nil {
		return nil, errors.Join(WithAdvice(fmt.Errorf("locking %q: %w", path, err)), f.Close())
	}
	return f, nil
}

// StillThere gives ErrReplaced unless the folder is the store that was opened: what is written to one that was moved,
// removed or made anew would be lost.
func (s *Store) StillThere() error {
	if s.lock == nil {
		return nil
	}
	held, err := s.lock.Stat()
	if err != nil {
		return fmt.Errorf("looking at the lock of the store: %w", err)
	}
	there, err := os.Stat(filepath.Join(s.dir, "lock"))
	if err == nil && os.SameFile(held, there) || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return fmt.Errorf("%w: %q; stop this daemon and start it again", ErrReplaced, s.dir)
}

// Close releases the lock. The lock file stays, because after its removal two daemons could lock two files of one name.
func (s *Store) Close() error {
	if s.lock == nil {
		return nil
	}
	err := s.lock.Close()
	s.lock = nil
	return err
}

// Dir is the store's folder.
func (s *Store) Dir() string { return s.dir }

// FS is the file system it lies on.
func (s *Store) FS() FS { return s.fs }

// LedgerPath is where the ledger of this store lies.
func (s *Store) LedgerPath() string { return LedgerPath(s.dir) }

// LedgerPath is where the ledger of a store lies.
func LedgerPath(dir string) string { return filepath.Join(dir, "ledger.db") }

func (s *Store) jobsDir() string { return filepath.Join(s.dir, "jobs") }

// JobDir is the folder of one job.
func (s *Store) JobDir(job int64) string {
	return filepath.Join(s.jobsDir(), strconv.FormatInt(job, 10))
}

// Jobs lists the jobs that have a folder, in the order of the folders' names; other are the names of all else there.
func (s *Store) Jobs() (jobs []int64, other []string, err error) {
	entries, err := s.fs.ReadDir(s.jobsDir())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	for _, e := range entries {
		id, err := strconv.ParseInt(e.Name(), 10, 64)
		if err != nil || id < 1 || !e.IsDir() || strconv.FormatInt(id, 10) != e.Name() {
			other = append(other, e.Name())
			continue
		}
		jobs = append(jobs, id)
	}
	return jobs, other, nil
}

// Drop removes a job's folder for good.
func (s *Store) Drop(job int64) error {
	if err := RemoveTree(s.fs, s.JobDir(job)); err != nil {
		return WithAdvice(fmt.Errorf("removing the files of job %d: %w", job, err))
	}
	return s.fs.SyncDir(s.jobsDir())
}

// Stray lists the jobs whose folders were set aside.
func (s *Store) Stray() (jobs []int64, err error) {
	entries, err := s.fs.ReadDir(filepath.Join(s.dir, "stray"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for _, e := range entries {
		number, _, _ := strings.Cut(e.Name(), "-")
		if id, err := strconv.ParseInt(number, 10, 64); err == nil {
			jobs = append(jobs, id)
		}
	}
	return jobs, nil
}

// SetAside moves a folder that belongs to no job to store/stray/, where a person may look at it. It is not removed,
// because a lost ledger must not cost the drafts.
func (s *Store) SetAside(job int64) (string, error) {
	stray := filepath.Join(s.dir, "stray")
	if err := MakeDirs(s.fs, stray, Private); err != nil {
		return "", WithAdvice(err)
	}
	for n := 1; ; n++ {
		to := filepath.Join(stray, fmt.Sprintf("%d-%d", job, n))
		if _, err := s.fs.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err := s.fs.Rename(s.JobDir(job), to); err != nil {
			return "", WithAdvice(fmt.Errorf("setting the stray folder of job %d aside: %w", job, err))
		}
		return to, errors.Join(s.fs.SyncDir(stray), s.fs.SyncDir(s.jobsDir()))
	}
}

// SweepDir removes temporary files and folders from a folder.
func SweepDir(fsys FS, dir string) error {
	entries, err := fsys.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), tempPrefix) {
			continue
		}
		path := filepath.Join(dir, e.Name())
		if e.IsDir() {
			err = RemoveTree(fsys, path)
		} else {
			err = fsys.Remove(path)
		}
		if err != nil {
			return WithAdvice(err)
		}
	}
	return nil
}
