package backup

import (
	"context"
	"fmt"
	"io"
	"time"
)

// tellEvery is the time between two lines for people on how far a copy is read.
var tellEvery = 3 * time.Second

// meter reads an archive, stops when its context ends, also in the middle of a file, and says how far it has come.
type meter struct {
	ctx context.Context
	// out takes the lines, doing is what was done with the bytes.
	out   io.Writer
	doing string

	from       io.Reader
	done, size int64
	told       time.Time
}

func (m *meter) Read(p []byte) (int, error) {
	if err := m.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := m.from.Read(p)
	m.done += int64(n)
	if now := time.Now(); now.Sub(m.told) >= tellEvery {
		m.told = now
		fmt.Fprintf(m.out, "%s: %.1f of %.1f MB\n", m.doing, float64(m.done)/1e6, float64(m.size)/1e6)
	}
	return n, err
}
