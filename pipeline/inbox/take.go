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
	// Late tells that the job's file went on being written after it was taken: the job may be half of
	// it. The file goes back into the inbox after that.
	Late(ctx context.Context, job int64) error
}

var (
	// ErrChanging means that a file changed while it was read. It is left for later.
	ErrChanging = errors.New("the file is still being written")
	// ErrUnreadable means that a file cannot be read. It stays where it is.
	ErrUnreadable = errors.New("it cannot be read; let the user that tracewheel runs as read it (chmod a+r), or drop it again")
)

// Taker takes files out of the inbox. Each step is durable before the next begins, and a restart
// finishes what it finds by the job's number (Claims, Finish):
//
//  0. ask whether anybody has the file open for writing; where that can be told it is asked again
//     after step 1, when nobody finds the file by its name any more, and who came in between gets it back.
//  1. rename in the inbox to a name with the job's number, likewise its ticket, sync the folder
//     - killed before: the file lies there as it was dropped, the number is skipped;
//     - killed after: the claim lies in the inbox and is finished.
//  2. copy into the store, sync file and folder
//     - killed here: the claim is still there and is copied again.
//  3. enter the job in the ledger
//     - killed after: the claim is only removed, because the number is known.
//  4. remove the claim. Where nobody tells who writes, the claim stays for lateWait
//     first. What was written to it meanwhile is told and goes back into the inbox (late.go).
//
// A file never loses its ticket to a crash: finishing looks for it beside the claim under its own name
// too. A Taker is used from one
// goroutine at a time.
type Taker struct {
	FS    store.FS
	Store *store.Store
	Book  Book
	// Root is the inbox; each device has a folder in it.
	Root string
	// Group may drop files into the folders; store.NoGroup for none.
	Group int

	// spare is a number that a failed taking left unused, 0 for none.
	spare int64
	// watched are claims that are entered and may still be written to, by job.
	watched map[int64]stillWatched
	// lists are the last looks for tickets, by device.
	lists map[string]listing
}

// claim is a taken file in a device's folder.
type claim struct {
	device, path, name string
	job                int64
	ticketPath         string // of the claimed ticket, empty for none
	unsure             bool   // nobody tells whether it is still written to
}

// Dir is the folder of a device.
func (t *Taker) Dir(device string) string { return filepath.Join(t.Root, device) }

// MakeDir makes the folder of a device where it is missing.
func (t *Taker) MakeDir(device string) error {
	return store.MakeShared(t.FS, t.Dir(device), t.Group, 0o770)
}

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
	if err := t.unwritten(from, take); err != nil {
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
	c := claim{device: take.Device, job: job, path: filepath.Join(dir, claimed), unsure: take.Unsure}
	// The job goes by the name that a restart would find, which is shorter where it was too long.
	_, _, c.name, _ = parseClaim(claimed)
	if err := t.FS.RenameNew(from, c.path); err != nil {
		if !errors.Is(err, fs.ErrExist) { // else the number is somebody's, and the next try has another
			t.spare = job
		}
		return 0, store.Explain(fmt.Errorf("taking %q out of the inbox: %w", from, err))
	}
	if err := t.FS.NoWriter(c.path); errors.Is(err, store.ErrWriting) {
		t.spare = job
		return 0, errors.Join(err, t.putBack(c))
	}
	_, err = t.finish(ctx, c)
	if errors.Is(err, ErrUnreadable) {
		return 0, err // it has its name again
	}
	return job, err
}

// unwritten makes sure that nobody has the file open for writing, as far as that can be told.
func (t *Taker) unwritten(path string, take Take) error {
	err := t.FS.NoWriter(path)
	switch {
	case errors.Is(err, store.ErrCannotTell) && take.Unsure:
		return nil
	case errors.Is(err, fs.ErrPermission) && !errors.Is(err, store.ErrCannotTell):
		return fmt.Errorf("%w: %w", ErrUnreadable, err)
	}
	return err
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

// finish does steps 2 to 4; done is false where the claim stays for now.
func (t *Taker) finish(ctx context.Context, c claim) (done bool, err error) {
	known, err := t.Book.Known(ctx, c.job)
	if err != nil {
		return false, err
	}
	if known {
		return t.entered(ctx, c)
	}
	if err := t.claimTicket(&c); err != nil {
		return false, err
	}
	if err := t.FS.SyncDir(t.Dir(c.device)); err != nil {
		return false, store.Explain(err)
	}
	a := ledger.Arrival{ID: c.job, Device: c.device, File: c.name, Text: "taken from the inbox"}
	sum, before, err := t.copy(c.path, c.job, originalName(c.name))
	if errors.Is(err, ErrUnreadable) {
		return false, errors.Join(err, t.putBack(c))
	}
	if err != nil {
		return false, err
	}
	a.Files = []ledger.File{fileOf(c.job, sum)}
	if ticket := t.ticketOf(c); ticket != "" {
		sum, _, err := t.copy(ticket, c.job, "ticket.yaml")
		if errors.Is(err, ErrUnreadable) {
			return false, errors.Join(fmt.Errorf("its ticket: %w", err), t.putBack(c))
		}
		if err != nil {
			return false, err
		}
		a.Files, a.Ticket = append(a.Files, fileOf(c.job, sum)), sum.Name
		a.Text += " with its ticket"
	}
	if err := t.Store.SyncJob(c.job); err != nil {
		return false, err
	}
	if err := t.Book.Enter(ctx, a); err != nil {
		return false, err
	}
	if t.look(c.path, before) != nil {
		return true, t.late(ctx, c)
	}
	if c.unsure {
		t.watch(c, before)
		return false, nil
	}
	return true, t.remove(c)
}

// copy brings a file into the store, its name not durable yet, and refuses one that changed meanwhile.
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
		return store.Sum{}, Entry{}, fmt.Errorf("%w: %w", ErrUnreadable, err)
	}
	r := &reader{Reader: f}
	sum, err := t.Store.Put(job, name, r)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	switch {
	case r.err != nil:
		return store.Sum{}, Entry{}, fmt.Errorf("%w: %w", ErrUnreadable, r.err)
	case err != nil:
		return store.Sum{}, Entry{}, err
	case sum.Size != before.Size:
		return store.Sum{}, Entry{}, ErrChanging
	}
	return sum, before, t.look(path, before)
}

