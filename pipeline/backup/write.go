package backup

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// errShorter means that a file became shorter while it was copied.
var errShorter = errors.New("it became shorter meanwhile")

func removeIfThere(file string) error {
	if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

type writer struct {
	ctx    context.Context
	room   Room
	tar    *tar.Writer
	man    manifest
	jobs   int
	faults []string
	left   []string
}

func (w *writer) write(temp string) (err error) {
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, store.PrivateFile)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	w.tar = tar.NewWriter(f)
	if err := w.all(temp + ".ledger"); err != nil {
		return err
	}
	text, err := json.MarshalIndent(w.man, "", " ")
	if err != nil {
		return err
	}
	sum := sha256.Sum256(text)
	for _, last := range []store.Named{{Name: manifestName, Data: text}, {Name: sumName, Data: []byte(hex.EncodeToString(sum[:]) + "\n")}} {
		if _, err := w.put(last.Name, int64(len(last.Data)), bytes.NewReader(last.Data)); err != nil {
			return err
		}
	}
	return errors.Join(w.tar.Close(), f.Sync())
}

func (w *writer) all(ledgerCopy string) error {
	room, err := filepath.EvalSymlinks(w.room.File)
	if err == nil {
		err = w.add(roomName, room, nil)
	}
	if err != nil {
		return err
	}
	if err := w.tree(cardsName, w.room.Cards); err != nil {
		return err
	}
	if err := w.ledger(ledgerCopy); err != nil {
		return err
	}
	entries, err := os.ReadDir(w.room.Store)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range entries { // measurements, and what was set aside
		if e.IsDir() && e.Name() != "jobs" && e.Name() != "control" {
			if err := w.tree(path.Join(w.man.Store, e.Name()), filepath.Join(w.room.Store, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// ledger adds the ledger's copy and the files that it names.
func (w *writer) ledger(temp string) error {
	from := store.LedgerPath(w.room.Store)
	lost, err := store.Look(w.room.Store).WithoutLedger()
	if err == nil && len(lost) > 0 {
		err = fmt.Errorf("the ledger %q is missing or empty, and the store holds %d jobs: a copy would have none of them; bring the ledger back first", from, len(lost))
	}
	if err != nil {
		return err
	}
	if _, err := os.Stat(from); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, store.PrivateFile) // no one else reads it meanwhile
	if err == nil {
		err = f.Close()
	}
	if err == nil {
		err = ledger.Copy(w.ctx, from, temp)
	}
	if err != nil {
		return err
	}
	led, err := ledger.Look(w.ctx, temp)
	if err != nil {
		return err
	}
	err = w.jobFiles(led)
	if err = errors.Join(err, led.Close()); err != nil {
		return err
	}
	return w.add(path.Join(w.man.Store, ledgerName), temp, nil)
}

func (w *writer) jobFiles(led *ledger.Ledger) error {
	jobs, err := led.Jobs(w.ctx, ledger.Filter{Faulty: true})
	if err != nil {
		return err
	}
	w.jobs = len(jobs)
	st := store.Look(w.room.Store)
	for _, j := range jobs {
		if j.Fault != "" {
			w.faults = append(w.faults, fmt.Sprintf("job %d: %s", j.ID, j.Fault))
		}
		files, err := led.Files(w.ctx, j.ID)
		if err != nil {
			return err
		}
		if err := w.marks(st, j); err != nil {
			return err
		}
		making := !j.Ready && !j.State.Ended() // its files may be half made
		for _, f := range files {
			stripping := j.Stripped != ledger.Whole && store.Passing(f.Name) // its files are being removed, because it is old
			if making && !j.MadeOf(f) || stripping || !store.PlainName(f.Name) {
				continue
			}
			name := path.Join(w.man.Store, "jobs", strconv.FormatInt(j.ID, 10), f.Name)
			if err := w.add(name, filepath.Join(st.JobDir(j.ID), f.Name), &f); err != nil {
				return err
			}
		}
	}
	return nil
}

// marks adds the marks of the sendings that the ledger's copy knows; a later one may have begun since.
func (w *writer) marks(st *store.Store, j ledger.Job) error {
	names, err := st.Names(j.ID)
	if err != nil {
		return err
	}
	for _, name := range names {
		if no := store.SentNo(name); no == 0 || no > j.Sends {
			continue
		}
		as := path.Join(w.man.Store, "jobs", strconv.FormatInt(j.ID, 10), name)
		if err := w.add(as, filepath.Join(st.JobDir(j.ID), name), nil); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// tree adds the plain files of a folder. Links and other things are listed as left out, hidden files are left out without
// mention. A file that vanishes meanwhile was replaced or removed by a person.
func (w *writer) tree(name, dir string) error {
	return filepath.WalkDir(dir, func(file string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || e.IsDir() || hidden(e.Name()) {
			return err
		}
		rel, err := filepath.Rel(dir, file)
		if err != nil {
			return err
		}
		as := path.Join(name, filepath.ToSlash(rel))
		if !e.Type().IsRegular() || !w.man.may(as) {
			w.left = append(w.left, file)
			return nil
		}
		if err := w.add(as, file, nil); !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	})
}

// add copies one file; saved is what the ledger says of it, nil for other files.
func (w *writer) add(name, file string, saved *ledger.File) error {
	if err := w.ctx.Err(); err != nil {
		return err
	}
	f, err := openPlain(file)
	if errors.Is(err, fs.ErrNotExist) && saved != nil {
		w.faults = append(w.faults, fmt.Sprintf("the file %q of job %d is missing", saved.Name, saved.Job))
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // only read
	info, err := f.Stat()
	if err != nil {
		return err
	}
	e, err := w.put(name, info.Size(), f)
	if err != nil {
		return fmt.Errorf("copying %s: %w", file, err)
	}
	w.man.Files = append(w.man.Files, e)
	if saved != nil && (e.SHA256 != saved.SHA256 || e.Size != saved.Size) {
		w.faults = append(w.faults, fmt.Sprintf("the file %q of job %d is not what was saved", saved.Name, saved.Job))
	}
	return nil
}

// openPlain opens a plain file; it does not wait for a pipe.
func openPlain(file string) (*os.File, error) {
	info, err := os.Lstat(file)
	if err == nil && !info.Mode().IsRegular() {
		err = &fs.PathError{Op: "open", Path: file, Err: errors.New("it is no plain file")}
	}
	if err != nil {
		return nil, err
	}
	return os.Open(file)
}

func (w *writer) put(name string, size int64, r io.Reader) (entry, error) {
	h := &tar.Header{Typeflag: tar.TypeReg, Name: name, Size: size, Mode: int64(store.PrivateFile), ModTime: w.man.Taken.Truncate(time.Second)}
	if err := w.tar.WriteHeader(h); err != nil {
		return entry{}, err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(w.tar, sum), io.LimitReader(r, size))
	if err == nil && n < size {
		err = errShorter
	}
	return entry{Name: name, Size: n, SHA256: hex.EncodeToString(sum.Sum(nil))}, err
}

func hidden(part string) bool { return strings.HasPrefix(part, ".") }
