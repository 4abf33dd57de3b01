package reading

import (
	"context"
	"errors"
	"io/fs"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/stock"
)

// Remnants are those of a workroom that are free for a lay; none where it keeps no stock.
func Remnants(ctx context.Context, room *config.Workroom) ([]ledger.Stock, error) {
	if room.File == "" {
		return nil, nil
	}
	from, err := Look(ctx, room)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	defer from.Close() //nolint:errcheck // only read
	return stock.Free(ctx, from)
}
