package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// begunName marks a folder that is being filled for a job which the ledger does not know yet. Without it, a job that was
// never entered could not be told from one that the ledger has lost.
const begunName = tempPrefix + "begun"

// Begin makes the folder of a job that is made of another job's files, with the mark that it is begun; both are durable
// before any of its files. A job from the inbox needs no mark, because its claim tells.
func (s *Store) Begin(job int64) error {
	dir := s.JobDir(job)
	err := MakeDirs(s.fs, dir, Private)
	if err == nil {
		_, err = putFile(s.fs, filepath.Join(dir, begunName), strings.NewReader(""), PrivateFile)
	}
	if err == nil {
		err = s.fs.SyncDir(dir)
	}
	if err != nil {
		return WithAdvice(fmt.Errorf("making the folder of job %d: %w", job, err))
	}
	return nil
}

// Entered removes the mark after the ledger knows the job. After a crash before that the mark stays, and has no effect.
func (s *Store) Entered(job int64) error {
	err := s.fs.Remove(filepath.Join(s.JobDir(job), begunName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// Begun tells whether a job's folder has the mark of Begin.
func (s *Store) Begun(job int64) bool {
	_, err := s.fs.Lstat(filepath.Join(s.JobDir(job), begunName))
	return err == nil
}

// LedgerAside moves the ledger with its journal to a folder of its own in store/stray/ and gives that folder.
func (s *Store) LedgerAside() (string, error) {
	stray := filepath.Join(s.dir, "stray")
	to := ""
	for n := 1; to == ""; n++ {
		name := filepath.Join(stray, fmt.Sprintf("ledger-%d", n))
		if _, err := s.fs.Lstat(name); errors.Is(err, fs.ErrNotExist) {
			to = name
		}
	}
	if err := MakeDirs(s.fs, to, Private); err != nil {
		return "", WithAdvice(err)
	}
	for _, end := range []string{"-wal", "-shm", ""} {
		err := s.fs.Rename(s.LedgerPath()+end, filepath.Join(to, filepath.Base(s.LedgerPath())+end))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", WithAdvice(fmt.Errorf("setting the ledger aside: %w", err))
		}
	}
	return to, errors.Join(s.fs.SyncDir(to), s.fs.SyncDir(stray), s.fs.SyncDir(s.dir))
}

// HasLedger tells whether there is a ledger that is not empty.
func (s *Store) HasLedger() (bool, error) {
	info, err := s.fs.Lstat(s.LedgerPath())
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("looking at the ledger %q: %w", s.LedgerPath(), err)
	}
	return info.Size() > 0 || info.Mode()&os.ModeType != 0, nil
}

// WithoutLedger gives the jobs in a store whose ledger is missing or empty; none where there is a ledger.
func (s *Store) WithoutLedger() (owned []int64, err error) {
	if has, err := s.HasLedger(); err != nil || has {
		return nil, err
	}
	jobs, _, err := s.Jobs()
	for _, job := range jobs {
		if !s.Begun(job) {
			owned = append(owned, job)
		}
	}
	return owned, err
}
