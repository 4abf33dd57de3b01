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
	"strings"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Restored says what was brought back.
type Restored struct {
	Taken time.Time
	// Store is the folder of the store.
	Store string
	Jobs  int
	// Stopped are the jobs that had not ended when the copy was taken.
	Stopped []int64
	// Stock is how many rolls and remnants are to be measured.
	Stock int
}

// mostManifest is the largest manifest that is read, some hundred thousand files.
const mostManifest = 256 << 20

// Restore brings a copy back into an empty or missing folder. Every file is compared with its sum before the first is
// written. The store is locked meanwhile, so that no daemon starts on half of it, and the workroom file is written last: a
// crash leaves a folder without one. How far it has come is written to out now and then.
func Restore(ctx context.Context, file, dir string, out io.Writer) (r Restored, err error) {
	f, err := os.Open(file)
	if err != nil {
		return r, err
	}
	defer f.Close() //nolint:errcheck // only read
	man, err := check(f, &meter{ctx: ctx, out: out, doing: "compared"})
	if err != nil {
		return r, fmt.Errorf("%s is not restored, and nothing was written: %w", file, err)
	}
	r.Taken, r.Store = man.Taken, filepath.Join(dir, filepath.FromSlash(man.Store))
	if err := empty(dir, r.Store); err != nil {
		return r, err
	}
	st, err := store.Open(r.Store, store.Disk{})
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	room, err := extract(f, dir, man, &meter{ctx: ctx, out: out, doing: "written"})
	if err != nil {
		return r, fmt.Errorf("restoring %s (what was written of it to %s is of no use, remove that): %w", file, dir, err)
	}
	if _, in := man.names()[path.Join(man.Store, ledgerName)]; in {
		if err := r.settle(ctx, st); err != nil {
			return r, err
		}
	}
	_, err = store.SaveFile(store.Disk{}, filepath.Join(dir, roomName), bytes.NewReader(room), store.PrivateFile)
	return r, err
}

// empty refuses a folder that is not empty.
func empty(dir, storeDir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(storeDir, "lock")); err == nil {
		st, err := store.Open(storeDir, store.Disk{})
		if err != nil {
			return err // ErrInUse names the daemon
		}
		if err := st.Close(); err != nil {
			return err
		}
	}
	return fmt.Errorf("%s is not empty (a copy is brought back into an empty folder only: name another, and put it in place when it is right)", dir)
}

// check reads the whole archive and refuses files that may not be in it, or are not what was copied.
func check(f io.ReadSeeker, by *meter) (m manifest, err error) {
	found := map[string]entry{}
	var text, sum []byte
	err = each(f, by, func(h *tar.Header, r io.Reader) error {
		if _, twice := found[h.Name]; twice {
			return fmt.Errorf("%q is in it twice", h.Name)
		}
		var err error
		hash := sha256.New()
		r = io.TeeReader(r, hash)
		switch h.Name {
		case manifestName:
			text, err = io.ReadAll(io.LimitReader(r, mostManifest))
		case sumName:
			sum, err = io.ReadAll(io.LimitReader(r, 100))
		default:
			_, err = io.Copy(io.Discard, r)
		}
		found[h.Name] = entry{Name: h.Name, Size: h.Size, SHA256: hex.EncodeToString(hash.Sum(nil))}
		return err
	})
	if err != nil {
		return m, err
	}
	if text == nil || sum == nil {
		return m, errors.New("it has no manifest: it was cut off, or is no copy of a workroom")
	}
	if strings.TrimSpace(string(sum)) != found[manifestName].SHA256 {
		return m, errors.New("its manifest is damaged")
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("its manifest cannot be read: %w", err)
	}
	if m.Format != format {
		return m, fmt.Errorf("its format is %q, and this program knows %q: use the tracewheel that wrote it, or a newer one", m.Format, format)
	}
	if !filepath.IsLocal(filepath.FromSlash(m.Store)) || path.Clean(m.Store) != m.Store || m.Store == "." {
		return m, fmt.Errorf("its store %q lies elsewhere", m.Store)
	}
	delete(found, manifestName)
	delete(found, sumName)
	names := m.names()
	for name, got := range found {
		switch want, in := names[name]; {
		case !m.may(name):
			return m, fmt.Errorf("%q is no name of a file in a workroom's copy", name)
		case !in:
			return m, fmt.Errorf("its manifest does not name %q", name)
		case got != want:
			return m, fmt.Errorf("%q is not what was copied", name)
		}
		for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
			if _, file := found[dir]; file {
				return m, fmt.Errorf("%q is in it as a file and as a folder", dir)
			}
		}
	}
	for name := range names {
		if _, in := found[name]; !in {
			return m, fmt.Errorf("%q is missing", name)
		}
	}
	if _, in := names[roomName]; !in {
		return m, errors.New("it holds no workroom file")
	}
	return m, nil
}

