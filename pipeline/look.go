package pipeline

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/trusted"
)

// LookLedger opens a workroom's ledger for reading, beside a daemon or without one. It wraps
// fs.ErrNotExist where there is none yet.
func LookLedger(ctx context.Context, room *config.Workroom) (*ledger.Ledger, error) {
	path := store.LedgerPath(room.Path(room.Folders.Store))
	if _, err := os.Stat(path); err != nil {
		if jobs, _, jerr := store.Look(filepath.Dir(path)).Jobs(); errors.Is(err, fs.ErrNotExist) && jerr == nil && len(jobs) > 0 {
			return nil, fmt.Errorf("the ledger %q is missing, and the store holds %s; %s", path, trusted.JobsSaid(jobs), trusted.WayBack)
		}
		return nil, err
	}
	return ledger.Look(ctx, path)
}
