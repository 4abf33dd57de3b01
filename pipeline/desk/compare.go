package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"tracewheel/config"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// worked is the result for a wish: what making saw of it, and its figures, nil where it cannot be drawn.
type worked struct {
	*making.Looked
	drawn   *pattern.Pattern // with its cut lines
	figures *figures.Figures
	own     formCard
}

// work works out a wish, until the context ends.
func (d *Desk) work(ctx context.Context, in wish) worked {
	m := d.makerFor(in)
	m.Done = ctx.Done()
	m.MostPoints = pointsDrawn
	var figured atomic.Pointer[figures.Figures] // a reading that was given up may still be running
	m.Figured = figured.Store
	r, own := d.request(in)
	out := worked{Looked: m.Look(r), own: own}
	out.drawn, out.figures = m.Drawn(out.Looked), figured.Load()
	return out
}

// blocksOf are the drafts that a wish took from, by name, each with its version.
func (d *Desk) blocksOf(in wish, w worked) map[string]string {
	out := map[string]string{}
	h := headOfText(in.Text)
	for _, name := range drafting.SizesOf(&h.From) {
		out[name] = "" // stays "" where it could not be read
	}
	for name, text := range w.Blocks {
		out[name] = folder.VersionOf(text)
	}
	return out
}

// blockVersion is the version of a draft that another one takes from, "" where it is missing.
func (d *Desk) blockVersion(name, of string) string {
	text, err := d.maker().Figuring(making.Request{Name: d.fileOf(of)}).Block(name)
	if err != nil {
		return ""
	}
	return folder.VersionOf(text)
}

// remembered caches the results that drawings are compared with, since they are the same for each keystroke.
type remembered struct {
	mu  sync.Mutex
	all []compared // the newest last
}

// compared is a wish as JSON and its result in a workroom.
type compared struct {
	wish string
	room *config.Workroom
	worked
}

// rememberedMost is the size of the cache; a page compares with one at a time.
const rememberedMost = 8

// before works out a wish, or takes it from the cache. The cache is checked because cards and drafts that it takes
// from may be changed outside the page.
func (d *Desk) before(ctx context.Context, in wish) worked {
	in.Before = nil
	text, err := json.Marshal(in)
	if err != nil {
		return d.work(ctx, in)
	}
	room := d.o.Room()
	d.was.mu.Lock()
	i := slices.IndexFunc(d.was.all, func(k compared) bool { return k.wish == string(text) })
	var had compared
	if i >= 0 {
		had = d.was.all[i]
	}
	d.was.mu.Unlock()
	if i >= 0 && had.room == room && fresh(making.New(room), had.Looked) {
		return had.worked
	}
	w := d.work(ctx, in)
	d.was.mu.Lock()
	defer d.was.mu.Unlock()
	d.was.all = slices.DeleteFunc(d.was.all, func(k compared) bool { return k.wish == string(text) })
	if w.Pattern != nil && ctx.Err() == nil { // a failure may be repaired
		d.was.all = append(d.was.all, compared{string(text), room, w})
	}
	d.was.all = d.was.all[max(0, len(d.was.all)-rememberedMost):]
	return w
}

// fresh reports whether the cards and drafts of a result are unchanged.
func fresh(m *making.Maker, w *making.Looked) bool {
	now := m.Figuring(w.Request)
	same := func(had map[string][]byte, find func(string) ([]byte, error)) bool {
		for name, was := range had {
			if is, err := find(name); err != nil || !bytes.Equal(is, was) {
				return false
			}
		}
		return true
	}
	return same(w.Cards, now.Card) && same(w.Blocks, now.Block)
}

// asOpened is the choice to compare with the page's state when it was opened; with its blank it is not the name of a
// body or card.
const asOpened = " opened"

// openedOr is what a page that was opened before sends, where it can be read; else the present state without its
// display options.
func openedOr(opened string, now wish) string {
	if was := openedWish(opened); was.Name == now.Name && len(was.Text) <= textLimit {
		return opened
	}
	was := wish{Name: now.Name, Text: strings.ReplaceAll(now.Text, "\r\n", "\n"), Body: now.Body}
	if now.Measures != nil {
		was.Kind, was.Unit, was.Measures = now.Kind, now.Unit, now.Measures
	}
	text, _ := json.Marshal(was) // only strings, so it cannot fail
	return string(text)
}

// openedWish reads what openedOr wrote; unreadable text gives an empty wish.
func openedWish(opened string) (w wish) {
	if json.Unmarshal([]byte(opened), &w) != nil {
		return wish{}
	}
	return w
}

// drawsAs reports whether two wishes have the same draft and the same measures.
func (w wish) drawsAs(o wish) bool {
	measured := w.Measures == nil || w.Kind == o.Kind && w.Unit == o.Unit && maps.Equal(w.Measures, o.Measures)
	return w.Text == o.Text && w.Body == o.Body && w.Was == o.Was && (w.Measures == nil) == (o.Measures == nil) && measured
}
