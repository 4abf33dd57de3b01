// Package laid tells what a page shows of a job's drafts: the lay that a machine makes, each cloth with what to buy, and
// the numbers of measured drafts. It takes a job's draft and the workroom and gives words, tables and pictures; one lay is
// sought at a time, and the last ones are kept.
package laid

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// Wish is another width or material for which a person asks what to buy; the zero one asks for none.
type Wish struct {
	Width float64
	// Material is one of the workroom's.
	Material string
	// Cloth is the place of the one cloth that is asked for, counted from 1.
	Cloth int
}

// wishTime bounds the search for a wish, in which a person waits.
const wishTime = 1500 * time.Millisecond

// Lays are what is laid of a job.
type Lays struct {
	// Machine is the lay that is kept with it, nil where there is none or where Unshown says why it is not shown.
	Machine *Sheet
	Unshown string
	// Cloths are those that its drafts name, each laid by itself.
	Cloths   []Sheet
	Garments []string
	// Faults say why no cloth is laid.
	Faults []string
}

// Sheet is a lay on one cloth in words.
type Sheet struct {
	Title, Material        string
	Rules                  []string
	Pieces                 int
	Laid, Used, Buy, Terms string
	Cost, Cut, Paper       string
	InStock                string
	Saves                  []string
	Others                 []Other
	Listed                 []cloths.Listed
	// Picture is an SVG to scale.
	Picture []byte
}

// Several tells whether pieces of several drafts lie on it.
func (s Sheet) Several() bool {
	return slices.ContainsFunc(s.Listed, func(l cloths.Listed) bool { return l.Draft != "" })
}

// Other is another width, and what to buy at it.
type Other struct{ Width, Buy string }

// Cloths works lays out for a workroom's pages.
type Cloths struct {
	Room func() *config.Workroom
	// Busy tells when a search is to pause: nothing may slow a machine that is being sent to.
	Busy func() bool
	// Free lists the remnants that are free for a lay; nil for none.
	Free func(context.Context) ([]ledger.Stock, error)

	lays, numbers gate
	mu            sync.Mutex
	kept          []entry
}

// gate lets one in at a time.
type gate struct {
	once sync.Once
	held chan struct{}
}

