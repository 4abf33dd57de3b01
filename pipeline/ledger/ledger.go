// Package ledger is the journal of the workroom: every job, its state, its history and how far its
// program had surely gone down the line. It is one SQLite database in the store (write-ahead log,
// synchronous FULL), so that what a method returned for is durable, and any SQLite tool can read it
// without a daemon. It knows the seven job states of RFC 8011 and which may follow which; the files
// themselves are the store's business.
package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Faults for which callers do different things.
var (
	// ErrNoJob means that no job of that number is in the ledger.
	ErrNoJob = errors.New("no such job")
	// ErrState means that the job's state does not allow what was asked.
	ErrState = errors.New("not in this state")
	// ErrDamaged means that the ledger cannot be used as it is, and must be brought back from a copy.
	ErrDamaged = errors.New("the ledger is damaged (move it aside and bring it back from a copy; the drafts in the store are untouched)")
	// ErrRow means that the line of one job is damaged; the others are as they were.
	ErrRow = errors.New("a line of the ledger is damaged")
	// ErrReplaced means that the ledger or its journal was moved, removed or replaced while it was open, so that what is
	// written would be lost.
	ErrReplaced = errors.New("the ledger was moved, removed or replaced while this daemon ran")
	// ErrFull and ErrReadOnly are the disk's faults.
	ErrFull     = errors.New("the disk is full")
	ErrReadOnly = errors.New("the ledger cannot be written")
)

// Ledger is an open ledger. Its methods may be used from many goroutines.
type Ledger struct {
	// db is the one connection that writes: the daemon is the only writer, and changes come one after the other. look are
	// the connections that read, so that a long list does not hold up the writer.
	db, look *sql.DB
	path     string
	now      func() time.Time
	// made is the file that was opened for writing, journal its write-ahead log; nil where the ledger is only read. While
	// the writer is connected SQLite keeps that log, so another file of its name was made by a reader that found none.
	made, journal fs.FileInfo
	// next is the number of the next new job.
	next atomic.Int64
	// rolls is what the workroom file says of materials.
	rolls atomic.Pointer[Rolls]
}

// Open opens the ledger for writing and makes it where it is missing. now may be nil.
func Open(ctx context.Context, path string, now func() time.Time) (*Ledger, error) {
	db, err := open(path, 1, "_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)"+
		"&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate")
	if err != nil {
		return nil, err
	}
	l := newLedger(path, db, db, now)
	err = l.upgrade(ctx, steps)
	if err == nil {
		l.look, err = open(path, 4, "mode=ro&_pragma=busy_timeout(10000)")
	}
	if err == nil {
		var next int64
		err = l.db.QueryRowContext(ctx, "SELECT next FROM counter").Scan(&next)
		l.next.Store(next)
	}
	if err == nil {
		l.made, err = os.Stat(path)
	}
	if err == nil {
		l.journal, err = os.Stat(path + "-wal")
	}
	if err != nil && (errors.Is(err, sql.ErrNoRows) || strings.Contains(err.Error(), "no such table")) {
		err = fmt.Errorf("%w: a table is missing, or the counter of the jobs' numbers has no row: %w", ErrDamaged, err)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("opening the ledger %q: %w", path, explain(err)), l.Close())
	}
	return l, nil
}

// patience is how long Look waits for a daemon that is making or upgrading the tables.
const patience = 2 * time.Second

// Look opens a ledger for reading only, whether or not a daemon runs.
func Look(ctx context.Context, path string) (*Ledger, error) {
	for end := time.Now().Add(patience); ; {
		l, err := look(ctx, path)
		if !errors.Is(err, errOlder) || time.Now().After(end) {
			return l, err
		}
		select {
		case <-ctx.Done():
			return nil, err
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func look(ctx context.Context, path string) (*Ledger, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("no ledger at %q yet: nothing was ever received here: %w", path, err)
	}
	db, err := open(path, 1, "mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return nil, err
	}
	l := newLedger(path, db, db, nil)
	got, err := l.version(ctx)
	if err != nil {
		// Where the disk cannot be written, there is no place for the write-ahead log's index; the database can still be
		// read if that log is empty.
		_ = l.Close()
		if info, serr := os.Stat(path + "-wal"); serr == nil && info.Size() > 0 {
			return nil, fmt.Errorf("reading the ledger %q: it was left open by a daemon that was cut off, and only somebody who may write there can read it: %w", path, explain(err))
		}
		if db, err = open(path, 1, "mode=ro&immutable=1"); err != nil {
			return nil, err
		}
		l = newLedger(path, db, db, nil)
		if got, err = l.version(ctx); err != nil {
			return nil, errors.Join(fmt.Errorf("reading the ledger %q: %w", path, explain(err)), l.Close())
		}
	}
	if got != len(steps) {
		return nil, errors.Join(wrongVersion(path, got, len(steps)), l.Close())
	}
	return l, nil
}

func newLedger(path string, db, look *sql.DB, now func() time.Time) *Ledger {
	if now == nil {
		now = time.Now
	}
	return &Ledger{db: db, look: look, path: path, now: now}
}

func open(path string, conns int, query string) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(abs), RawQuery: query}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, fmt.Errorf("opening the ledger %q: %w", path, err)
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns) // one that is closed is opened anew for the next page
	return db, nil
}

// Close closes the ledger.
func (l *Ledger) Close() error {
	if l.look == l.db || l.look == nil {
		return l.db.Close()
	}
	// The writer is closed last: the last connection folds the write-ahead log into the database, which a reader cannot.
	return errors.Join(l.look.Close(), l.db.Close())
}

// Ping gives an error where the ledger does not answer.
func (l *Ledger) Ping(ctx context.Context) error {
	_, err := l.version(ctx)
	return err
}

// StillThere gives ErrReplaced unless the ledger and its journal are the files that were opened. SQLite itself would go on
// writing to files that have no name any more.
func (l *Ledger) StillThere() error {
	if l.made == nil {
		return nil
	}
	gone := func(path string, opened fs.FileInfo) bool {
		there, err := os.Stat(path)
		return errors.Is(err, fs.ErrNotExist) || err == nil && !os.SameFile(opened, there)
	}
	if gone(l.path, l.made) || gone(l.path+"-wal", l.journal) {
		return fmt.Errorf("%w: %q; put the very same files back, ledger.db and ledger.db-wal, or stop this daemon, bring the ledger back from a copy, and start it again", ErrReplaced, l.path)
	}
	return nil
}

func (l *Ledger) version(ctx context.Context) (v int, err error) {
	err = l.db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&v)
	return v, err
}

// tx runs fn in one transaction, which is durable when tx returns without an error. It gives ErrReplaced where the journal
// is missing after the transaction began.
func (l *Ledger) tx(ctx context.Context, fn func(*sql.Tx) error) error {
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err = l.StillThere(); err == nil {
		err = fn(tx)
	}
	if err != nil {
		return errors.Join(err, ignoreDone(tx.Rollback()))
	}
	return tx.Commit()
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

// explain adds to the database's faults what mends them.
func explain(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("%w (free some space): %w", ErrFull, err)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return fmt.Errorf("%w (see that the disk is mounted for writing and this user may write there): %w", ErrReadOnly, err)
	case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return err
}
