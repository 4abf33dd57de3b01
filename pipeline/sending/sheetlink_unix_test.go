//go:build unix

package sending

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestSheetsThroughNoLink: where the folder of sheets is a link nothing is written behind it, and a name in it that is a
// link is not the job's file, whatever it leads to.
func TestSheetsThroughNoLink(t *testing.T) {
	s, room, in := printing(t, nil)
	outside := t.TempDir()
	made := filepath.Join(room.Dir, "made")
	if err := os.Symlink(outside, made); err != nil {
		t.Fatal(err)
	}
	out := s.Send(t.Context(), in)
	if all, _ := os.ReadDir(outside); out.State != ledger.Stopped || len(all) != 0 || !strings.Contains(out.Reason, "links are not followed: put a folder in its place; then resume") {
		t.Errorf("%+v, and outside lie %v", out, all)
	}
	theirs := filepath.Join(outside, "theirs.pdf")
	err := errors.Join(os.Remove(made), os.Mkdir(made, 0o700), os.WriteFile(theirs, in.Program.Bytes(), 0o600),
		os.Symlink(theirs, filepath.Join(made, "apron-job12.pdf")))
	if err != nil {
		t.Fatal(err)
	}
	if out := s.Send(t.Context(), in); out.State != ledger.Stopped || !strings.Contains(out.Reason, "is there already") {
		t.Errorf("%+v", out)
	}
}
