package jobpicture

import (
	"context"
	"sync"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Far is how far the strokes of a job came, counted from 0: the last that surely is made and the last of which anything was
// sent. Nothing is told of a job that was never sent, nor of one that is done or printed.
func (p *Pictures) Far(ctx context.Context, j ledger.Job) (sure, sent int, told bool) {
	if !j.Ready || j.Sends == 0 || j.State == ledger.Completed || p.Kind(j.Device).Prints() {
		return -1, -1, false
	}
	for _, now := range p.Jobs.Now() {
		if now.Job == j.ID {
			sure, sent = Strokes(now)
			return sure, sent, true
		}
	}
	prog, err := p.Jobs.Program(ctx, j.ID)
	if err != nil {
		return -1, -1, false
	}
	return j.Send.Stroke, places.SentTo(prog, j.Send.Bytes), true
}

// allSent stands for the last stroke of any program.
const allSent = 1 << 30

// Strokes are the two of a moment of a job that is being sent, as Far has them.
func Strokes(p control.Progress) (sure, sent int) {
	if p.Total > 0 && p.Bytes >= p.Total {
		return p.Sure, allSent
	}
	return p.Sure, p.Stroke
}

// piecesFar keeps what was worked out last of a job's pieces: many pages ask, and each time the whole program is read.
type piecesFar struct {
	mu sync.Mutex
	of map[int64]farKept
}

type farKept struct {
	at   time.Time
	how  string // whether it ran, stood or was over then
	rows [][2]string
}

// farAnew is how old it may be while a job runs on.
const farAnew = 2 * time.Second

// Rows says how far the pieces of a job came, as words and the pieces' numbers and names; nil where that is not known.
func (p *Pictures) Rows(ctx context.Context, id int64) [][2]string {
	k := &p.far
	k.mu.Lock()
	defer k.mu.Unlock()
	now, how := p.Now(), "over"
	for _, m := range p.Jobs.Now() {
		if m.Job == id {
			how = "runs"
			if m.Person {
				how = "stands"
			}
		}
	}
	if kept, is := k.of[id]; is && kept.how == how && now.Sub(kept.at) < farAnew && !now.Before(kept.at) {
		return kept.rows
	}
	list, err := p.Jobs.Pieces(ctx, id)
	if err != nil {
		return nil
	}
	if k.of == nil || len(k.of) >= shownKept {
		k.of = map[int64]farKept{}
	}
	rows := places.Rows(list)
	k.of[id] = farKept{now, how, rows}
	return rows
}
