package desk

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// worked is a draft as it was worked out: looked at, and its figures, nil where it cannot be drawn.
type worked struct {
	*making.Work
	figures *figures.Figures
	own     formCard
}

// work works a wish out. Looking and figures are worked out side by side.
func (d *Desk) work(in wish) worked {
	m := d.maker()
	m.MostPoints = pointsDrawn
	r, own := d.request(in)
	out := worked{own: own}
	var figured *figures.Figures
	beside(func() { out.Work = m.Look(r) }, func() { figured, _ = m.BriefOf(r) }) // what is wrong the look tells
	out.figures = figured
	return out
}

// beside runs two functions at once. A panic of either is the caller's, as if they ran one behind the other: in a
// goroutine of its own it would end the program and with it what a machine is being sent.
func beside(first, second func()) {
	done := make(chan any, 1)
	go func() {
		defer func() { done <- recover() }()
		second()
	}()
	first()
	if broken := <-done; broken != nil {
		panic(broken)
	}
}

// remembered keeps what was worked out to compare with: it is the same for each keystroke.
type remembered struct {
	mu   sync.Mutex
	keys [][32]byte
	all  map[[32]byte]worked
}

// rememberedMost is how many are kept; a page compares with one at a time.
const rememberedMost = 8

// before works a wish out, or remembers it.
func (d *Desk) before(in wish) worked {
	in.Before = nil
	text, err := json.Marshal(in)
	if err != nil {
		return d.work(in)
	}
	card, _ := d.card(in.Body) // a card may be changed beside the page
	kept, _ := json.Marshal(card)
	key := sha256.Sum256(append(text, kept...))
	d.was.mu.Lock()
	w, ok := d.was.all[key]
	d.was.mu.Unlock()
	if ok {
		return w
	}
	w = d.work(in)
	d.was.mu.Lock()
	defer d.was.mu.Unlock()
	if d.was.all == nil {
		d.was.all = map[[32]byte]worked{}
	}
	d.was.all[key] = w
	d.was.keys = append(d.was.keys, key)
	if len(d.was.keys) > rememberedMost {
		delete(d.was.all, d.was.keys[0])
		d.was.keys = d.was.keys[1:]
	}
	return w
}

// behind gives a pattern with the pieces of another pale behind its own of the same name, laid upon each other at a
// lettered point; "" or a letter that either lacks takes the drafts' own places.
func behind(now, was *pattern.Pattern, upon string) *pattern.Pattern {
	out := *now
	out.Pieces = slices.Clone(now.Pieces)
	for i := range out.Pieces {
		p := &out.Pieces[i]
		k := slices.IndexFunc(was.Pieces, func(o pattern.Piece) bool { return o.Name == p.Name })
		if k < 0 {
			continue
		}
		o := &was.Pieces[k]
		shift := geom.Identity
		if a, b := letterOf(p, upon), letterOf(o, upon); a != nil && b != nil {
			shift.E, shift.F = a[0]-b[0], a[1]-b[1]
		}
		p.Marks = slices.Clone(p.Marks)
		for _, l := range append(slices.Clone(o.Sew), cutOf(o)...) {
			p.Marks = append(p.Marks, pattern.Mark{Role: pattern.Role(look.Before), Path: l.Apply(shift)})
		}
	}
	return &out
}

func cutOf(p *pattern.Piece) []geom.Path {
	if p.Cut == nil || len(p.Sew) > 0 { // one line tells enough
		return nil
	}
	return []geom.Path{*p.Cut}
}

func letterOf(p *pattern.Piece, letter string) *orb.Point {
	for i := range p.Points {
		if p.Points[i].Text == letter {
			return &p.Points[i].At
		}
	}
	return nil
}

// changesMost is how many numbers that moved are told.
const changesMost = 60

// changes lists the numbers that moved between two drawings: those of the draft, its girths, its edges.
func changes(now, was *figures.Figures) (out []string) {
	if now == nil || was == nil {
		return nil
	}
	tell := func(name string, a, b float64) {
		if math.Abs(a-b) >= 0.0005 && now.Say(a) != now.Say(b) && len(out) < changesMost {
			out = append(out, fmt.Sprintf("%s %s, was %s", name, now.Say(a), now.Say(b)))
		}
	}
	for _, n := range now.Numbers {
		if i := slices.IndexFunc(was.Numbers, func(o figures.NamedNumber) bool { return o.Name == n.Name }); i >= 0 {
			tell(n.Name, n.Value, was.Numbers[i].Value)
		}
	}
	for _, g := range now.Girths {
		if i := slices.IndexFunc(was.Girths, func(o figures.Girth) bool { return o.Name == g.Name }); i >= 0 {
			tell(mustWords(g.Name)+", finished", g.Finished, was.Girths[i].Finished)
		}
	}
	for _, p := range now.Pieces {
		i := slices.IndexFunc(was.Pieces, func(o figures.PieceFigures) bool { return o.Name == p.Name })
		if i < 0 {
			out = append(out, p.Name+" is new")
			continue
		}
		for k, e := range p.Edges {
			if k < len(was.Pieces[i].Edges) && was.Pieces[i].Edges[k].Name == e.Name {
				tell(p.Name+" "+e.Name, e.Worn, was.Pieces[i].Edges[k].Worn)
			}
		}
	}
	for _, p := range was.Pieces {
		if !slices.ContainsFunc(now.Pieces, func(o figures.PieceFigures) bool { return o.Name == p.Name }) {
			out = append(out, p.Name+" is gone")
		}
	}
	return out
}
