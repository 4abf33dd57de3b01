package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// oldLedger is a copy of a ledger that an earlier version of the tables wrote (testdata/README.md).
func oldLedger(t testing.TB, version int) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", fmt.Sprintf("version-%d.db", version)))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "ledger.db")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// dump is every row of the tables that were there before, as SQLite itself prints it.
func dump(t testing.TB, path string, columns map[string]string) []string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var out []string
	for table, cols := range columns {
		if cols == "" {
			if err := db.QueryRow("SELECT group_concat('quote(' || name || ')', '||''|''||') FROM pragma_table_info(?) WHERE name <> 'sum'", table).Scan(&cols); err != nil {
				t.Fatal(err)
			}
			columns[table] = cols
		}
		rows, err := db.Query("SELECT " + cols + " FROM " + table)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var row string
			if err := rows.Scan(&row); err != nil {
				t.Fatal(err)
			}
			out = append(out, table+": "+row)
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			t.Fatal(err)
		}
	}
	slices.Sort(out)
	return out
}

// TestOldLedgers brings a ledger of each earlier version up: every row and column that it had is there
// as it was, each job can be read, and it is written on as a new one is.
func TestOldLedgers(t *testing.T) {
	files, err := filepath.Glob("testdata/version-*.db")
	if err != nil || len(files) == 0 {
		t.Fatalf("%q, %v", files, err)
	}
	for i := range files {
		t.Run(fmt.Sprint(i+1), func(t *testing.T) {
			path := oldLedger(t, i+1)
			columns := map[string]string{"jobs": "", "events": "", "files": "", "sends": "", "counter": ""}
			before := dump(t, path, columns)
			if i+1 < len(steps) {
				if _, err := Look(t.Context(), path); err == nil || !strings.Contains(err.Error(), "tracewheel run") {
					t.Errorf("read before it was brought up: %v", err)
				}
			}
			l, err := Open(t.Context(), path, nil)
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			if after := dump(t, path, columns); !slices.Equal(before, after) {
				t.Errorf("before\n%s\nafter\n%s", strings.Join(before, "\n"), strings.Join(after, "\n"))
			}
			jobs, err := l.Jobs(t.Context(), Filter{})
			if err != nil || len(jobs) != 5 {
				t.Fatalf("%d jobs, %v", len(jobs), err)
			}
			want := map[int64]State{1: Completed, 2: Stopped, 3: Aborted, 4: Held, 6: Processing}
			for _, j := range jobs {
				if j.State != want[j.ID] {
					t.Errorf("job %d is %s", j.ID, j.State)
				}
			}
			if j, err := l.Job(t.Context(), 2); err != nil || j.Sends != 2 || j.Send.Bytes != 5000 || j.Style != "Cloak" || j.File != "cloak \u2702.svg" {
				t.Errorf("%+v, %v", j, err)
			}
			if j, err := l.Job(t.Context(), 4); err != nil || j.AgainOf != 1 || j.Asks != "allowance" || !j.Released {
				t.Errorf("%+v, %v", j, err)
			}
			if err := errors.Join(l.Check(t.Context()), move(l, 2, Canceled)); err != nil {
				t.Error(err)
			}
			files, err := l.Files(t.Context(), 4)
			if err != nil {
				t.Fatal(err)
			}
			if j, err := l.Enter(t.Context(), Arrival{ID: l.Reserve(), Device: "roll-plotter", File: "f.svg", Files: files, Ticket: "original.svg.ticket.yaml"}); err != nil || j.ID != 7 || j.SameAs != 4 {
				t.Errorf("the next job is %+v, %v", j, err)
			}
		})
	}
}

// TestUpgradeSteps: the steps are taken in their order and each once; one that fails leaves the ledger
// as it was before it, and the next opening takes it anew.
func TestUpgradeSteps(t *testing.T) {
	const add, note = "ALTER TABLE jobs ADD COLUMN cloth TEXT NOT NULL DEFAULT ''", "CREATE TABLE cloths (name TEXT); INSERT INTO cloths VALUES ('linen')"
	open := func(path string, steps []string) (*Ledger, error) {
		db, err := open(path, 1, "_pragma=foreign_keys(1)")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		l := newLedger(path, db, db, nil)
		return l, l.upgrade(context.Background(), steps)
	}
	path := oldLedger(t, 1)
	for range 2 {
		_, err := open(path, []string{tables1, add, note + "; INSERT INTO nowhere VALUES (1)"})
		if err == nil || !strings.Contains(err.Error(), "from version 2 to 3") || !strings.Contains(err.Error(), "nowhere") {
			t.Fatalf("a step that fails: %v", err)
		}
	}
	if _, err := open(path, []string{tables1, add, "DELETE FROM jobs WHERE 0; INSERT INTO files VALUES (99, 'x', 1, 'y')"}); err == nil {
		t.Error("a step that leaves a file without its job")
	}
	all := []string{tables1, add, note}
	for range 2 {
		l, err := open(path, all)
		if err != nil {
			t.Fatal(err)
		}
		var version, jobs, cloths int
		if err := l.db.QueryRow("SELECT (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM jobs WHERE cloth = ''), (SELECT count(*) FROM cloths)").Scan(&version, &jobs, &cloths); err != nil {
			t.Fatal(err)
		}
		if version != 3 || jobs != 6 || cloths != 1 {
			t.Errorf("version %d, %d jobs, %d cloths", version, jobs, cloths)
		}
	}
	if _, err := open(path, all[:2]); err == nil || !strings.Contains(err.Error(), "a newer one") {
		t.Errorf("a program that knows fewer steps: %v", err)
	}
	fresh, err := open(filepath.Join(t.TempDir(), "new.db"), all)
	if err != nil {
		t.Fatal(err)
	}
	if v, err := fresh.version(t.Context()); err != nil || v != 3 {
		t.Errorf("a new ledger has version %d, %v", v, err)
	}
}
