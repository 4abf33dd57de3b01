package control

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// ErrNotSaved means that a file of a job is not the one whose sum the ledger holds. Nothing is made of the job, and
// nothing of it is sent.
var ErrNotSaved = errors.New("not what was saved")

// Read reads a file of a job whole and refuses it with ErrNotSaved where its sum is not the ledger's. The bytes that
// it gives are the ones that were compared.
func (d *Jobs) Read(ctx context.Context, job int64, name string) ([]byte, error) {
	saved, err := d.savedFile(ctx, job, name)
	if err != nil {
		return nil, err
	}
	data, err := d.st.Read(job, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, notSaved(job, name, "is missing")
	}
	if err != nil {
		return nil, fmt.Errorf("reading %q of job %d: %w", name, job, err)
	}
	sum := sha256.Sum256(data)
	if int64(len(data)) != saved.Size || hex.EncodeToString(sum[:]) != saved.SHA256 {
		return nil, NotSaved(job, name)
	}
	return data, nil
}

// Program gives the program of a job as it was saved: its bytes, their description, and the bytes that bring the
// machine to rest.
func (d *Jobs) Program(ctx context.Context, job int64) (devices.Program, error) {
	index, err := d.Read(ctx, job, store.ProgramIndex)
	if err != nil {
		return devices.Program{}, err
	}
	data, err := d.Read(ctx, job, store.ProgramBytes)
	if err != nil {
		return devices.Program{}, err
	}
	p, err := store.JoinProgram(index, data)
	if err != nil {
		return devices.Program{}, fmt.Errorf("the stored program of job %d cannot be read (cancel it, then: tracewheel again %d): %w", job, job, err)
	}
	return p, nil
}

// Sendable gives the program of a job that is about to be sent, after it has compared what the program was made of as
// well.
func (d *Jobs) Sendable(ctx context.Context, j ledger.Job) (devices.Program, error) {
	if _, err := d.MadeOf(ctx, j); err != nil {
		return devices.Program{}, err
	}
	return d.Program(ctx, j.ID)
}

// MadeOf reads what a job's program is made of: first the draft, then the ticket, the measure cards and blocks that
// are kept with it, and the lay. The job's line in the ledger holds the lay's sum too, and a lay with another sum is
// refused.
func (d *Jobs) MadeOf(ctx context.Context, j ledger.Job) ([]store.Named, error) {
	files, err := d.led.Files(ctx, j.ID)
	if err != nil {
		return nil, fmt.Errorf("the files of job %d: %w", j.ID, err)
	}
	names := []string{j.Original}
	if j.Ticket != "" {
		names = append(names, j.Ticket)
	}
	for _, f := range files {
		if f.Beside() {
			names = append(names, f.Name)
		}
		if f.Name == ledger.LayFile(j.Lay) && f.SHA256 != j.Lay {
			return nil, notSaved(j.ID, f.Name, "is not the lay of its line in the ledger")
		}
	}
	if name := ledger.LayFile(j.Lay); name != "" {
		names = append(names, name)
	}
	out := make([]store.Named, len(names))
	for i, name := range names {
		data, err := d.Read(ctx, j.ID, name)
		if err != nil {
			return nil, err
		}
		out[i] = store.Named{Name: name, Data: data}
	}
	return out, nil
}

func (d *Jobs) savedFile(ctx context.Context, job int64, name string) (ledger.File, error) {
	files, err := d.led.Files(ctx, job)
	if err != nil {
		return ledger.File{}, fmt.Errorf("the files of job %d: %w", job, err)
	}
	i := slices.IndexFunc(files, func(f ledger.File) bool { return f.Name == name })
	if i < 0 {
		return ledger.File{}, notSaved(job, name, "is not in the ledger")
	}
	return files[i], nil
}

// NotSaved is the answer where a file of a job is not what was saved.
func NotSaved(job int64, name string) error { return notSaved(job, name, "is not what was saved") }

func notSaved(job int64, name, how string) error {
	return &Refusal{Text: fmt.Sprintf("the file %q of job %d %s: bring it back from a copy, or drop the draft again", name, job, how),
		Hint: "tracewheel verify", Cause: ErrNotSaved}
}