// reader keeps the fault of reading apart from those of writing the copy.
type reader struct {
	io.Reader
	err error
}

func (r *reader) Read(p []byte) (int, error) {
	n, err := r.Reader.Read(p)
	if err != nil && err != io.EOF {
		r.err = err
	}
	return n, err
}

// remove is step 4. It is not synced: a claim that a power cut brings back is known, and removed again.
func (t *Taker) remove(c claim) error {
	delete(t.watched, c.job)
	for _, path := range []string{c.path, c.ticketPath} {
		if path == "" {
			continue // no ticket, or its file went before
		}
		if err := t.FS.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return store.Explain(fmt.Errorf("removing a taken file from the inbox: %w", err))
		}
	}
	return nil
}

// putBack gives a claim its name again, or one beside it where that is taken by a newer file, and its
// ticket first, so that the file is not taken without. Nothing that lies there is replaced. A crash
// between the two leaves the claim, which finds its ticket unless that had to take another name.
func (t *Taker) putBack(c claim) error {
	delete(t.watched, c.job)
	for n := 1; ; n++ {
		err := t.putBackAs(&c, n)
		if !errors.Is(err, fs.ErrExist) {
			return store.Explain(errors.Join(err, t.FS.SyncDir(t.Dir(c.device))))
		}
	}
}

// putBackAs is the nth try for names: skirt.svg, skirt (2).svg and on. fs.ErrExist says to try the next.
func (t *Taker) putBackAs(c *claim, n int) error {
	numbered := func(base, ending string) string {
		if n > 1 {
			base = fmt.Sprintf("%s (%d)", base, n)
		}
		return filepath.Join(t.Dir(c.device), base+ending)
	}
	base, ext := stem(c.name), filepath.Ext(c.name)
	if c.path != "" {
		// Asked before the ticket gets its name, so that it is seldom renamed twice.
		if _, err := t.FS.Lstat(numbered(base, ext)); err == nil {
			return fs.ErrExist
		}
	}
	if c.ticketPath != "" {
		name := c.ticketName()
		of, _ := isTicket(name)
		ending := name[len(of):]
		if c.path != "" {
			of = base
		}
		to := numbered(of, ending)
		if err := t.rename(c.ticketPath, to); err != nil {
			return err
		}
		c.ticketPath = to
	}
	if c.path == "" {
		return nil
	}
	return t.rename(c.path, numbered(base, ext))
}

// ticketName is the name that the claimed ticket was dropped with.
func (c *claim) ticketName() string {
	base := filepath.Base(c.ticketPath)
	if _, _, name, ok := parseClaim(base); ok {
		return name
	}
	return base // it has a name again already
}

// rename does not mind a file that a person took away meanwhile.
func (t *Taker) rename(from, to string) error {
	if err := t.FS.RenameNew(from, to); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func fileOf(job int64, s store.Sum) ledger.File {
	return ledger.File{Job: job, Name: s.Name, Size: s.Size, SHA256: s.SHA256}
}

// originalName is the name of a dropped file in the store.
func originalName(name string) string { return "original" + originalEnding(name) }

// originalEnding keeps the ending of the dropped file where it is a plain one, so that a person who
// looks into the store can open it.
func originalEnding(name string) string {
	ext := strings.ToLower(filepath.Ext(name))
	if len(ext) < 2 || len(ext) > 10 || strings.Trim(ext[1:], "abcdefghijklmnopqrstuvwxyz0123456789") != "" {
		return ""
	}
	return ext
}
