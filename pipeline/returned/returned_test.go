package returned

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
)

// TestFolder: it is named while it is there, and only then.
func TestFolder(t *testing.T) {
	room, j := &config.Workroom{Dir: t.TempDir()}, ledger.Job{ID: 8, File: "apron.svg"}
	room.Folders.Returned = "returned"
	if got := Folder(room, j); got != "" {
		t.Errorf("names %s, which is not there", got)
	}
	want := filepath.Join(room.Dir, "returned", Name(j))
	if err := os.MkdirAll(want, 0o700); err != nil {
		t.Fatal(err)
	}
	if got := Folder(room, j); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestJobOf: the number is found in whatever Name makes, and in nothing else.
func TestJobOf(t *testing.T) {
	for _, file := range []string{"apron.svg", "", "job-job3.dxf", "a-job", string(make([]byte, 300)), "röcke ✂.yaml"} {
		j := ledger.Job{ID: 417, File: file}
		if got := JobOf(Name(j)); got != 417 {
			t.Errorf("%q is of job %d", Name(j), got)
		}
		if got := JobOf(Sheets(j)); got != 417 {
			t.Errorf("%q is of job %d", Sheets(j), got)
		}
	}
	for _, other := range []string{"", "apron", "apron-job", "apron-jobs", "apron-job7x", "-job-3", ".part-x", "apron-job99999999999999999999"} {
		if got := JobOf(other); got != 0 {
			t.Errorf("%q is of job %d", other, got)
		}
	}
}

// TestWhy: sheets are told of while they lie there. In a workroom that was restored, on another machine or after the
// folder was tidied, they do not.
func TestWhy(t *testing.T) {
	room, j := &config.Workroom{Dir: t.TempDir()}, ledger.Job{ID: 8, File: "apron.svg"}
	room.Folders.Made = "made"
	file := filepath.Join(room.Dir, "made", Sheets(j))
	for _, said := range []string{file, filepath.Join("made", Sheets(j))} {
		j.Reason = SheetsLie + said
		if got := Why(room, j); strings.Contains(got, "lie in") || !strings.Contains(got, "not there now: `tracewheel again 8` makes them anew") || !strings.Contains(got, file) {
			t.Errorf("of sheets that are not there: %q", got)
		}
	}
	if err := errors.Join(os.Mkdir(filepath.Dir(file), 0o700), os.WriteFile(file, nil, 0o600)); err != nil {
		t.Fatal(err)
	}
	for _, said := range []string{SheetsLie + file, SheetsLie + filepath.Join("made", Sheets(j)), "the sheets are with the queue", ""} {
		if j.Reason = said; Why(room, j) != said || Why(nil, j) != said {
			t.Errorf("%q becomes %q", said, Why(room, j))
		}
	}
}
