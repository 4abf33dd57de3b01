package making

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"tracewheel/pipeline/job"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// Better searches a shorter lay for a job than the one that is kept with it, for so long. It gives the lay's bytes, nil
// where none was found, and what happened in words. Each search begins otherwise, so that another one may find more.
func (m *Maker) Better(ctx context.Context, in job.Draft, seek time.Duration) ([]byte, string, error) {
	w, err := m.Make(ctx, in)
	if err != nil {
		return nil, "", err
	}
	made, ok := w.Made()
	if !ok || len(made.Lay.Placements) == 0 {
		return nil, "", errors.New(cmp.Or(w.Reason, "nothing of it is laid"))
	}
	sum := sha256.Sum256(in.Lay)
	lies, was, unit := made.lies(w.Ticket), made.Lay.LengthUsed, w.Pattern.ReadIn(m.Room.Units)
	l, found := lay.OnMachine(ctx, made.Ready, lies, lay.Options{Time: seek, Best: true, Seed: binary.BigEndian.Uint64(sum[:]), Busy: in.Busy, Progress: in.Shorter, Grid: made.Profile.Plot.Unit})
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	if pattern.Worst(found) == pattern.Error || l.LengthUsed > was-shorter {
		return nil, fmt.Sprintf("none shorter than %s was found in %s", lay.Laid(was, unit), pattern.Minutes(seek.Seconds())), nil
	}
	kept, err := lay.Keep(l, made.Ready, lies)
	return kept, fmt.Sprintf("%s instead of %s", lay.Laid(l.LengthUsed, unit), lay.Laid(was, unit)), err
}

// Laid is a job's draft with its pieces where they lie.
type Laid struct {
	Looked
	Setup
	Prepared
	Lay pattern.Lay
}

// Laid gives a job's pieces in the lay that is kept with it; nothing is planned. The error is lay.ErrOther where the
// workroom or a measurement has changed since, so that the job would be laid anew.
func (m *Maker) Laid(ctx context.Context, r Request) (*Laid, error) {
	if _, ok := m.Room.Devices[r.Device]; !ok {
		return nil, m.Room.NoDevice(r.Device)
	}
	out := Laid{Looked: Looked{Request: r}}
	var err error
	var ok bool
	if out.Setup, out.Prepared, ok = m.makePieces(ctx, &out.Looked, m.measured(r.Device)); !ok {
		return nil, errors.New(cmp.Or(out.Reason, out.Hold, "nothing of it is laid"))
	}
	out.Lay, err = lay.Kept(r.Lay, out.Ready, out.lies(out.Ticket))
	return &out, err
}

// shorter is by how much a lay must be shorter, mm, to replace one that a person may have seen.
const shorter = 1
