// Package lays keeps the one lay of each draft that was asked for, by the sum of all that it is made of. It takes a maker
// and a request, seeks what it has not, and knows no page.
package lays

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"slices"
	"sync"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/making"
)

// A lay is sought for so many steps, which gives the same lay each time, and no longer than layMost: somebody waits. While
// a machine is sent to, the search pauses: then what is found within busyMost is shown, and not kept.
const (
	laySteps = 300
	layMost  = 3 * time.Minute
	busyMost = 3 * time.Second
)

// laysMost is how many lays are kept.
const laysMost = 16

// Kept keeps the one lay of each draft that was asked for last, by the sum of all that it is made of. By it cloth is bought and
// pieces are chalked, so that the chalked places lie on the cloth that was bought.
type Kept struct {
	// Busy tells that a machine is sent to; nil for never.
	Busy func() bool

	mu  sync.Mutex
	all []keptLay // the newest last
}

// keptLay is the lay of what has a sum, in a workroom. A refusal is kept as well.
type keptLay struct {
	sum   string
	room  *config.Workroom
	one   *cloths.Layout
	err   error
	wider *cloths.Layout // the same with other widths, nil until they are asked for
}

// seek runs one search of a lay, and tells whether it came to its end or was cut short because a machine is sent to.
func (k *Kept) seek(ctx context.Context, search func(context.Context, cloths.Wish)) (whole bool) {
	most := layMost
	busy := k.Busy != nil && k.Busy()
	if busy {
		most = busyMost
	}
	within, end := context.WithTimeout(ctx, most)
	defer end()
	search(within, cloths.Wish{Unsaid: cloths.UsualWidth, Alone: true, Steps: laySteps, Seed: 1, Busy: k.Busy})
	return !busy || within.Err() == nil
}

// Of gives the lay of a draft, sought where it is not kept. The context's end is the error.
func (k *Kept) Of(ctx context.Context, m *making.Maker, r making.Request) (*cloths.Layout, error) {
	kept, err := k.find(ctx, m, r)
	if err != nil {
		return nil, err
	}
	return kept.one, kept.err
}

// Compared is Of, with what would be laid at other widths.
func (k *Kept) Compared(ctx context.Context, m *making.Maker, r making.Request) (*cloths.Layout, error) {
	kept, err := k.find(ctx, m, r)
	switch {
	case err != nil:
		return nil, err
	case kept.err != nil:
		return kept.one, kept.err
	case kept.wider != nil:
		return kept.wider, nil
	}
	whole := k.seek(ctx, func(ctx context.Context, w cloths.Wish) { kept.wider = kept.one.Compared(ctx, w) })
	if err := ctx.Err(); err != nil || !whole {
		return kept.wider, err
	}
	return k.keep(kept).wider, nil
}

// find gives what is kept of a draft, and seeks it where nothing is.
func (k *Kept) find(ctx context.Context, m *making.Maker, r making.Request) (keptLay, error) {
	sum, err := sumOf(m, r)
	if err != nil {
		return keptLay{}, err
	}
	k.mu.Lock()
	i := k.index(sum, m.Room)
	if i >= 0 {
		defer k.mu.Unlock()
		return k.all[i], nil
	}
	k.mu.Unlock()
	kept := keptLay{sum: sum, room: m.Room}
	whole := k.seek(ctx, func(ctx context.Context, w cloths.Wish) {
		kept.one, kept.err = m.LayFiles(ctx, []making.Request{r}, w)
	})
	if err := ctx.Err(); err != nil { // what was found by then is no whole search
		return keptLay{}, err
	}
	if !whole {
		return kept, nil
	}
	return k.keep(kept), nil
}

func (k *Kept) index(sum string, room *config.Workroom) int {
	return slices.IndexFunc(k.all, func(l keptLay) bool { return l.sum == sum && l.room == room })
}

// keep keeps a lay and gives what is kept: where two sought at once, the lay of the first counts for both.
func (k *Kept) keep(l keptLay) keptLay {
	k.mu.Lock()
	defer k.mu.Unlock()
	if i := k.index(l.sum, l.room); i >= 0 {
		if k.all[i].wider == nil {
			k.all[i].wider = l.wider
		}
		return k.all[i]
	}
	k.all = append(k.all, l)
	k.all = k.all[max(0, len(k.all)-laysMost):]
	return l
}

// sumOf is the sum of a draft, of what was said of it, and of the cards and blocks that it takes.
func sumOf(m *making.Maker, r making.Request) (string, error) {
	w := m.Look(r)
	text, err := json.Marshal([]any{m.Unit, r.Name, r.Source, r.Answers, w.Cards, w.Blocks}) // maps in order
	sum := sha256.Sum256(text)
	return string(sum[:]), err
}

// Len is how many lays are kept.
func (k *Kept) Len() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return len(k.all)
}
