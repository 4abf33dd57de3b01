package measured

import (
	"fmt"
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// station is a place to which a share of a dart goes: how many edges behind its own mouth, and where.
type station struct {
	order int
	at    place
	share float64
	into  bool // the place is the mouth of another dart
	as    string
}

// move closes a dart by what is moved and opens it where it goes: the piece is cut from the apex to
// each place and its parts are turned about the apex, so that the angle stays.
func (s *shaping) move(t *dartTold) {
	own := s.mouthOf(t.name)
	cap, n := s.mouthEdge(own), len(s.edges)
	about := s.mouths[own].about
	st := s.stations(t, cap, own)
	a, b := s.edges[cap].c.start(), s.edges[cap].c.end()
	u, v := geom.Sub(a, about), geom.Sub(b, about)
	angle := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	maps := s.turns(cap, about, st, angle)
	s.staged(s.sectorsOf(cap, about, maps, st))
	s.last = t.s
	done := map[int]bool{own + 1: true}
	left := 1.0
	var ring []outlineEdge
	k := 0
	for order := range n - 1 {
		ed := s.edges[(cap+1+order)%n]
		if k < len(st) && st[k].order == order && st[k].into {
			wide := lineSeg(maps[k].Apply(ed.c.start()), maps[k+1].Apply(ed.c.end()))
			wide.mouth = ed.c[0].mouth
			s.mouths[wide.mouth-1].made = true
			done[wide.mouth] = true
			left -= st[k].share
			ed.c = curve{wide}
			k++
		} else {
			var c curve
			at := place{0, 0}
			for ; k < len(st) && st[k].order == order; k++ {
				part := s.turn(ed.c.between(at, st[k].at), maps[k], done)
				if len(part) == 0 {
					t.endOfEdge(ed)
				}
				c = append(c, part...)
				at = st[k].at
				c = append(c, s.opening(t, about, c.end(), maps[k+1].Apply(ed.c[at.i].at(at.t)), st[k].as))
				left -= st[k].share
			}
			part := s.turn(ed.c.between(at, place{len(ed.c) - 1, 1}), maps[k], done)
			if len(part) == 0 {
				t.endOfEdge(ed)
			}
			ed.c = append(c, part...)
		}
		ring = append(ring, ed)
	}
	if left > 1e-9 {
		ed := s.edges[cap]
		g := lineSeg(ring[n-2].c.end(), ring[0].c.start())
		g.mouth = own + 1
		s.mouths[own].made = true
		ed.c = curve{g}
		ring = append(ring, ed)
	} else {
		s.closed = append(s.closed, closing{t, ring[n-2].name, ring[0].name})
	}
	s.edges = ring
}

func (t *dartTold) endOfEdge(ed outlineEdge) {
	t.parser.fail(0, "a dart cannot be moved to the end of the edge "+quote(ed.name), "name a point along the edge, not its end")
}

// opening is the stretch between the two sides of a new mouth, from a to b.
func (s *shaping) opening(t *dartTold, about, a, b orb.Point, as string) seg {
	if as == "flare" {
		return arcSeg(a, b, about)
	}
	if wide := geom.Dist(a, b) * s.d.sc.eng.unitMM; as == "ease" && wide > dartEaseMost {
		t.parser.fail(0, fmt.Sprintf("%s mm of ease at one place: more than %s is not sewn without a pucker", num(wide), num(dartEaseMost)), "move a smaller share, or say as gathers")
	}
	s.mouths = append(s.mouths, &mouth{told: t, name: t.name, about: about, made: true, as: as})
	g := lineSeg(a, b)
	g.mouth = len(s.mouths)
	return g
}

// stations puts the moves in the order in which the outline runs from the dart's mouth, and refuses
// cuts that do not lie in the cloth.
func (s *shaping) stations(t *dartTold, cap, own int) []station {
	n := len(s.edges)
	about := s.mouths[own].about
	what := "the cut along which the " + t.name + " is moved"
	var out []station
	for _, m := range t.moves {
		st := station{share: m.share, as: m.as}
		i := indexOf(s.edges, m.edge)
		if m.into != "" {
			other := s.mouthOf(m.into)
			if i = s.mouthEdge(other); i < 0 {
				t.parser.fail(0, "the "+m.into+" was moved away", "move this dart on a line above that one, or to the same place")
			}
			if o := s.mouths[other]; geom.Dist(o.about, about) > s.d.sc.eng.hair()*10 {
				t.parser.fail(0, fmt.Sprintf("the %s turns about %s and the %s about %s", t.name, spot(about), o.name, spot(o.about)), "say about one and the same point in both")
			}
			st.into = true
		} else {
			if i < 0 {
				t.parser.fail(0, "the edge "+quote(m.edge)+" was the mouth of a dart that is moved", "name another edge")
			}
			if c := s.edges[i].c; c.cloth() == 0 {
				t.parser.fail(0, quote(m.edge)+" is the mouth of another dart", "say moved to "+s.mouths[c[0].mouth-1].name)
			}
			st.at = s.edges[i].c.onCloth(m.l)
			s.clear(t.parser, what, about, s.edges[i].c[st.at.i].at(st.at.t), own)
		}
		st.order = (i - cap - 1 + n) % n
		out = append(out, st)
	}
	sort.SliceStable(out, func(i, j int) bool {
		return out[i].order < out[j].order || out[i].order == out[j].order && before(out[i].at, out[j].at)
	})
	for k := 1; k < len(out); k++ {
		if out[k].into && out[k].order == out[k-1].order {
			t.parser.fail(0, "two shares are moved to one dart", "move them as one")
		}
	}
	return out
}

// turns gives each part between two cuts its turn about the apex. What holds the fold, or else lies
// nearest to the centre, stays.
func (s *shaping) turns(cap int, about orb.Point, st []station, angle float64) []geom.Affine {
	n := len(s.edges)
	rest, least, folded := 0, math.Inf(1), false
	k := 0
	for order := range n - 1 {
		ed := s.edges[(cap+1+order)%n]
		for k < len(st) && st[k].order < order {
			k++
		}
		if x := ed.c.start()[0]; !folded && (ed.fold || x < least-1e-9) {
			rest, least, folded = k, x, ed.fold
		}
	}
	maps, turned := make([]geom.Affine, len(st)+1), make([]float64, len(st)+1)
	for k := range st {
		turned[k+1] = turned[k] + st[k].share*angle
	}
	for k := range maps {
		maps[k] = turnAbout(about, turned[k]-turned[rest])
	}
	return maps
}

func turnAbout(c orb.Point, by float64) geom.Affine {
	return geom.Translate(c[0], c[1]).After(geom.Rotate(by)).After(geom.Translate(-c[0], -c[1]))
}

// sectorsOf are the parts as they lie, each with its turn, for points that are carried along.
func (s *shaping) sectorsOf(cap int, about orb.Point, maps []geom.Affine, st []station) []sector {
	n := len(s.edges)
	var out []sector
	pts := []orb.Point{about, s.edges[cap].c.end()}
	k := 0
	for order := range n - 1 {
		c := s.edges[(cap+1+order)%n].c
		at := place{0, 0}
		flat := func(to place) {
			for _, g := range c.between(at, to) {
				pts = g.flatten(pts, 0.01/s.d.sc.eng.unitMM)
			}
			at = to
		}
		for ; k < len(st) && st[k].order == order; k++ {
			flat(st[k].at)
			out = append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
			pts = []orb.Point{about, c[at.i].at(at.t)}
		}
		flat(place{len(c) - 1, 1})
	}
	return append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
}
