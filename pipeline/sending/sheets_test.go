package sending

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// printing is a sender of a workroom in a folder of its own, and what it is given of one draft.
func printing(t *testing.T, change func(*devices.SheetProfile)) (*Sender, *config.Workroom, job.Run) {
	t.Helper()
	room := making.Sample()
	room.Dir = t.TempDir()
	d := room.Devices["office-printer"]
	if change != nil {
		change(&d.Sheets)
	}
	room.Devices["office-printer"] = d
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "office-printer")
	s := New(func() *config.Workroom { return room }, making.New(room).Rest, nil)
	s.Open = func(devices.PortProfile) (devices.Line, error) {
		t.Error("a port is opened")
		return nil, devices.ErrGone
	}
	return s, room, job.Run{Job: 12, Device: "office-printer", Program: w.Program, Attach: func(control.Sending) {},
		Progress: func(control.Progress) {}, Draft: func() (job.Draft, error) { return job.Draft{Job: 12, Name: "apron.svg"}, nil }}
}

// printingTo is printing to a print queue.
func printingTo(t *testing.T, name string) (*Sender, *config.Workroom, job.Run) {
	t.Helper()
	return printing(t, func(p *devices.SheetProfile) { p.Output, p.Queue = devices.ToQueue, name })
}

// TestSheetsIntoFolder: the PDF lies there whole under the job's number, once, also where an earlier sending was cut
// short after it was written; a file of that name which is something else is left as it is.
func TestSheetsIntoFolder(t *testing.T) {
	s, room, in := printing(t, nil)
	file := filepath.Join(room.Dir, "made", "apron-job12.pdf")
	for range 2 { // the second as after a crash
		out := s.Send(t.Context(), in)
		got, err := os.ReadFile(file)
		if err != nil || !bytes.Equal(got, in.Program.Bytes()) || !bytes.HasPrefix(got, []byte("%PDF-")) {
			t.Fatalf("%d bytes, %v", len(got), err)
		}
		if out.State != ledger.Completed || out.Bytes != int64(len(got)) || out.SureBlock != 0 || !strings.Contains(out.Reason, file) {
			t.Errorf("%+v", out)
		}
	}
	if err := os.WriteFile(file, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := s.Send(t.Context(), in)
	if got, _ := os.ReadFile(file); out.State != ledger.Stopped || out.Bytes != 0 || !strings.Contains(out.Reason, "is there already") || string(got) != "mine" {
		t.Errorf("%+v, and the file holds %q", out, got)
	}
	if all, _ := filepath.Glob(filepath.Join(room.Dir, "made", "*")); len(all) != 1 {
		t.Errorf("in the folder lie %v", all)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if out := s.Send(ended, in); out.State != ledger.Stopped {
		t.Errorf("with the program at its end: %+v", out)
	}
	in.Program.Language = devices.HPGL2
	if out := s.Send(t.Context(), in); out.State != ledger.Stopped || !strings.Contains(out.Reason, "made in hpgl2") {
		t.Errorf("made for a plotter: %+v", out)
	}
}
