package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/store"
)

// errFiles is a fault of the files of one job. It holds up that job and no other.
var errFiles = errors.New("its files cannot be read")

// ownFiles marks a fault of the disk as one of a job's own file, by errFiles.
func ownFiles(err error) error {
	var of *fs.PathError
	if errors.As(err, &of) && !errors.Is(err, store.ErrFull) {
		return fmt.Errorf("%w: %w", errFiles, err)
	}
	return err
}

// putAside holds a job whose own files cannot be read, so that the next job of its device is made; a person brings the
// files back and releases it. Any other fault is returned, and so is one of the whole store.
func (w *worker) putAside(ctx context.Context, job int64, cause error) error {
	if cause == nil || !errors.Is(cause, errFiles) || ctx.Err() != nil || w.d.jobs.StillThere() != nil {
		return cause
	}
	_, err := w.d.jobs.PutAside(ctx, job, cause.Error())
	if err == nil {
		w.log.Error("put aside, because its files cannot be read", zap.String("stage", "make"), zap.Int64("job", job), zap.Error(cause))
	}
	if control.IsRefusal(err) {
		return nil // a person was faster
	}
	return err
}
