package store

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// sentPrefix begins the names of the marks of sendings in a job's folder: sent-1, sent-2. A mark is durable before the
// first byte of its sending, so that a ledger which lost its last changes, for example with its journal, cannot have a job
// sent again unnoticed. The text in a mark is for people.
const sentPrefix = "sent-"

// SentNo is the number of the sending that a file's name marks, 0 for another file.
func SentNo(name string) int {
	text, is := strings.CutPrefix(name, sentPrefix)
	n, err := strconv.Atoi(text)
	if !is || err != nil || n < 1 || strconv.Itoa(n) != text {
		return 0
	}
	return n
}

// MarkSent marks that a sending of a job begins. The error wraps fs.ErrExist where it is marked already.
func (s *Store) MarkSent(job int64, no int, at time.Time) error {
	name := sentPrefix + strconv.Itoa(no)
	if _, err := s.fs.Lstat(filepath.Join(s.JobDir(job), name)); err == nil {
		return fmt.Errorf("marking sending %d of job %d: %w", no, job, fs.ErrExist)
	}
	_, err := s.Save(job, name, strings.NewReader(fmt.Sprintf("sending %d of job %d began at %s; the ledger holds what came of it\n",
		no, job, at.Format(time.RFC3339))))
	return err
}

// Sent is the highest marked number of a sending of a job, 0 for none.
func (s *Store) Sent(job int64) (highest int, err error) {
	names, err := s.Names(job)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("looking for the sendings of job %d: %w", job, err)
	}
	for _, name := range names {
		highest = max(highest, SentNo(name))
	}
	return highest, nil
}
