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
	switch {
	case err != nil:
		return nil, "", err
	case w.Refused || len(w.Ready) == 0 || len(w.Lay.Placements) == 0:
		return nil, "", errors.New(cmp.Or(w.Reason, "nothing of it is laid"))
	}
	sum := sha256.Sum256(in.Lay)
	lies, was, unit := w.lies(w.Ticket), w.Lay.LengthUsed, w.Pattern.ReadIn(m.Room.Units)
	l, found := lay.OnMachine(ctx, w.Ready, lies, lay.Options{Time: seek, Best: true, Seed: binary.BigEndian.Uint64(sum[:]), Busy: in.Busy, Progress: in.Shorter, Grid: w.Profile.Plot.Unit})
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	if pattern.Worst(found) == pattern.Error || l.LengthUsed > was-shorter {
		return nil, fmt.Sprintf("none shorter than %s was found in %s", lay.Laid(was, unit), pattern.Minutes(seek.Seconds())), nil
	}
	kept, err := lay.Keep(l, w.Ready, lies)
	return kept, fmt.Sprintf("%s instead of %s", lay.Laid(l.LengthUsed, unit), lay.Laid(was, unit)), err
}

// Laid gives a job's pieces in the lay that is kept with it; nothing is planned. The error is lay.ErrOther where the
// workroom or a measurement has changed since, so that the job would be laid anew.
func (m *Maker) Laid(ctx context.Context, r Request) (*Work, error) {
	if _, ok := m.Room.Devices[r.Device]; !ok {
		return nil, m.Room.NoDevice(r.Device)
	}
	w := &Work{Request: r}
	if !m.makePieces(w, m.measured(r.Device), w.goesOn(ctx)) {
		return w, errors.New(cmp.Or(w.Reason, w.Hold, "nothing of it is laid"))
	}
	var err error
	w.Lay, err = lay.Kept(r.Lay, w.Ready, w.Setup.lies(w.Ticket))
	return w, err
}

// shorter is by how much a lay must be shorter, mm, to replace one that a person may have seen.
const shorter = 1
