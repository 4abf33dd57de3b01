package ledger

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadableBeside: the ledger is read while it is open for writing, and after, and by any SQLite
// tool; reading does not change it.
func TestReadableBeside(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	if _, err := Look(t.Context(), path); err == nil || !strings.Contains(err.Error(), "nothing was ever received") {
		t.Errorf("no ledger: %v", err)
	}
	l, err := Open(t.Context(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	arrive(t, l, "x")
	look := func() {
		t.Helper()
		r, err := Look(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		jobs, err := r.Jobs(t.Context(), Filter{})
		if err != nil || len(jobs) != 1 {
			t.Errorf("%d jobs, %v", len(jobs), err)
		}
		if err := move(r, 1, Held); err == nil {
			t.Error("a reader wrote")
		}
	}
	look()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	look()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var state, mode string
	if err := db.QueryRow("SELECT state FROM jobs").Scan(&state); err != nil || state != "pending" {
		t.Errorf("%q, %v", state, err)
	}
	if err := db.QueryRow("PRAGMA journal_mode").Scan(&mode); err != nil || mode != "wal" {
		t.Errorf("journal mode %q, %v", mode, err)
	}
	if _, err := db.Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), path, nil); err == nil || !strings.Contains(err.Error(), "version 99") {
		t.Errorf("a newer ledger: %v", err)
	}
	if _, err := Look(t.Context(), path); err == nil || !strings.Contains(err.Error(), "version 99") {
		t.Errorf("a newer ledger: %v", err)
	}
}

func TestDurableSettings(t *testing.T) {
	l := openTest(t)
	var sync int
	// 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
	if err := l.db.QueryRow("PRAGMA synchronous").Scan(&sync); err != nil || sync != 2 {
		t.Errorf("synchronous is %d, %v", sync, err)
	}
}

func TestDamagedLedger(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	if err := os.WriteFile(path, []byte(strings.Repeat("no database at all ", 100)), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), path, nil); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Errorf("%v", err)
	}
}

// TestFullDisk uses SQLite's own limit of pages, which fails as a full disk does
// (https://www.sqlite.org/pragma.html#pragma_max_page_count); it goes on when there is room again.
func TestFullDisk(t *testing.T) {
	l := openTest(t)
	var pages int
	if err := l.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := l.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+2)); err != nil {
		t.Fatal(err)
	}
	var err error
	n := 0
	for ; err == nil && n < 1000; n++ {
		id := l.Reserve()
		_, err = l.Enter(t.Context(), Arrival{ID: id, Files: []File{{Name: "original", SHA256: strings.Repeat("x", 500)}}})
	}
	if !errors.Is(err, ErrFull) || !strings.Contains(err.Error(), "free some space") {
		t.Fatalf("after %d jobs: %v", n, err)
	}
	if _, err := l.db.Exec("PRAGMA max_page_count = 100000"); err != nil {
		t.Fatal(err)
	}
	arrive(t, l, "x")
	jobs, err := l.Jobs(t.Context(), Filter{})
	if err != nil || len(jobs) != n {
		t.Errorf("%d jobs of %d, %v", len(jobs), n, err)
	}
}
