package inbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Book is where taken files are written down.
type Book interface {
	// Reserve gives a job number that was never given before.
	Reserve() int64
	// Known tells whether that job was entered already.
	Known(ctx context.Context, job int64) (bool, error)
	// Enter writes the job down; it is durable on return.
	Enter(ctx context.Context, a ledger.Arrival) error
}

// ErrChanging means that a file changed while it was read. It is left for later.
var ErrChanging = errors.New("the file is still being written")

// Taker takes files out of the inbox. Each step is durable before the next begins, and a restart
// finishes what it finds by the job's number (Claims, Finish):
//
//  1. rename in the inbox to a name with the job's number, sync the folder
//     - killed before: the file lies there as it was dropped, the number is skipped;
//     - killed after: the claim lies in the inbox and is finished.
//  2. copy into the store, sync file and folder
//     - killed here: the claim is still there and is copied again.
//  3. enter the job in the ledger
//     - killed after: the claim is only removed, because the number is known.
//  4. remove the claim, sync the folder.
//
// The ticket follows between 1 and 2 in the same way, so that a file never loses its ticket to a
// crash: finishing looks for it beside the claim under its own name too. A Taker is used from one
// goroutine at a time.
type Taker struct {
	FS    store.FS
	Store *store.Store
	Book  Book
	// Root is the inbox; each device has a folder in it.
	Root string

	// spare is a number that a failed taking left unused, 0 for none.
	spare int64
}

// claim is a taken file in a device's folder.
type claim struct {
	device, path, name string
	job                int64
	ticketPath         string // of the claimed ticket, empty for none
}

// Dir is the folder of a device.
func (t *Taker) Dir(device string) string { return filepath.Join(t.Root, device) }

// Take takes one file through all steps. When it fails the file is where it was or is a claim.
func (t *Taker) Take(ctx context.Context, take Take) (job int64, err error) {
	if err := t.Store.Still(); err != nil {
		return 0, err
	}
	dir := t.Dir(take.Device)
	from := filepath.Join(dir, take.Entry.Name)
	if err := t.look(from, take.Entry); err != nil {
		return 0, err
	}
	if take.Trial {
		if err := t.readWhole(from, take.Entry); err != nil {
			return 0, err
		}
	}
	if job, t.spare = t.spare, 0; job == 0 {
		job = t.Book.Reserve()
	}
	claimed := claimName(job, false, take.Entry.Name)
	c := claim{device: take.Device, job: job, path: filepath.Join(dir, claimed)}
	// The job goes by the name that a restart would find, which is shorter where it was too long.
	_, _, c.name, _ = parseClaim(claimed)
	if err := t.FS.Rename(from, c.path); err != nil {
		t.spare = job
		return 0, store.Explain(fmt.Errorf("taking %q out of the inbox: %w", from, err))
	}
	if err := t.FS.SyncDir(dir); err != nil {
		return job, store.Explain(err)
	}
	return job, t.finish(ctx, c)
}

// look makes sure that what lies there is the regular file that was decided on.
func (t *Taker) look(path string, want Entry) error {
	info, err := t.FS.Lstat(path)
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() || !entryOf(info).same(want) {
		return ErrChanging
	}
	return nil
}

// readWhole proves that a file can be read to its end without changing under our hands.
func (t *Taker) readWhole(path string, want Entry) error {
	f, err := t.FS.OpenFile(path, os.O_RDONLY, 0)
	if err != nil {
		return err
	}
	n, err := io.Copy(io.Discard, f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	if n != want.Size {
		return ErrChanging
	}
	return t.look(path, want)
}

func entryOf(info fs.FileInfo) Entry {
	return Entry{Name: info.Name(), Size: info.Size(), Mod: info.ModTime()}
}

// finish does steps 2 to 4.
func (t *Taker) finish(ctx context.Context, c claim) error {
	known, err := t.Book.Known(ctx, c.job)
	if err != nil {
		return err
	}
	if known {
		return t.remove(c)
	}
	if err := t.claimTicket(&c); err != nil {
		return err
	}
	a := ledger.Arrival{ID: c.job, Device: c.device, File: c.name, Text: "taken from the inbox"}
	sum, before, err := t.copy(c.path, c.job, "original"+originalEnding(c.name))
	if err != nil {
		return err
	}
	a.Files = []ledger.File{fileOf(c.job, sum)}
	if ticket := t.ticketOf(c); ticket != "" {
		sum, _, err := t.copy(ticket, c.job, "ticket.yaml")
		if err != nil {
			return err
		}
		a.Files, a.Ticket = append(a.Files, fileOf(c.job, sum)), sum.Name
		a.Text += " with its ticket"
	}
	if err := t.Book.Enter(ctx, a); err != nil {
		return err
	}
	if t.look(c.path, before) != nil {
		// Somebody still wrote to it after it was copied. What was copied is a job; what lies there now
		// is a newer drop and must not be removed unread.
		return t.putBack(c.device, c.path, c.name)
	}
	return t.remove(c)
}

// copy brings a file into the store and refuses one that changed meanwhile.
func (t *Taker) copy(path string, job int64, name string) (store.Sum, Entry, error) {
	info, err := t.FS.Lstat(path)
	if err != nil {
		return store.Sum{}, Entry{}, err
	}
	if !info.Mode().IsRegular() {
		return store.Sum{}, Entry{}, fmt.Errorf("%q is no plain file", path)
	}
	before := entryOf(info)
	f, err := t.FS.OpenFile(path, os.O_RDONLY, 0)
	if err != nil {
		return store.Sum{}, Entry{}, fmt.Errorf("reading %q: %w", path, err)
	}
	sum, err := t.Store.Save(job, name, f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return store.Sum{}, Entry{}, err
	}
	if sum.Size != before.Size {
		return store.Sum{}, Entry{}, ErrChanging
	}
	return sum, before, t.look(path, before)
}

// remove is step 4.
func (t *Taker) remove(c claim) error {
	for _, path := range []string{c.path, c.ticketPath} {
		if path == "" {
			continue // no ticket, or its file went before
		}
		if err := t.FS.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return store.Explain(fmt.Errorf("removing a taken file from the inbox: %w", err))
		}
	}
	return store.Explain(t.FS.SyncDir(t.Dir(c.device)))
}

// putBack gives a claim its name again, or one beside it where that is taken by a newer file.
func (t *Taker) putBack(device, path, name string) error {
	dir := t.Dir(device)
	to := filepath.Join(dir, name)
	for n := 2; ; n++ {
		if _, err := t.FS.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			break
		}
		to = filepath.Join(dir, fmt.Sprintf("%s (%d)%s", stem(name), n, filepath.Ext(name)))
	}
	if err := t.FS.Rename(path, to); err != nil {
		return store.Explain(err)
	}
	return store.Explain(t.FS.SyncDir(dir))
}

func fileOf(job int64, s store.Sum) ledger.File {
	return ledger.File{Job: job, Name: s.Name, Size: s.Size, SHA256: s.SHA256}
}

// originalEnding keeps the ending of the dropped file where it is a plain one, so that a person who
// looks into the store can open it.
func originalEnding(name string) string {
	ext := strings.ToLower(filepath.Ext(name))
	if len(ext) < 2 || len(ext) > 10 || strings.Trim(ext[1:], "abcdefghijklmnopqrstuvwxyz0123456789") != "" {
		return ""
	}
	return ext
}
