package store

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// Sum is the name, size and sum of a saved file.
type Sum struct {
	Name   string
	Size   int64
	SHA256 string // lower-case hex
}

// tempPrefix starts the names of files that are not whole yet. They are hidden, and swept at start.
const tempPrefix = ".part-"

// SaveFile writes a file so that after a crash either all of it is there or nothing; perm is reduced by the user's umask.
// It writes under a temporary name in the same folder, syncs, closes, renames, and syncs the folder.
func SaveFile(fsys FS, path string, r io.Reader, perm fs.FileMode) (Sum, error) {
	sum, err := putFile(fsys, path, r, perm)
	if err == nil {
		// Without this the content is durable, but its name may be lost in a power cut.
		err = fsys.SyncDir(filepath.Dir(path))
	}
	if err != nil {
		return Sum{}, WithAdvice(fmt.Errorf("saving %q: %w", path, err))
	}
	return sum, nil
}

// SaveNew is SaveFile for a new name: where the name is taken, no file is replaced and the error wraps fs.ErrExist. Of
// several that write for one name at once, one succeeds.
func SaveNew(fsys FS, path string, r io.Reader, perm fs.FileMode) error {
	dir, name := filepath.Split(path)
	_, err := put(fsys, filepath.Join(dir, tempPrefix+rand.Text()+"-"+name), path, r, perm, fsys.RenameNew)
	if err == nil {
		err = fsys.SyncDir(dir)
	}
	if err != nil {
		return WithAdvice(fmt.Errorf("saving %q: %w", path, err))
	}
	return nil
}

// putFile is SaveFile without its last step.
func putFile(fsys FS, path string, r io.Reader, perm fs.FileMode) (Sum, error) {
	dir, name := filepath.Split(path)
	return put(fsys, filepath.Join(dir, tempPrefix+name), path, r, perm, fsys.Rename)
}

func put(fsys FS, temp, path string, r io.Reader, perm fs.FileMode, rename func(from, to string) error) (Sum, error) {
	sum, err := writeTemp(fsys, temp, r, perm)
	if err == nil {
		sum.Name = filepath.Base(path)
		err = rename(temp, path)
	}
	if err != nil {
		// A file that cannot be removed has the temporary name, and is removed at the next start.
		_ = fsys.Remove(temp)
	}
	return sum, err
}

func writeTemp(fsys FS, temp string, r io.Reader, perm fs.FileMode) (sum Sum, err error) {
	f, err := fsys.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, perm)
	if err != nil {
		return Sum{}, err
	}
	defer func() {
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}()
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(f, h), r)
	if err != nil {
		return Sum{}, err
	}
	if err := f.Sync(); err != nil {
		return Sum{}, err
	}
	info, err := f.Stat()
	if err != nil {
		return Sum{}, err
	}
	if info.Size() != n {
		return Sum{}, fmt.Errorf("%d bytes were written but %d are there", n, info.Size())
	}
	return Sum{Size: n, SHA256: hex.EncodeToString(h.Sum(nil))}, nil
}

// Save saves one file of a job, and makes the job's folder where it is missing. The file is durable when it returns
// without an error.
func (s *Store) Save(job int64, name string, r io.Reader) (Sum, error) {
	sum, err := s.Put(job, name, r)
	if err == nil {
		err = s.SyncJob(job)
	}
	return sum, err
}

// Put is Save without its last step, SyncJob; until then the file may lose its name in a power cut.
func (s *Store) Put(job int64, name string, r io.Reader) (Sum, error) {
	if err := plainName(name); err != nil {
		return Sum{}, err
	}
	dir := s.JobDir(job)
	if err := MakeDirs(s.fs, dir, Private); err != nil {
		return Sum{}, WithAdvice(fmt.Errorf("making the folder of job %d: %w", job, err))
	}
	sum, err := putFile(s.fs, filepath.Join(dir, name), r, PrivateFile)
	if err != nil {
		err = WithAdvice(fmt.Errorf("saving %q of job %d: %w", name, job, err))
	}
	return sum, err
}

