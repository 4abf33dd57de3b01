package ledger

import (
	"crypto/sha256"
	"database/sql/driver"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// sent is a job with two runs, the second of which goes on.
func sent(t *testing.T, l *Ledger) int64 {
	t.Helper()
	id := arrive(t, l, "x").ID
	step := func(state State, send *Send) {
		t.Helper()
		_, err := l.Change(t.Context(), id, func(j *Job) (Step, error) {
			j.State = state
			return Step{Kind: string(state), Send: send}, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	now := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	step(Processing, &Send{No: 1, Began: now, Blocks: 9, Total: 90, Sure: -1, Stroke: -1, Tool: Unknown})
	step(Stopped, &Send{No: 1, Began: now, Ended: now, Blocks: 9, Total: 90, Bytes: 20, Sure: 1, Stroke: 0, Tool: Unknown, End: "stopped"})
	step(Processing, &Send{No: 2, Began: now, First: 2, Blocks: 9, Total: 90, Sure: 1, Stroke: 0, Tool: Unknown})
	return id
}

// TestEachColumnIsSummed: a change of any column of jobs and sends is found, and no progress that is written
// later makes it look right.
func TestEachColumnIsSummed(t *testing.T) {
	l := openTest(t)
	id := sent(t, l)
	if _, err := l.db.Exec("PRAGMA foreign_keys = OFF"); err != nil {
		t.Fatal(err)
	}
	for table, key := range map[string]string{"jobs": "id", "sends": "job"} {
		var names string
		if err := l.db.QueryRow("SELECT group_concat(name) FROM pragma_table_info(?)", table).Scan(&names); err != nil {
			t.Fatal(err)
		}
		for _, column := range strings.Split(names, ",") {
			exec := func(text string) {
				t.Helper()
				if _, err := l.db.Exec(text); err != nil {
					t.Fatal(column, err)
				}
			}
			exec("CREATE TEMP TABLE was AS SELECT * FROM " + table)
			exec(fmt.Sprintf("UPDATE %s SET %[2]s = CASE WHEN typeof(%[2]s) IN ('integer', 'real') THEN %[2]s + 1 ELSE %[2]s || 'x' END WHERE %[3]s = %[4]d AND (%[5]s)",
				table, column, key, id, map[string]string{"jobs": "1", "sends": "no = 2"}[table]))
			if err := l.Progress(t.Context(), id, Send{No: 2, Bytes: 0, Sure: -1, Stroke: -1, Tool: Unknown}); err != nil {
				t.Fatal(err)
			}
			if j, err := l.Job(t.Context(), id); err == nil {
				t.Errorf("%s.%s was changed: %+v", table, column, j)
			}
			if err := l.Check(t.Context()); err != nil {
				t.Error(err)
			}
			exec("DELETE FROM " + table)
			exec("INSERT INTO " + table + " SELECT * FROM was")
			exec("DROP TABLE was")
			if _, err := l.Job(t.Context(), id); err != nil {
				t.Fatalf("%s.%s was brought back: %v", table, column, err)
			}
		}
	}
	if err := l.Progress(t.Context(), id, Send{No: 2, Bytes: 40, Sure: 3, Stroke: 1, Tool: Unknown}); err != nil {
		t.Fatal(err)
	}
	if j, err := l.Job(t.Context(), id); err != nil || j.Send.Sure != 3 || j.Send.Bytes != 40 {
		t.Errorf("%+v, %v", j, err)
	}
}

// TestRunsOfBefore: an earlier run that was changed is told of its job, and so is a last one that is gone.
func TestRunsOfBefore(t *testing.T) {
	l := openTest(t)
	id := sent(t, l)
	for _, damage := range []string{"UPDATE sends SET sure = 2 WHERE no = 1", "DELETE FROM sends WHERE no = 2"} {
		if _, err := l.db.Exec(damage); err != nil {
			t.Fatal(err)
		}
		records, err := l.Records(t.Context(), id-1, 1)
		if err != nil || len(records) != 1 || !strings.Contains(records[0].Job.Fault, "sending") {
			t.Errorf("%s: %+v, %v", damage, records, err)
		}
	}
	if _, err := l.Job(t.Context(), id); !errors.Is(err, ErrRow) || !strings.Contains(err.Error(), "no line of its sending 2") {
		t.Errorf("%v", err)
	}
}

// TestSumOf compares with a sum that is put together by hand (FIPS 180-4 through the standard library): the
// ledgers that stand rely on it.
func TestSumOf(t *testing.T) {
	const text = "n\x00\x00\x00\x00\x00\x00\x00\x00" +
		"i\x00\x00\x00\x00\x00\x00\x00\x08\xff\xff\xff\xff\xff\xff\xff\xff" +
		"t\x00\x00\x00\x00\x00\x00\x00\x03\xc3\xa4b"
	want := sha256.Sum256([]byte(text))
	got, err := sumOf([]driver.Value{nil, int64(-1), "äb"})
	if err != nil || got != hex.EncodeToString(want[:]) {
		t.Errorf("%s, %v", got, err)
	}
	seen := []string{got}
	for _, values := range [][]driver.Value{{"ab", "c"}, {"a", "bc"}, {"abc"}, {"1"}, {int64(1)}, {1.0}, {nil}, {""}, {}} {
		sum, err := sumOf(values)
		if err != nil || slices.Contains(seen, sum) {
			t.Errorf("%v has the sum of others, %v", values, err)
		}
		seen = append(seen, sum)
	}
}

// TestBegunOn: each row that may be of a job that stands on the device, and no other.
func TestBegunOn(t *testing.T) {
	l := openTest(t)
	id := sent(t, l)
	arrive(t, l, "y")
	const dev = "roll-plotter"
	if jobs, err := l.Jobs(t.Context(), Filter{BegunOn: dev}); err != nil || !slices.Equal(numbers(jobs), []int64{id}) {
		t.Fatalf("%v, %v", numbers(jobs), err)
	}
	if jobs, err := l.Jobs(t.Context(), Filter{BegunOn: "knife-table"}); err != nil || len(jobs) > 0 {
		t.Fatalf("%v, %v", numbers(jobs), err)
	}
	for damage, others := range map[string]bool{"device = 'knife-table'": true, "device = 'x'": false, "state = 'processinf'": false,
		"pruning = 1": false, "first = 9": false} {
		change := fmt.Sprintf("UPDATE jobs SET %s WHERE id = %d", damage, id)
		if strings.HasPrefix(damage, "first") {
			change = "UPDATE sends SET " + damage + " WHERE no = 2"
		}
		if _, err := l.db.Exec(change); err != nil {
			t.Fatal(err)
		}
		if _, err := l.Jobs(t.Context(), Filter{BegunOn: dev}); !errors.Is(err, ErrRow) {
			t.Errorf("%s: its device hears %v", damage, err)
		}
		if _, err := l.Jobs(t.Context(), Filter{BegunOn: "knife-table"}); errors.Is(err, ErrRow) != others {
			t.Errorf("%s: another device hears %v", damage, err)
		}
		if _, err := l.db.Exec("UPDATE jobs SET device = 'roll-plotter', state = 'processing', pruning = 0 WHERE id = ?; UPDATE sends SET first = 2 WHERE no = 2", id); err != nil {
			t.Fatal(err)
		}
		if _, err := l.Job(t.Context(), id); err != nil {
			t.Fatal(damage, err)
		}
	}
}

// TestHappenedIsNoPattern: what stands in the text is looked for as it stands.
func TestHappenedIsNoPattern(t *testing.T) {
	l := openTest(t)
	j := arrive(t, l, "x")
	_, err := l.Change(t.Context(), j.ID, func(*Job) (Step, error) {
		return Step{Kind: "said", Text: `backed 100 mm (login anna)`}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]bool{"backed 100 mm": true, "backed%": false, "backed 1_0 mm": false, "backed": false, `%`: false} {
		if is, err := l.Happened(t.Context(), j.Device, "said", text, time.Time{}); err != nil || is != want {
			t.Errorf("%q happened: %v, %v", text, is, err)
		}
	}
}

// TestLookWaits: who reads while the tables are brought up waits for it.
func TestLookWaits(t *testing.T) {
	path := oldLedger(t, 1)
	opened := make(chan error, 1)
	go func() {
		time.Sleep(200 * time.Millisecond)
		l, err := Open(t.Context(), path, nil)
		if err == nil {
			err = l.Close()
		}
		opened <- err
	}()
	l, err := Look(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(l.Close(), <-opened); err != nil {
		t.Error(err)
	}
	empty := filepath.Join(t.TempDir(), "ledger.db")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Look(t.Context(), empty); err == nil || !strings.Contains(err.Error(), "has just begun") {
		t.Errorf("one that nobody brings up: %v", err)
	}
}
