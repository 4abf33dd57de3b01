package sending

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
)

// print gives the pages of a job to a sheet printer, or to the folder of what was made.
func (s *Sender) print(ctx context.Context, in job.Run, p devices.Profile) job.Outcome {
	if made := in.Program.Language; made != devices.PDF {
		return stopped(fmt.Sprintf("the job was made in %s, and by the workroom file %s is now a %s: cancel it, then use `again`", made, in.Device, p.Kind), -1)
	}
	draft, err := in.Draft()
	if err != nil {
		return stopped(fmt.Sprintf("the draft cannot be read again: %v", err), -1)
	}
	if ctx.Err() != nil {
		return stopped("the program was asked to end before the first byte", -1)
	}
	if p.Sheets.Output == devices.ToQueue {
		return s.toQueue(ctx, in, draft, p.Sheets)
	}
	told := newWishes()
	if in.Attach(told); told.canceled() {
		return job.Outcome{State: ledger.Canceled, Reason: "canceled by a person before its sheets were written", SureBlock: -1}
	}
	return s.toFolder(in, draft)
}

// toFolder writes the PDF. Its name has the job's number, so that what an interrupted sending wrote is found again. A
// file of that name which is not this job's is never replaced.
func (s *Sender) toFolder(in job.Run, draft job.Draft) job.Outcome {
	room, pdf := s.room(), in.Program.Bytes()
	dir := room.Path(room.Folders.Made)
	file := filepath.Join(dir, returned.Sheets(ledger.Job{ID: in.Job, File: draft.Name}))
	err := saveMade(room, dir, file, pdf)
	if errors.Is(err, fs.ErrExist) {
		old, readErr := readPlain(file)
		if readErr == nil && bytes.Equal(old, pdf) {
			err = nil // an interrupted sending wrote it
		} else {
			return stopped(fmt.Sprintf("%s is there already and is not of this job: move it away, then resume", file), -1)
		}
	}
	if err != nil {
		return stopped(fmt.Sprintf("%v; then resume", err), -1)
	}
	return allSent(in, returned.SheetsLie+file)
}

// readPlain reads a plain file; it follows no link.
func readPlain(file string) ([]byte, error) {
	info, err := os.Lstat(file)
	if err == nil && !info.Mode().IsRegular() {
		err = fs.ErrInvalid
	}
	if err != nil {
		return nil, err
	}
	return os.ReadFile(file)
}

// saveMade writes a file that the workroom's group may read.
func saveMade(room *config.Workroom, dir, file string, pdf []byte) error {
	group, err := store.GroupOf(room.Folders.Group)
	if err != nil {
		return err
	}
	disk := store.Disk{}
	if err := store.NoLink(disk, dir); err != nil {
		return err
	}
	if err := store.MakeShared(disk, dir, group, 0o750); err != nil {
		return store.WithAdvice(err)
	}
	if err := store.SaveNew(disk, file, bytes.NewReader(pdf), store.PrivateFile); err != nil || group == store.NoGroup {
		return err
	}
	return store.WithAdvice(disk.Rights(file, group, 0o640))
}

// allSent is the outcome of a printing of which nothing is left to be done here.
func allSent(in job.Run, reason string) job.Outcome {
	return job.Outcome{State: ledger.Completed, Reason: reason, Bytes: int64(in.Program.Len()), SureBlock: len(in.Program.Blocks) - 1}
}