// Lend puts a file beside those of a job while use runs, which gets its path: for another program that needs a file. It
// has the temporary name throughout, and is removed at the next start where a kill leaves it.
func (s *Store) Lend(job int64, name string, r io.Reader, use func(path string) error) error {
	if err := plainName(name); err != nil {
		return err
	}
	dir := s.JobDir(job)
	if err := MakeDirs(s.fs, dir, Private); err != nil {
		return WithAdvice(fmt.Errorf("making the folder of job %d: %w", job, err))
	}
	path := filepath.Join(dir, tempPrefix+name)
	defer s.fs.Remove(path) //nolint:errcheck // what stays behind is swept
	if _, err := writeTemp(s.fs, path, r, PrivateFile); err != nil {
		return WithAdvice(fmt.Errorf("saving %q of job %d: %w", name, job, err))
	}
	return use(path)
}

// MakeJob makes the folder of a job. SyncJobs makes its name durable; until then a power cut may remove the folder with
// all in it.
func (s *Store) MakeJob(job int64) error {
	err := MakeDirs(s.fs, s.jobsDir(), Private)
	if err == nil {
		err = s.fs.Mkdir(s.JobDir(job), Private)
	}
	if err == nil || errors.Is(err, fs.ErrExist) {
		return nil
	}
	return WithAdvice(fmt.Errorf("making the folder of job %d: %w", job, err))
}

// SyncJobs makes the names of the jobs' folders durable.
func (s *Store) SyncJobs() error { return WithAdvice(s.fs.SyncDir(s.jobsDir())) }

// SyncJob makes the names of a job's files durable.
func (s *Store) SyncJob(job int64) error { return WithAdvice(s.fs.SyncDir(s.JobDir(job))) }

// Named is a file in memory.
type Named struct {
	Name string
	Data []byte
}

// SaveAll keeps several files of a job with one sync of its folder. A crash before it returns may
// leave some of them, each whole.
func (s *Store) SaveAll(job int64, files []Named) ([]Sum, error) {
	sums := make([]Sum, len(files))
	for i, f := range files {
		var err error
		if sums[i], err = s.Put(job, f.Name, bytes.NewReader(f.Data)); err != nil {
			return nil, err
		}
	}
	return sums, s.SyncJob(job)
}

// Open opens one file of a job for reading.
func (s *Store) Open(job int64, name string) (File, error) {
	if err := plainName(name); err != nil {
		return nil, err
	}
	return s.fs.OpenFile(filepath.Join(s.JobDir(job), name), os.O_RDONLY, 0)
}

// Read reads one file of a job whole.
func (s *Store) Read(job int64, name string) ([]byte, error) {
	f, err := s.Open(job, name)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return data, err
}

// Sum reads one file of a job and gives its sum.
func (s *Store) Sum(job int64, name string) (Sum, error) {
	if err := plainName(name); err != nil {
		return Sum{}, err
	}
	return SumFile(s.fs, filepath.Join(s.JobDir(job), name))
}

// readSize is how many bytes are read at once for a sum: a store of 100,000 jobs has a million files, most of them smaller
// than this.
const readSize = 256 << 10

var readBuffers = sync.Pool{New: func() any { return new([readSize]byte) }}

// SumFile reads a file and gives its sum.
func SumFile(fsys FS, path string) (Sum, error) {
	f, err := fsys.OpenFile(path, os.O_RDONLY, 0)
	if err != nil {
		return Sum{}, err
	}
	buffer := readBuffers.Get().(*[readSize]byte)
	defer readBuffers.Put(buffer)
	h := sha256.New()
	// As a Reader only, because a File would use a buffer of its own.
	n, err := io.CopyBuffer(h, struct{ io.Reader }{f}, buffer[:])
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return Sum{Name: filepath.Base(path), Size: n, SHA256: hex.EncodeToString(h.Sum(nil))}, err
}

// Names lists the files of a job, those not whole yet left out.
func (s *Store) Names(job int64) ([]string, error) {
	entries, err := s.fs.ReadDir(s.JobDir(job))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), tempPrefix) {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// PlainName tells whether a file may have this name in the store: it must not lead to another folder and not be hidden.
func PlainName(name string) bool {
	return name != "" && name == filepath.Base(name) && !strings.ContainsAny(name, `/\`) && !strings.HasPrefix(name, ".")
}

func plainName(name string) error {
	if !PlainName(name) {
		return fmt.Errorf("%q cannot be the name of a file in the store", name)
	}
	return nil
}
