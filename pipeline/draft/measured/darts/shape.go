package darts

import (
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
)

// RingOf is the drawing with its darts moved and its flare opened, in the order in which they are told;
// where a princess seam divides it, the flare waits for the panels. Worked out once.
func RingOf(d *drafting.Drawing) *Ring {
	if s, ok := d.Ring.(*Ring); ok {
		return s
	}
	s := &Ring{Drawing: d, Edges: append([]curve.Edge(nil), d.Edges...)}
	byName := map[string]*dartSentence{}
	for _, x := range d.ShapeEntries {
		if !drafting.IsDartKey(x.Key) {
			continue
		}
		if x.Sentence == nil {
			d.Scope.Context.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a sentence", "say leg to point to leg")
			panic(sentence.Blocked{})
		}
		if isInside(x) {
			s.Inside = append(s.Inside, readInside(d, x))
			continue
		}
		t := readDart(d, x)
		byName[x.Key] = &t
		m := &mouth{dart: &t, Name: x.Key, about: t.about, p: t.p}
		if len(t.moves) == 0 { // it stays, with the cap that is drawn unless more is said
			m.about, m.made = t.p, t.folded != "" || t.short > 0 || t.trued
		}
		s.Mouths = append(s.Mouths, m)
		if t.cap < 0 {
			m.made = true
			s.mouthInEdge(&t, len(s.Mouths))
			continue
		}
		s.Edges[t.cap].Curve = markMouth(s.Edges[t.cap].Curve, len(s.Mouths))
	}
	for m, o := range s.Mouths { // once all of them are placed along the edges as drawn
		if o.dart.cap < 0 {
			s.evenLegs(o.dart, m)
		}
	}
	for _, x := range d.ShapeEntries {
		switch t := byName[x.Key]; {
		case t != nil && len(t.moves) > 0:
			s.move(t)
		case x.Key == "flare" && d.PrincessEntry.Sentence == nil:
			f := ReadFlare(d)
			s.Spread(f, f.Parts())
		}
	}
	d.Ring = s
	s.apart()
	return s
}
