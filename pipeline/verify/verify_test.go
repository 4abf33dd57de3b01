package verify

import (
	"database/sql"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// spoil alters a ledger as no program does.
func spoil(t testing.TB, dir, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", store.LedgerPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(text); err != nil {
		t.Fatal(err)
	}
}

// TestVerifyNamesEach: one job that cannot be read, or whose history cannot, hides the faults of no other.
func TestVerifyNamesEach(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "store")
	manyJobs(t, dir, atOnce+20)
	if problems := Verify(dir); len(problems) > 0 {
		t.Fatal(problems)
	}
	if err := os.Remove(filepath.Join(dir, "jobs", "510", "original.svg")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "jobs", "9999"), 0o755); err != nil {
		t.Fatal(err)
	}
	spoil(t, dir, `UPDATE jobs SET answers = '{' WHERE id = 9; UPDATE events SET at = 'in May' WHERE job = 7 AND kind = 'made';
		UPDATE jobs SET pruning = 1 WHERE id = 12; `+ledger.SumJobs+"; UPDATE jobs SET pruning = 1 WHERE id = 14; UPDATE sends SET sure = sure - 1 WHERE job = 15")
	var got []string
	for _, p := range Verify(dir) {
		got = append(got, p.String())
	}
	want := []string{"job 7: what the ledger holds of it cannot be read", "job 9: its line in the ledger cannot be read",
		"job 14: its line in the ledger is not what was written", "job 15: what the ledger holds of its sending 1 is not what was written",
		`job 510: its file "original.svg" is missing`, "job 9999: its folder is there"}
	if len(got) != len(want) || !slices.EqualFunc(got, want, strings.HasPrefix) {
		t.Errorf("%s", strings.Join(got, "\n"))
	}
}
