package inbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"syscall"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Book is where taken files are entered as jobs.
type Book interface {
	// Reserve gives a job number that was never given before.
	Reserve() int64
	// Known tells whether a job is entered.
	Known(ctx context.Context, job int64) (bool, error)
	// Enter enters jobs, all or none; they are durable on return.
	Enter(ctx context.Context, all ...ledger.Arrival) error
	// StillThere gives an error where store or ledger are not where they were opened.
	StillThere() error
	// Late says that the job's file was written to after it was taken, so that the job may be half of it. The file goes
	// back into the inbox after that.
	Late(ctx context.Context, job int64) error
}

var (
	// ErrChanging means that a file changed while it was read. It is left for later.
	ErrChanging = errors.New("the file is still being written")
	// ErrUnreadable means that a file cannot be read. It stays where it is.
	ErrUnreadable = errors.New("it cannot be read; let the user that tracewheel runs as read it (chmod a+r), or drop it again")
)

// Taker takes files out of the inbox, several at a time: each step is done for all of them, and durable,
// before the next begins, so that the disk is waited for once a step and not once a file. A restart
// finishes what it finds by the job's number (claims, Finish), each claim for itself:
//
//  0. ask whether anybody has the file open for writing; where that can be told it is asked again
//     after step 1, when nobody finds the file by its name any more, and who came in between gets it back.
//  1. rename in the inbox to a name with the job's number, likewise its ticket and the drafts that
//     this names (ticket.go), sync the folder
//     - killed before: the file lies there as it was dropped, the number is skipped;
//     - killed after: the claim lies in the inbox and is finished.
//  2. copy into the store, sync the files, the jobs' folders and the folder of these
//     - killed here: the claim is still there and is copied again.
//  3. enter the jobs in the ledger, in one transaction
//     - killed after: the claim is only removed, because the number is known;
//     - where it fails for one it fails for all, and the next look through the folder finishes each.
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
	// Drafts is the workroom's folder of drafts, in which one that a ticket names may lie; "" for none.
	Drafts string
	// Group may drop files into the folders; store.NoGroup for none.
	Group int

	// spare is a number that a failed taking left unused, 0 for none.
	spare int64
	// watched are claims of entered jobs that may still be written to, by job.
	watched map[int64]stillWatched
	// lists are the last looks for tickets, by device.
	lists map[string]listing
}

// claim is a taken file in a device's folder.
type claim struct {
	device, path, name string
	job                int64
	ticketPath         string            // of the claimed ticket, empty for none
	with               map[string]string // the claimed drafts that it names, name to path
	unsure             bool              // nobody tells whether it is still written to
}

// Dir is the folder of a device.
func (t *Taker) Dir(device string) string { return filepath.Join(t.Root, device) }

// MakeDir makes the folder of a device where it is missing.
func (t *Taker) MakeDir(device string) error {
	if err := store.NoLink(t.FS, t.Dir(device)); err != nil {
		return err
	}
	return store.MakeShared(t.FS, t.Dir(device), t.Group, 0o770)
}

// Taken is the result for one file: without a Job it is where it was, with a Job and an Err it is a claim.
type Taken struct {
	Job int64
	Err error
}

// takeAll takes several files, no two of which share a ticket, and gives the result for each.
func (t *Taker) takeAll(ctx context.Context, takes []Take) []Taken {
	out := make([]Taken, len(takes))
	still := t.Book.StillThere()
	all := make([]*filing, len(takes))
	for i, take := range takes {
		all[i] = &filing{err: still}
		if still == nil {
			all[i].claim, all[i].err = t.claim(take)
		}
	}
	t.file(ctx, claimed(all))
	for i, f := range all {
		out[i] = Taken{f.job, f.err}
		if errors.Is(f.err, ErrUnreadable) {
			out[i].Job = 0 // the file has its name again
		}
	}
	return out
}

// claim does steps 0 and 1, without the ticket and the sync. After a fault there is no claim.
func (t *Taker) claim(take Take) (c claim, err error) {
	dir := t.Dir(take.Device)
	from := filepath.Join(dir, take.Entry.Name)
	if err := t.look(from, take.Entry); err != nil {
		return claim{}, err
	}
	if err := withinSize(take.Entry, false); err != nil {
		return claim{}, err
	}
	if err := t.plainTicket(dir, take.Entry.Name); err != nil {
		return claim{}, err
	}
	if err := t.unwritten(from, take); err != nil {
		return claim{}, err
	}
	if err := t.allThere(take); err != nil {
		return claim{}, err
	}
	if take.Trial {
		if err := t.readWhole(from, take.Entry); err != nil {
			return claim{}, err
		}
	}
	job := t.spare
	if t.spare = 0; job == 0 {
		job = t.Book.Reserve()
	}
	name := claimName(job, false, take.Entry.Name)
	c = claim{device: take.Device, job: job, path: filepath.Join(dir, name), unsure: take.Unsure}
	// The job gets the name that a restart would find, which is shorter where it was too long.
	_, _, c.name, _ = parseClaim(name)
	if err := t.FS.RenameNew(from, c.path); err != nil {
		if !errors.Is(err, fs.ErrExist) { // otherwise the number is taken, and the next attempt has another
			t.spare = job
		}
		return claim{}, store.WithAdvice(fmt.Errorf("taking %q out of the inbox: %w", from, err))
	}
	if err := t.FS.NoWriter(c.path); errors.Is(err, store.ErrWriting) {
		t.spare = job
		return claim{}, errors.Join(err, t.putBack(c))
	}
	return c, nil
}

// unwritten makes sure that no program has the file open for writing, as far as that can be told.
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

// look makes sure that the file is the regular file that was decided on.
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

// open opens a file to be read. A pipe or a link that took its place is neither waited for nor followed.
func (t *Taker) open(path string) (store.File, error) {
	f, err := t.FS.OpenFile(path, os.O_RDONLY|store.NoFollow|store.NoWait, 0)
	if errors.Is(err, syscall.EAGAIN) { // another program has lent it, a file server say, and is asked to give it back
		f, err = t.FS.OpenFile(path, os.O_RDONLY|store.NoFollow, 0)
	}
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%q is no plain file", path)
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// readWhole makes sure that a file can be read to its end without changing meanwhile.
func (t *Taker) readWhole(path string, want Entry) error {
	f, err := t.open(path)
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

// remove is step 4. It is not synced: a claim that a power cut brings back is known, and removed again.
func (t *Taker) remove(c claim) error {
	delete(t.watched, c.job)
	for _, path := range append([]string{c.path, c.ticketPath}, slices.Collect(maps.Values(c.with))...) {
		if path == "" {
			continue // no ticket, or its file went before
		}
		if err := t.FS.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return store.WithAdvice(fmt.Errorf("removing a taken file from the inbox: %w", err))
		}
	}
	return nil
}

// allThere makes sure that all drafts that a draft's ticket names are in one of the folders, whole.
func (t *Taker) allThere(take Take) error {
	ticket, names, err := t.ticketNames(take.Device, take.Entry.Name)
	if err != nil {
		return err
	}
	here, err := t.together(take.Device, ticket, take.Entry, names)
	for _, e := range here {
		if err := errors.Join(withinSize(e, false), t.unwritten(filepath.Join(t.Dir(take.Device), e.Name), take)); err != nil {
			return fmt.Errorf("%s, which its ticket names: %w", e.Name, err)
		}
	}
	return err
}
