package figures

import (
	"cmp"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/pieces"
)

// markInside tells the notches and lines of a piece, each once: a notch at which a line ends is told with the line. The lines
// of pleats, which have one at either end, are told in the order in which a tape passes them; the legs of a dart as one
// line. A place that has letters is told by them too.
func (m *MarkingOut) markInside(pc *pieces.Piece, named []lettered) {
	told := map[int]bool{}
	put := func(text string, q orb.Point) {
		for _, l := range named {
			if geom.Dist(l.at, q) < 10*tiny {
				if !strings.HasSuffix(text, ", from") && !strings.HasSuffix(text, ", to") && !strings.HasSuffix(text, ", "+through) {
					text += " at"
				}
				text += " " + l.name
				m.told[l.name] = true
				break
			}
		}
		m.Inside = append(m.Inside, m.markOut(markRow{edge: text, at: q}))
	}
	where := func(name, way string, q orb.Point) {
		text := name + ", " + way
		if k := pc.NotchAt(q); k >= 0 {
			text += " a notch on " + pc.Edges[pc.Notches[k].Edge].Name
		}
		put(text, q)
	}
	var all []leg
	var places []leg
	for _, l := range pc.MarksInOrder() {
		if l.Place {
			places = append(places, leg{l.Name, l.From, l.To, nil})
			continue
		}
		all = append(all, leg{cmp.Or(l.Name, "line"), l.From, l.To, l.Told})
	}
	lines := inOneStroke(all)
	for _, l := range lines {
		for _, q := range l.at {
			if k := pc.NotchAt(q.Point); k >= 0 && q.way != through {
				told[k] = true
			}
		}
	}
	for k, n := range pc.Notches {
		if !told[k] {
			put("notch on "+pc.Edges[n.Edge].Name, n.At)
		}
	}
	for _, l := range lines {
		for _, q := range l.at {
			where(l.name, q.way, q.Point)
		}
	}
	for _, l := range places {
		put(l.name, geom.Lerp(l.from, l.to, 0.5))
	}
	for _, d := range pc.Drills {
		put("drill mark", d)
	}
}

// through stands before a place between the ends of a curved line.
const through = "through"

// leg is a line that is marked, from one place to another, through others where it is curved.
type leg struct {
	name     string
	from, to orb.Point
	told     []orb.Point
}

// stroke is a line as it is chalked without a break.
type stroke struct {
	name string
	at   []passed
}

// passed is a place of a stroke: from, through or to it.
type passed struct {
	way string
	orb.Point
}

// inOneStroke joins the legs of each dart, which follow one another and end where another begins.
func inOneStroke(all []leg) (out []stroke) {
	same := func(a, b orb.Point) bool { return geom.Dist(a, b) < 10*tiny }
	for len(all) > 0 {
		s := stroke{name: all[0].name}
		n := 1
		for s.name == "dart leg" && n < len(all) && all[n].name == s.name && slices.ContainsFunc(all[:n], func(l leg) bool {
			return same(l.from, all[n].from) || same(l.to, all[n].to) || same(l.from, all[n].to) || same(l.to, all[n].from)
		}) {
			n++
		}
		legs := slices.Clone(all[:n])
		all = all[n:]
		s.at = append(s.at, passed{"from", legs[0].from})
		for end := legs[0].from; len(legs) > 0; {
			k := slices.IndexFunc(legs, func(l leg) bool { return same(l.from, end) })
			if k < 0 {
				if k = slices.IndexFunc(legs, func(l leg) bool { return same(l.to, end) }); k < 0 {
					k, end = 0, legs[0].from
					out = append(out, s)
					s = stroke{name: s.name, at: []passed{{"from", end}}}
				} else {
					l := legs[k]
					l.from, l.to, l.told = l.to, l.from, slices.Clone(l.told)
					slices.Reverse(l.told)
					legs[k] = l
				}
			}
			for _, q := range legs[k].told {
				s.at = append(s.at, passed{through, q})
			}
			end = legs[k].to
			s.at = append(s.at, passed{"to", end})
			legs = slices.Delete(legs, k, k+1)
		}
		out = append(out, s)
	}
	return out
}
