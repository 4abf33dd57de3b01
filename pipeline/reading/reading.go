// Package reading reads a workroom's jobs for commands. It takes a workroom, and gives its jobs and what is in the inbox:
// from the ledger, or from the daemon where this user may not open the ledger.
package reading

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/trusted"
)

// Ledger opens a workroom's ledger for reading, whether or not a daemon runs. The error wraps fs.ErrNotExist where there
// is none yet.
func Ledger(ctx context.Context, room *config.Workroom) (*ledger.Ledger, error) {
	st := store.Look(room.Path(room.Folders.Store))
	if jobs, err := st.WithoutLedger(); err != nil {
		return nil, err
	} else if len(jobs) > 0 {
		return nil, fmt.Errorf("the ledger %q is missing or empty, and the store holds %s; %s", st.LedgerPath(), trusted.JobsSaid(jobs), trusted.WayBack)
	}
	return ledger.Look(ctx, st.LedgerPath())
}

// Reader is what commands read of jobs, from the ledger or from the daemon.
type Reader interface {
	Jobs(context.Context, ledger.Filter) ([]ledger.Job, error)
	Job(context.Context, int64) (ledger.Job, error)
	Events(context.Context, int64) ([]ledger.Event, error)
	Happened(ctx context.Context, device, kind, text string, since time.Time) (bool, error)
	Tool(ctx context.Context, device string) (ledger.Tool, error)
	Stock(context.Context) ([]ledger.Stock, error)
	StockHistory(ctx context.Context, material string, remnant int64, most int) ([]ledger.StockEvent, error)
	Close() error
}

// Look opens a workroom's ledger for reading; for a user who may not open it but may speak to the daemon, the daemon reads
// it. The error wraps fs.ErrNotExist where there is no ledger yet.
func Look(ctx context.Context, room *config.Workroom) (Reader, error) {
	dir := room.Path(room.Folders.Store)
	f, err := os.Open(store.LedgerPath(dir))
	if errors.Is(err, fs.ErrPermission) {
		c, derr := remote.Dial(ctx, dir)
		if derr != nil {
			return nil, fmt.Errorf("this user may not read the ledger, and no daemon can be asked: %w; %w", derr, err)
		}
		return c, nil
	}
	if err == nil {
		_ = f.Close() // only asked
	}
	led, err := Ledger(ctx, room)
	if err != nil {
		return nil, err // no Reader that holds a nil ledger
	}
	return led, nil
}

// Untaken lists the files in the inbox that become no job: as the daemon says, or as this user sees them where no daemon
// can be asked.
func Untaken(ctx context.Context, room *config.Workroom) []ledger.Untaken {
	if c, err := remote.Dial(ctx, room.Path(room.Folders.Store)); err == nil {
		defer c.Close() //nolint:errcheck // only asked
		if list, err := c.Untaken(ctx); err == nil {
			return list
		}
	}
	return inbox.Look(store.Disk{}, room.Path(room.Folders.Inbox), room.DeviceNames(), room.Path("drafts"))
}

// Pieces are the pieces of a job that was sent, and how far each surely came: as the daemon says, or by store and ledger
// where no daemon can be asked.
func Pieces(ctx context.Context, room *config.Workroom, id int64) ([]places.Piece, error) {
	dir := room.Path(room.Folders.Store)
	if c, err := remote.Dial(ctx, dir); err == nil {
		defer c.Close() //nolint:errcheck // only asked
		if list, err := c.Pieces(ctx, id); err == nil {
			return list, nil
		}
	}
	led, err := Ledger(ctx, room)
	if err != nil {
		return nil, err
	}
	defer led.Close() //nolint:errcheck // only read
	return control.New(led, store.Look(dir), zap.NewNop(), nil).Pieces(ctx, id)
}

// Draft reads what a job was made from.
func Draft(ctx context.Context, room *config.Workroom, id int64) (job.Draft, error) {
	led, err := Ledger(ctx, room)
	if errors.Is(err, fs.ErrNotExist) {
		return job.Draft{}, fmt.Errorf("there is no job %d", id)
	} else if err != nil {
		return job.Draft{}, err
	}
	defer led.Close() //nolint:errcheck // only read
	j, err := led.Job(ctx, id)
	if err != nil {
		return job.Draft{}, err
	}
	return job.Read(ctx, control.New(led, store.Look(room.Path(room.Folders.Store)), zap.NewNop(), nil), j)
}