// each reads an archive from its beginning by a meter; only plain files may be in it.
func each(f io.ReadSeeker, by *meter, fn func(h *tar.Header, r io.Reader) error) error {
	size, err := f.Seek(0, io.SeekEnd)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		return err
	}
	by.from, by.size, by.told = f, size, time.Now()
	for t := tar.NewReader(by); ; {
		h, err := t.Next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("it cannot be read as a copy: %w", err)
		}
		if h.Typeflag != tar.TypeReg {
			return fmt.Errorf("%q is no plain file", h.Name)
		}
		if size -= h.Size; size < 0 { // a sparse file is whatever it says
			return fmt.Errorf("%q says that it is larger than the archive", h.Name)
		}
		if err := fn(h, t); err != nil {
			return err
		}
	}
}

// extract writes the files; it gives the workroom file instead of writing it.
func extract(f io.ReadSeeker, dir string, m manifest, by *meter) (room []byte, err error) {
	names := m.names()
	err = each(f, by, func(h *tar.Header, r io.Reader) error {
		want, in := names[h.Name]
		if !in {
			return nil // the manifest
		}
		if h.Name == roomName {
			room, err = io.ReadAll(r)
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(h.Name))
		if err := store.MakeDirs(store.Disk{}, filepath.Dir(to), store.Private); err != nil {
			return err
		}
		sum, err := store.SaveFile(store.Disk{}, to, r, store.PrivateFile)
		if err == nil && (sum.Size != want.Size || sum.SHA256 != want.SHA256) {
			err = fmt.Errorf("%q changed while it was read", h.Name)
		}
		return err
	})
	if sum := sha256.Sum256(room); err == nil && hex.EncodeToString(sum[:]) != names[roomName].SHA256 {
		err = fmt.Errorf("%q changed while it was read", roomName)
	}
	return room, err
}

// settle corrects the state of the jobs of a restored ledger.
func (r *Restored) settle(ctx context.Context, st *store.Store) (err error) {
	led, err := ledger.Open(ctx, st.LedgerPath(), nil)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, led.Close()) }()
	if err := led.Check(ctx); err != nil {
		return err
	}
	jobs, err := led.Jobs(ctx, ledger.Filter{})
	if err != nil {
		return err
	}
	r.Jobs = len(jobs)
	reason := fmt.Sprintf("restored from the copy of %s, what was sent since is unknown", r.Taken.Local().Format("2006-01-02 15:04"))
	for _, j := range jobs {
		if j.State.Ended() {
			continue
		}
		blocks, total := programSize(st, j)
		if err := led.Restored(ctx, j.ID, reason, blocks, total); err != nil {
			return err
		}
		r.Stopped = append(r.Stopped, j.ID)
	}
	r.Stock, err = led.StockToCheck(ctx)
	return err
}

// programSize is the number of blocks and bytes of a job's program; where it cannot be read, nothing of the job is sent.
func programSize(st *store.Store, j ledger.Job) (blocks int, total int64) {
	index, err := st.Read(j.ID, store.ProgramIndex)
	if err != nil {
		return 0, 0
	}
	data, err := st.Read(j.ID, store.ProgramBytes)
	if err != nil {
		return 0, 0
	}
	p, err := store.JoinProgram(index, data)
	if err != nil {
		return 0, 0
	}
	return len(p.Blocks), int64(p.Len())
}
