package returned

import (
	"os"
	"path/filepath"
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