func (g *gate) enter(ctx context.Context) (leave func(), err error) {
	g.once.Do(func() { g.held = make(chan struct{}, 1) })
	select {
	case g.held <- struct{}{}:
		return func() { <-g.held }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// entry is what was worked out, newest last.
type entry struct {
	key  string
	room *config.Workroom
	what any
}

// mostKept bounds what is kept: some pages with their pictures.
const mostKept = 24

// KeyOf tells jobs apart whose pages differ: what they are made of is never changed, but answers and the lay are.
func KeyOf(j ledger.Job) string {
	return fmt.Sprint(j.ID, " ", j.SHA256, " ", j.Lay, " ", j.Remnant, " ", j.Answers)
} // fmt sorts a map's keys

// kept gives what was worked out by a key in this workroom, or works it out: one at a time, so that pages take one
// processor at most. Who waits no more leaves its place.
func kept[T any](ctx context.Context, c *Cloths, at *gate, key string, work func(*config.Workroom) (T, error)) (out T, err error) {
	room := c.Room()
	find := func() bool {
		c.mu.Lock()
		defer c.mu.Unlock()
		for _, e := range c.kept {
			if e.key == key && e.room == room {
				out = e.what.(T)
				return true
			}
		}
		return false
	}
	if find() {
		return out, nil
	}
	leave, err := at.enter(ctx)
	if err != nil {
		return out, err
	}
	defer leave()
	if find() {
		return out, nil
	}
	out, err = work(room)
	if err == nil {
		err = ctx.Err() // of a search that was ended nothing is kept
	}
	if err != nil {
		return out, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kept = append(slices.DeleteFunc(c.kept, func(e entry) bool { return e.key == key || e.room != room }), entry{key, room, out})
	if len(c.kept) > mostKept {
		c.kept = slices.Delete(c.kept, 0, len(c.kept)-mostKept)
	}
	return out, nil
}

func (c *Cloths) free(ctx context.Context) ([]ledger.Stock, error) {
	if c.Free == nil {
		return nil, nil
	}
	return c.Free(ctx)
}

// Of are the lays of a job: the one that is kept with it, and the first one of each cloth.
func (c *Cloths) Of(ctx context.Context, key string, read func() (job.Draft, error)) (*Lays, error) {
	free, err := c.free(ctx)
	if err != nil {
		return nil, err
	}
	return kept(ctx, c, &c.lays, fmt.Sprint("lays ", key, free), func(room *config.Workroom) (*Lays, error) {
		in, err := read()
		if err != nil {
			return nil, err
		}
		in.Remnants = free
		m := making.New(room)
		m.Done = ctx.Done()
		out := &Lays{}
		onCloth := false
		if in.Lay != nil {
			onCloth = out.onMachine(ctx, m, in)
		}
		l, w, err := m.LayJob(ctx, in, cloths.Wish{Unsaid: cloths.UsualWidth, Busy: c.Busy})
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, p := range w.Parts {
			name := p.Pattern.Called()
			if p.Ticket.Body != "" {
				name += ", for " + p.Ticket.Body
			}
			out.Garments = append(out.Garments, name)
		}
		if err != nil {
			out.Faults = faults(err, l)
		}
		if err == nil && onCloth && w.Pattern != nil && len(w.Pattern.Cloths) == 0 && len(l.Cloths) == 1 {
			return out, nil // the drafts say nothing of another cloth than the one on the machine
		}
		return out, out.tell(l, w)
	})
}

// With are the cloths of a job, or one of them, at another width or of another material, by the shortest lay found in a
// second or two. Nothing of the job is changed.
func (c *Cloths) With(ctx context.Context, key string, read func() (job.Draft, error), wish Wish) (*Lays, error) {
	free, err := c.free(ctx)
	if err != nil {
		return nil, err
	}
	return kept(ctx, c, &c.lays, fmt.Sprintf("with %s %+v %v", key, wish, free), func(room *config.Workroom) (*Lays, error) {
		in, err := read()
		if err != nil {
			return nil, err
		}
		in.Remnants = free
		m := making.New(room)
		m.Done = ctx.Done()
		l, w, err := m.LayJob(ctx, in, cloths.Wish{Unsaid: cloths.UsualWidth, Width: wish.Width, Material: wish.Material, Only: wish.Cloth, Keeps: keptFree(m, in),
			Time: wishTime, Seed: 1, Alone: true, Busy: c.Busy})
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		out := &Lays{}
		if err != nil {
			out.Faults = faults(err, l)
		}
		return out, out.tell(l, w)
	})
}

// keptFree tells what the job's device keeps free between pieces and along the edges of a material, where it cuts cloth; of
// one that the workroom does not have it is what the job's own wants. A length to buy without it is too short to cut.
func keptFree(m *making.Maker, in job.Draft) func(material string) (gap, margin float64) {
	d, ok := m.Room.Devices[in.Device]
	if !ok || !d.Kind.Cuts() {
		return nil
	}
	device := in.Device
	in.Device = "" // without a device nothing is laid to read it
	own := sync.OnceValue(func() string { return m.Look(in).Ticket.Material })
	return func(material string) (gap, margin float64) {
		if _, is := m.Room.Materials[material]; !is {
			material = own()
		}
		_, lies := m.Room.On(device, material)
		if !lies.Cloth {
			return 0, 0
		}
		return lies.Gap, lies.Margin
	}
}

// onMachine tells the lay that is kept with the job, and whether it is on cloth.
func (out *Lays) onMachine(ctx context.Context, m *making.Maker, in job.Draft) (onCloth bool) {
	w, err := m.Laid(ctx, in)
	if errors.Is(err, lay.ErrOther) {
		out.Unshown = "the workroom file or a calibration has changed since the job was made, and the lay that is kept with it is of the workroom as it was"
		return false
	} else if err != nil {
		out.Unshown = err.Error()
		return false
	}
	name := cmp.Or(w.Ticket.Material, m.Room.Devices[in.Device].Material)
	l := cloths.OnMachine(ctx, name, w.Lay, w.Ready, w.Setup.Material, w.Pattern.ReadIn(m.Room.Units), in.Remnant.No)
	s, err := sheet(l, l.Cloths[0], w.Pattern)
	if err != nil {
		out.Unshown = err.Error()
		return false
	}
	sum := sha256.Sum256(in.Lay)
	s.Cut = hex.EncodeToString(sum[:])[:12]
	if !w.Lay.Material.Cloth {
		s.Paper, s.Buy = "it lies on paper", ""
	}
	out.Machine = &s
	return w.Lay.Material.Cloth
}

func (out *Lays) tell(l *cloths.Layout, w *making.Looked) error {
	of := w.Pattern
	if of == nil {
		of = &pattern.Pattern{}
	}
	for _, c := range slices.Concat(l.Cloths, l.Fit, l.Short) {
		s, err := sheet(l, c, of)
		if err != nil {
			return err
		}
		out.Cloths = append(out.Cloths, s)
	}
	return nil
}

func sheet(l *cloths.Layout, c *cloths.Cloth, of *pattern.Pattern) (s Sheet, err error) {
	s = Sheet{Title: l.Title(c), Material: c.Name, Rules: l.Rules(c), Pieces: len(c.Lay.Placements), Listed: c.Listed(of)}
	if s.Picture, err = l.Picture(c, ".svg"); err != nil || s.Pieces == 0 {
		return s, err
	}
	s.Laid, s.Used = lay.Laid(c.Lay.LengthUsed, l.Unit), fmt.Sprintf("%.1f %%", 100*c.Lay.Efficiency)
	s.InStock, s.Saves = l.InStock(c), l.Saves(c)
	if c.On != 0 {
		s.Title = fmt.Sprintf("%s, remnant %d", s.Title, c.On)
	}
	if c.Bought() {
		s.Buy, s.Terms = lay.Bought(c.ToBuy(), l.Unit), l.Terms(c)
	}
	if c.Price > 0 && c.Bought() {
		s.Cost = fmt.Sprintf("%.2f", l.Cost(c, c.ToBuy()))
	}
	for _, o := range c.Others {
		s.Others = append(s.Others, Other{lay.Across(o.Width, l.Unit), l.AtWidth(c, o)})
	}
	return s, nil
}

// faults say why nothing is laid: of a cloth that is too short with both lengths and what would make it fit.
func faults(err error, l *cloths.Layout) (out []string) {
	for _, f := range l.Findings {
		if f.Severity != pattern.Error {
			continue
		}
		words := strings.TrimPrefix(f.Piece+": ", ": ") + f.Message
		if f.Mend != "" {
			words += "; " + f.Mend
		}
		if !slices.Contains(out, words) {
			out = append(out, words)
		}
	}
	if len(out) == 0 {
		out = []string{err.Error()}
	}
	return out
}
