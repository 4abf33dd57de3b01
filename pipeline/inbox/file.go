package inbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// filing is a claim during steps 2 to 4.
type filing struct {
	claim
	ticket  string // the path of the ticket to be copied, empty for none
	arrival ledger.Arrival
	before  map[string]Entry // the files as they were copied, by their paths
	done    bool             // its files are gone from the inbox, or replaced by newer ones
	err     error
}

// claimed gives the claims without a fault.
func claimed(all []*filing) []*filing {
	var sound []*filing
	for _, f := range all {
		if f.err == nil {
			sound = append(sound, f)
		}
	}
	return sound
}

// file does the rest of step 1 and steps 2 to 4 for claims that are not entered yet.
func (t *Taker) file(ctx context.Context, all []*filing) {
	synced := map[string]error{}
	for _, f := range all {
		f.ticket, f.err = t.claimTicket(&f.claim)
	}
	for _, f := range claimed(all) {
		err, is := synced[f.device]
		if !is {
			err = store.WithAdvice(t.FS.SyncDir(t.Dir(f.device)))
			synced[f.device] = err
		}
		f.err = err
	}
	for _, f := range claimed(all) {
		f.err = t.Store.MakeJob(f.job)
	}
	// Most of the time is spent waiting for the disk, which serves several requests at once.
	var copies sync.WaitGroup
	for _, f := range claimed(all) {
		copies.Go(func() { f.err = t.copyAll(f) })
	}
	copies.Wait()
	for _, f := range all {
		if errors.Is(f.err, ErrUnreadable) {
			f.err = errors.Join(f.err, t.putBack(f.claim))
		}
	}
	t.enter(ctx, claimed(all))
	for _, f := range claimed(all) {
		switch {
		case t.changed(f.before):
			f.done, f.err = true, t.late(ctx, f.claim)
		case f.unsure:
			t.watch(f.claim, f.before)
		default:
			f.done, f.err = true, t.remove(f.claim)
		}
	}
}

// copyAll copies a claim and its ticket into the store; only the name of the job's folder is not durable then.
func (t *Taker) copyAll(f *filing) error {
	sum, before, err := t.copy(f.path, f.job, originalName(f.name), false)
	if err != nil {
		return err
	}
	f.before = map[string]Entry{f.path: before}
	f.arrival = ledger.Arrival{ID: f.job, Device: f.device, File: f.name, Text: "taken from the inbox",
		Files: []ledger.File{fileOf(f.job, sum)}}
	if f.ticket != "" {
		sum, _, err := t.copy(f.ticket, f.job, "ticket.yaml", true)
		if errors.Is(err, ErrUnreadable) {
			return fmt.Errorf("its ticket: %w", err)
		}
		if err != nil {
			return err
		}
		f.arrival.Files, f.arrival.Ticket = append(f.arrival.Files, fileOf(f.job, sum)), sum.Name
		f.arrival.Text += " with its ticket"
	}
	if err := t.copyWith(f); err != nil {
		return err
	}
	return t.Store.SyncJob(f.job)
}

// enter is step 3, and the last sync of step 2.
func (t *Taker) enter(ctx context.Context, all []*filing) {
	if len(all) == 0 {
		return
	}
	arrivals := make([]ledger.Arrival, len(all))
	for i, f := range all {
		arrivals[i] = f.arrival
	}
	err := t.Store.SyncJobs()
	if err == nil {
		err = t.Book.Enter(ctx, arrivals...)
	}
	for _, f := range all {
		f.err = err
	}
}

// finish completes a claim that a crash or a fault left; done is false where the claim stays for now.
func (t *Taker) finish(ctx context.Context, c claim) (done bool, err error) {
	known, err := t.Book.Known(ctx, c.job)
	if err != nil {
		return false, err
	}
	if known {
		return t.entered(ctx, c)
	}
	f := &filing{claim: c}
	t.file(ctx, []*filing{f})
	return f.done, f.err
}

// copy copies a file into the store, with a name that is not durable yet, and refuses a file that changed meanwhile.
func (t *Taker) copy(path string, job int64, name string, ticket bool) (store.Sum, Entry, error) {
	info, err := t.FS.Lstat(path)
	if err != nil {
		return store.Sum{}, Entry{}, err
	}
	if !info.Mode().IsRegular() {
		return store.Sum{}, Entry{}, fmt.Errorf("%q is no plain file", path)
	}
	before := entryOf(info)
	if err := withinSize(before, ticket); err != nil {
		return store.Sum{}, Entry{}, err
	}
	f, err := t.open(path)
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

// reader keeps the error of reading apart from errors of writing the copy.
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

// copyWith copies the claimed drafts that a ticket names into the store.
func (t *Taker) copyWith(f *filing) error {
	for _, n := range slices.Sorted(maps.Keys(f.with)) {
		sum, before, err := t.copy(f.with[n], f.job, ledger.WithFile(n), false)
		if err != nil {
			return fmt.Errorf("%s, which its ticket names: %w", n, err)
		}
		f.before[f.with[n]] = before
		f.arrival.Files = append(f.arrival.Files, fileOf(f.job, sum))
	}
	if n := len(f.with); n > 0 {
		f.arrival.Text += ", and " + pattern.Count(n, "draft") + " that it names"
	}
	return nil
}
