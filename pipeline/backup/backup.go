// Package backup takes a copy of a workroom while its daemon runs, and brings one back: ledger, the
// files of jobs, what was measured, measure cards and the workroom file in one tar archive, each file
// with its sum. It knows store and ledger, and starts nothing.
package backup

import (
	"archive/tar"
	"bytes"
	"cmp"
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
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// The names in an archive beside those of the store, whose folder the manifest names. The manifest is last but for its own
// sum, so that an archive that was cut off has none.
const (
	manifestName = "manifest.json"
	sumName      = "manifest.json.sha256"
	roomName     = "workroom.yaml"
	cardsName    = "cards"
	ledgerName   = "ledger.db"
	format       = "tracewheel copy, version 1"
)

// manifest is what an archive holds.
type manifest struct {
	Format string    `json:"format"`
	Taken  time.Time `json:"taken"`
	// Store is the store's folder in the archive, named as in the workroom file where that is a folder beside it.
	Store string  `json:"store"`
	Files []entry `json:"files"`
}

type entry struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// Room says where the parts of a workroom are.
type Room struct {
	// File is the workroom file, Store the store's folder, Cards the folder of measure cards, which may be missing, Inbox
	// that of the devices' folders, empty where a copy cannot come to lie in it.
	File, Store, Cards, Inbox string
}

// Copied says what a copy holds.
type Copied struct {
	Jobs, Files int
	Bytes       int64
	// Faults are files of jobs that are not as they were saved: they are in the copy as they are, or missing.
	Faults []string
	// Left are files, such as links, that were left out.
	Left []string
	// Unlisted is why the store's list of copies lacks this one, nil where it has it.
	Unlisted error
}

// tries is how often the copy is begun again when a job was made anew or removed during it.
const tries = 5

// Take writes the copy of a workroom to a new file that only its owner can read. It copies the ledger first and then the
// files that this copy names, so that none of them is missing. A crash leaves a hidden file beside it, never half a copy
// under its name.
func Take(ctx context.Context, r Room, to string, now time.Time) (c Copied, err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return c, fmt.Errorf("%s is there already; a copy never replaces a file, so name another: %w", to, cmp.Or(err, fs.ErrExist))
	}
	if err := outside(r, to); err != nil {
		return c, err
	}
	for n := 1; ; n++ {
		c, err = take(ctx, r, to, now, n == tries)
		if err != nil && !errors.Is(err, errShorter) || err == nil && len(c.Faults) == 0 || n == tries {
			if err == nil {
				c.Unlisted = note(store.Disk{}, r.Store, Noted{File: to, At: now})
			}
			return c, err
		}
		select {
		case <-ctx.Done():
			return c, ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// errShorter means that a file became shorter while it was copied.
var errShorter = errors.New("it became shorter meanwhile")

// take tries once; a copy with faults is kept only from the last try.
func take(ctx context.Context, r Room, to string, now time.Time, last bool) (Copied, error) {
	temp := filepath.Join(filepath.Dir(to), ".part-"+filepath.Base(to))
	w := &writer{ctx: ctx, room: r, man: manifest{Format: format, Taken: now.UTC(), Store: storeIn(r)}}
	err := errors.Join(gone(temp), gone(temp+".ledger"))
	if err == nil {
		err = w.write(temp)
	}
	if err == nil && (last || len(w.faults) == 0) {
		if err = os.Rename(temp, to); err == nil {
			err = store.Disk{}.SyncDir(filepath.Dir(to))
		}
	}
	err = errors.Join(err, gone(temp), gone(temp+".ledger"))
	for _, rest := range []string{"-wal", "-shm", "-journal"} {
		err = errors.Join(err, gone(temp+".ledger"+rest))
	}
	c := Copied{Jobs: w.jobs, Files: len(w.man.Files), Faults: w.faults, Left: w.left}
	for _, f := range w.man.Files {
		c.Bytes += f.Size
	}
	return c, store.WithAdvice(err)
}

func gone(file string) error {
	if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// storeIn is the store's folder in the archive.
func storeIn(r Room) string {
	rel, err := filepath.Rel(filepath.Dir(r.File), r.Store)
	if err != nil || !filepath.IsLocal(rel) || rel == "." || strings.HasPrefix(filepath.ToSlash(rel)+"/", cardsName+"/") {
		return "store"
	}
	return filepath.ToSlash(rel)
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

// names are the manifest's files by name.
func (m manifest) names() map[string]entry {
	all := map[string]entry{}
	for _, f := range m.Files {
		all[f.Name] = f
	}
	return all
}

// may tells whether a file in an archive may have a name: a plain path that does not lead outside, of a file that a copy
// holds.
func (m manifest) may(name string) bool {
	if !filepath.IsLocal(filepath.FromSlash(name)) || path.Clean(name) != name || strings.Contains(name, "\\") || !pattern.IsPrintable(name) {
		return false
	}
	if name == roomName || strings.HasPrefix(name, cardsName+"/") {
		return true
	}
	rest, in := strings.CutPrefix(name, m.Store+"/")
	first, _, deeper := strings.Cut(rest, "/")
	return in && (rest == ledgerName || deeper && first != "control" && !strings.HasPrefix(first, ledgerName) && !slices.ContainsFunc(strings.Split(rest, "/"), hidden))
}

func hidden(part string) bool { return strings.HasPrefix(part, ".") }
