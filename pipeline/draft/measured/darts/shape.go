package darts

import (
	"slices"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// shapes are a drawing's darts and its flare as they are read.
type shapes struct {
	darts       []*dartSentence
	inside      []*insideSentence
	flare       *flareSentence
	beforeFlare int  // how many of darts are told before it
	asked       bool // how much they take is being worked out
}

// Read reads the darts and the flare of a drawing, once, and keeps the faults of those that cannot be read.
func Read(d *drafting.Drawing) *shapes {
	if r, ok := d.Shapes.(*shapes); ok {
		return r
	}
	r, e := &shapes{}, d.Scope.Context
	d.Shapes = r
	if d.Outline == nil {
		return r
	}
	for _, x := range d.ShapeEntries {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a sentence", "say leg to point to leg")
			continue
		}
		e.Try(func() {
			switch {
			case x.Key == "flare":
				r.flare, r.beforeFlare = readFlare(d, x), len(r.darts)
			case isInside(x):
				r.inside = append(r.inside, readInside(d, x))
			default:
				r.darts = append(r.darts, readDart(d, x))
			}
		})
	}
	return r
}

// Names lists the darts that are drawn to an edge.
func Names(d *drafting.Drawing) []string {
	var out []string
	for _, x := range d.ShapeEntries {
		if drafting.IsDartKey(x.Key) && !isInside(x) {
			out = append(out, x.Key)
		}
	}
	return out
}

// RingOf is the drawing with its darts moved and its flare opened, in the order in which they are told;
// where a princess seam divides it, the flare waits for the panels. Nil where it is refused.
func RingOf(d *drafting.Drawing) *Ring {
	return drafting.Once(d, &d.Ring, func() *Ring { return drawRing(d, Read(d)) })
}

// taking are the shapes without the darts that have nothing to take, as on a straight body.
func (r *shapes) taking(d *drafting.Drawing) *shapes {
	e := d.Scope.Context
	out := *r
	out.inside, out.darts = nil, nil
	for _, t := range r.inside {
		if !nothing(e, t.takes) {
			out.inside = append(out.inside, t)
		}
	}
	for k, t := range r.darts {
		if !nothing(e, t.takes) {
			out.darts = append(out.darts, t)
			continue
		}
		if k < r.beforeFlare {
			out.beforeFlare--
		}
		for _, o := range r.darts {
			if slices.ContainsFunc(o.moves, func(m moveSentence) bool { return m.into == t.name }) {
				t.parser.Unfit(t.atRune, "the dart takes nothing, and "+sentence.Quote(o.name)+" is moved into it", "move that one to an edge")
				return nil
			}
		}
	}
	return &out
}

// nothing tells of a dart that takes less than half a millimetre, which nobody sews.
func nothing(e *tree.Context, takes tree.Number) bool {
	return takes != nil && takes() < 0.5/e.UnitMM && !e.Blocked()
}

func drawRing(d *drafting.Drawing, r *shapes) *Ring {
	e := d.Scope.Context
	if r = r.taking(d); r == nil || e.Blocked() {
		return nil
	}
	s := &Ring{Drawing: d, Edges: append([]curve.Edge(nil), d.Edges...)}
	for _, t := range r.inside {
		s.Inside = append(s.Inside, t.draw(d))
	}
	for _, x := range r.darts {
		t := x.draw(d)
		if t == nil {
			return nil
		}
		m := &mouth{dart: t, Name: t.name, about: t.about, p: t.p}
		if len(t.moves) == 0 { // it stays, with the cap that is drawn unless more is said
			m.about, m.made = t.p, t.folded != "" || t.short > 0 || t.trued
		}
		s.Mouths = append(s.Mouths, m)
		if t.cap < 0 {
			m.made = true
			s.mouthInEdge(t, len(s.Mouths))
			continue
		}
		s.Edges[t.cap].Curve = markMouth(s.Edges[t.cap].Curve, len(s.Mouths))
	}
	if e.Blocked() {
		return nil
	}
	for m, o := range s.Mouths[:len(r.darts)] { // once all of them are placed along the edges as drawn
		if o.dart.cap < 0 {
			s.evenLegs(o.dart, m)
		}
	}
	for k := range len(r.darts) + 1 {
		if r.flare != nil && r.beforeFlare == k && d.PrincessEntry.Sentence == nil {
			if f := FlareOf(d); f != nil {
				s.Spread(f, f.Parts())
			}
		}
		if e.Blocked() {
			return nil
		}
		if k < len(r.darts) && len(s.Mouths[k].dart.moves) > 0 {
			s.move(s.Mouths[k].dart)
		}
	}
	s.apart()
	return s
}
