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

// worked is a draft as it was worked out: looked at, and its figures, nil where it cannot be drawn.
type worked struct {
	*making.Looked
	drawn   *pattern.Pattern // with its cut lines
	figures *figures.Figures
	own     formCard
}

// work works a wish out, until the context ends.
func (d *Desk) work(ctx context.Context, in wish) worked {
	m := d.makerFor(in)
	m.Done = ctx.Done()
	m.MostPoints = pointsDrawn
	var figured atomic.Pointer[figures.Figures] // a reading that is given up may go on meanwhile
	m.Figured = figured.Store
	r, own := d.request(in)
	out := worked{Looked: m.Look(r), own: own}
	out.drawn, out.figures = m.Drawn(out.Looked), figured.Load()
	return out
}

// blocksOf are the drafts from which a wish took, by their names, each with its version.
func (d *Desk) blocksOf(in wish, w worked) map[string]string {
	out := map[string]string{}
	h := headOfText(in.Text)
	for _, name := range drafting.SizesOf(&h.From) {
		out[name] = "" // unless it was had
	}
	for name, text := range w.Blocks {
		out[name] = folder.VersionOf(text)
	}
	return out
}

// blockVersion is the version of a draft that another one takes from, "" where it is not here.
func (d *Desk) blockVersion(name, of string) string {
	text, err := d.maker().Figuring(making.Request{Name: d.fileOf(of)}).Block(name)
	if err != nil {
		return ""
	}
	return folder.VersionOf(text)
}

// remembered keeps what was worked out to compare with: it is the same for each keystroke.
type remembered struct {
	mu  sync.Mutex
	all []compared // the newest last
}

// compared is a wish as JSON and what came of it in a workroom.
type compared struct {
	wish string
	room *config.Workroom
	worked
}

// rememberedMost is how many are kept; a page compares with one at a time.
const rememberedMost = 8

// before works a wish out, or remembers it. A card or a draft that it takes may be changed beside the page.
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
	if w.Pattern != nil && ctx.Err() == nil { // what it lacks may come
		d.was.all = append(d.was.all, compared{string(text), room, w})
	}
	d.was.all = d.was.all[max(0, len(d.was.all)-rememberedMost):]
	return w
}

// fresh tells whether the cards and the drafts of which a work was made are what they were.
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

// asOpened is the choice to compare with what stood in the page when it was opened: no draft's body and no card is called so.
const asOpened = " opened"

// openedOr is what a page that was opened before brings, where it can be read; else what stands there now, without how it is shown.
func openedOr(opened string, now wish) string {
	if was := openedWish(opened); was.Name == now.Name && len(was.Text) <= textLimit {
		return opened
	}
	was := wish{Name: now.Name, Text: strings.ReplaceAll(now.Text, "\r\n", "\n"), Body: now.Body}
	if now.Measures != nil {
		was.Kind, was.Unit, was.Measures = now.Kind, now.Unit, now.Measures
	}
	text, _ := json.Marshal(was) // texts alone, which can be written
	return string(text)
}

// openedWish reads what openedOr wrote; text that cannot be read gives an empty wish.
func openedWish(opened string) (w wish) {
	if json.Unmarshal([]byte(opened), &w) != nil {
		return wish{}
	}
	return w
}

// drawsAs tells whether two wishes are of the same words and the same measures.
func (w wish) drawsAs(o wish) bool {
	measured := w.Measures == nil || w.Kind == o.Kind && w.Unit == o.Unit && maps.Equal(w.Measures, o.Measures)
	return w.Text == o.Text && w.Body == o.Body && w.Was == o.Was && (w.Measures == nil) == (o.Measures == nil) && measured
}
