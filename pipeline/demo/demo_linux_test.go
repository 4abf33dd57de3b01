package demo

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// The demo lets its cutter's job go by itself, and the history says so.
func TestDemoDoesNotSayThatAPersonReleased(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	defer cancel()
	d, err := New(ctx, filepath.Join(t.TempDir(), "demo"), &strings.Builder{})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	if err := d.Drop(); err != nil {
		t.Fatal(err)
	}
	if err := d.Watch(ctx, true); err != nil {
		t.Fatal(err)
	}
	jobs, err := d.shop.Jobs().Jobs(ctx, ledger.Filter{Device: demoCutter})
	if err != nil || len(jobs) == 0 {
		t.Fatalf("%d jobs, %v", len(jobs), err)
	}
	for _, j := range jobs {
		events, err := d.shop.Jobs().Events(ctx, j.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			if e.Kind == "release" && (strings.Contains(e.Text, "person") || !strings.Contains(e.Text, "demo")) {
				t.Errorf("job %d: %q", j.ID, e.Text)
			}
		}
	}
}

// TestDamagedRowDoesNotEndTheDemo: a damaged line of one job is told, and the demo runs on.
func TestDamagedRowDoesNotEndTheDemo(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	dir := filepath.Join(t.TempDir(), "demo")
	said := &strings.Builder{}
	d, err := New(ctx, dir, said)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	if err := os.WriteFile(filepath.Join(dir, "inbox", demoCutter, "leaf.svg"), samples.Read("leaf-crown.svg"), 0o644); err != nil {
		t.Fatal(err)
	}
	for {
		if jobs, err := d.shop.Jobs().Jobs(ctx, ledger.Filter{States: []ledger.State{ledger.Held}}); err != nil {
			t.Fatal(err)
		} else if len(jobs) == 1 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	found, err := filepath.Glob(filepath.Join(dir, "store", "ledger*.db"))
	if err != nil || len(found) != 1 {
		t.Fatalf("%v, %v", found, err)
	}
	db, err := sql.Open("sqlite", found[0])
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "UPDATE jobs SET file = 'leaf2'"); err != nil {
		t.Fatal(err)
	}
	short, end := context.WithTimeout(ctx, time.Second)
	defer end()
	if err := d.Watch(short, true); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("the demo ended: %v", err)
	}
	if n := strings.Count(said.String(), "job 1    stands still: its line in the ledger is not what was written: bring the ledger back from a copy"); n != 1 {
		t.Errorf("told %d times: %s", n, said)
	}
	if err := d.summary(ctx); err != nil {
		t.Error(err)
	}
}

// TestFileIsTakenOver: at the signal the demo takes its workroom file over, and keeps the old one where that has a fault.
func TestFileIsTakenOver(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	read, said := io.Pipe()
	lines := bufio.NewScanner(read)
	d, err := New(ctx, filepath.Join(t.TempDir(), "demo"), said)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	signals := make(chan os.Signal)
	go d.Reread(ctx, signals)
	text, err := os.ReadFile(d.room.File)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ units, says string }{{"in", "the workroom file is taken over"}, {"furlong", "is not taken over"}} {
		changed := strings.Replace(string(text), "\nunits: mm", "\nunits: "+c.units, 1)
		if err := os.WriteFile(d.room.File, []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
		signals <- syscall.SIGHUP
		if !lines.Scan() || !strings.Contains(lines.Text(), c.says) || d.shop.Room().Units != "in" {
			t.Errorf("%s: %q, and %s is in force", c.units, lines.Text(), d.shop.Room().Units)
		}
	}
}
