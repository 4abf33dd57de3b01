package reading

import (
	"context"
	"errors"
	"io/fs"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
)

// Tools tells how far the pen or blade of each device has come, by its name; a device of which nothing is known is
// left out.
func Tools(ctx context.Context, room *config.Workroom) (map[string]ledger.Tool, error) {
	led, err := Look(ctx, room)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer led.Close() //nolint:errcheck // only read
	tools := map[string]ledger.Tool{}
	for _, name := range room.DeviceNames() {
		t, err := led.Tool(ctx, name)
		if err != nil {
			return nil, err
		}
		if !t.Since.IsZero() {
			tools[name] = t
		}
	}
	return tools, nil
}
