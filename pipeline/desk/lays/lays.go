// Package lays caches one lay of each draft, by a hash of everything it is made of. It takes a maker and a request,
// searches for a lay that is not cached, and knows no page.
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

// The search takes a number of steps, which gives the same lay each time, and no longer than layMost, because a person
// waits. While a device is sent to, the search pauses: then the lay found within busyMost is shown and not cached.
const (
	laySteps = 300
	layMost  = 3 * time.Minute
	busyMost = 3 * time.Second
)

// laysMost is the number of cached lays.
const laysMost = 16

// Kept is the cache. Buying cloth and chalking pieces use the same lay, so that the chalked places are on the cloth
// that was bought.
type Kept struct {
	// Busy tells that a device is sent to; nil for never.
	Busy func() bool

	mu  sync.Mutex
	all []keptLay // the newest last
}

// keptLay is the lay for a hash, in a workroom. A refusal is cached as well.
type keptLay struct {
	sum   string
	room  *config.Workroom
	one   *cloths.Layout
	err   error
	wider *cloths.Layout // the same with other widths, nil until they are asked for
}

// seek runs one search for a lay, and reports whether it was completed or cut short because a device is sent to.
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

// Of gives the lay of a draft, from the cache or a search. The end of the context is an error.
func (k *Kept) Of(ctx context.Context, m *making.Maker, r making.Request) (*cloths.Layout, error) {
	kept, err := k.find(ctx, m, r)
	if err != nil {
		return nil, err
	}
	return kept.one, kept.err
}

// Compared is Of, with the lays at other widths.
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

// find gives the cached lay of a draft, or searches for it.
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
	if err := ctx.Err(); err != nil { // an interrupted search is not complete
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

// keep caches a lay and gives the cached one: of two searches at the same time the first result counts.
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

// sumOf is the hash of a draft, its answers, and the cards and blocks that it takes.
func sumOf(m *making.Maker, r making.Request) (string, error) {
	w := m.Look(r)
	text, err := json.Marshal([]any{m.Unit, r.Name, r.Source, r.Answers, w.Cards, w.Blocks}) // maps are sorted
	sum := sha256.Sum256(text)
	return string(sum[:]), err
}

// Len is the number of cached lays.
func (k *Kept) Len() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return len(k.all)
}
