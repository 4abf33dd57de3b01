package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// Passing tells whether a file of a job is removed when the job is old, because it can be made anew from the draft: the
// program, the pictures and the report. The lay and the cards stay, because a garment is found by them.
func Passing(name string) bool {
	switch name {
	case ProgramBytes, ProgramIndex:
		return true
	case "picture-lay.svg", "picture-cards.html":
		return false
	}
	return strings.HasPrefix(name, "picture-") || strings.HasPrefix(name, "report-")
}

// RemoveFiles removes files of a job for good; those that are gone already are no fault.
func (s *Store) RemoveFiles(job int64, names []string) error {
	if len(names) == 0 {
		return nil
	}
	for _, name := range names {
		err := plainName(name)
		if err == nil {
			err = s.fs.Remove(filepath.Join(s.JobDir(job), name))
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return WithAdvice(fmt.Errorf("removing %q of job %d: %w", name, job, err))
		}
	}
	err := s.fs.SyncDir(s.JobDir(job))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return WithAdvice(err)
}

// seenFile holds when each folder in stray/ and returned/ was first seen there. The folders' own dates cannot be used: a
// renamed folder keeps its date, and the clock may have been wrong.
const seenFile = "seen.json"

// Folders with these names are made by tracewheel; others beside them are a person's.
var (
	strayName    = regexp.MustCompile(`^(\d+|ledger)-\d+$`)
	returnedName = regexp.MustCompile(`-job\d+$`)
)

// Expire removes the folders in stray/ and in returned that were first seen longer ago than keep, and gives their number.
// It must not be called with a clock that is not believed. A crash leaves a folder half removed, and the next call removes
// the rest.
func (s *Store) Expire(returned string, now time.Time, keep time.Duration) (n int, err error) {
	path := filepath.Join(s.dir, seenFile)
	was, err := s.readSeen(path)
	if err != nil {
		return 0, err
	}
	seen, changed := map[string]time.Time{}, false
	for _, in := range []struct {
		kind, dir string
		ours      *regexp.Regexp
	}{{"stray", filepath.Join(s.dir, "stray"), strayName}, {"returned", returned, returnedName}} {
		entries, err := s.fs.ReadDir(in.dir)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return n, err
		}
		for _, e := range entries {
			if !e.IsDir() || !in.ours.MatchString(e.Name()) {
				continue
			}
			key := in.kind + "/" + e.Name()
			at, known := was[key]
			if !known || at.After(now) {
				at, changed = now, true
			}
			if now.Sub(at) <= keep {
				seen[key] = at
				continue
			}
			if err := RemoveTree(s.fs, filepath.Join(in.dir, e.Name())); err != nil {
				return n, WithAdvice(fmt.Errorf("removing the old folder %q: %w", e.Name(), err))
			}
			if err := s.fs.SyncDir(in.dir); err != nil {
				return n, err
			}
			n++
		}
	}
	if !changed && len(seen) == len(was) {
		return n, nil
	}
	text, err := json.MarshalIndent(seen, "", " ")
	if err == nil {
		_, err = SaveFile(s.fs, path, strings.NewReader(string(text)), PrivateFile)
	}
	return n, err
}

// UnseeReturned removes from what was seen in returned the folders that is picks.
func (s *Store) UnseeReturned(is func(name string) bool) error {
	path := filepath.Join(s.dir, seenFile)
	seen, err := s.readSeen(path)
	if err != nil {
		return err
	}
	before := len(seen)
	maps.DeleteFunc(seen, func(key string, _ time.Time) bool {
		name, of := strings.CutPrefix(key, "returned/")
		return of && is(name)
	})
	if len(seen) == before {
		return nil
	}
	text, err := json.MarshalIndent(seen, "", " ")
	if err == nil {
		_, err = SaveFile(s.fs, path, strings.NewReader(string(text)), PrivateFile)
	}
	return err
}

// readSeen gives nothing where the file is missing or damaged: all folders then count as new.
func (s *Store) readSeen(path string) (map[string]time.Time, error) {
	f, err := s.fs.OpenFile(path, 0, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var seen map[string]time.Time
	derr := json.NewDecoder(f).Decode(&seen)
	if derr != nil {
		seen = nil
	}
	return seen, f.Close()
}
