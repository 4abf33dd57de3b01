package darts

import (
	"fmt"
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// station is a place to which a share of a dart goes: how many edges behind its own mouth, and where.
type station struct {
	order int
	at    curve.Place
	share float64
	into  bool // the place is the mouth of another dart
	as    string
}

// move closes a dart by what is moved and opens it where it goes: the piece is cut from the apex to
// each place and its parts are turned about the apex, so that the angle stays.
func (s *Ring) move(t *drawnDart) {
	e := s.Drawing.Scope.Context
	own := s.MouthOf(t.name)
	cap, n := s.MouthEdge(own), len(s.Edges)
	about := s.Mouths[own].about
	st := s.stations(t, cap, own)
	if e.Blocked() {
		return
	}
	a, b := s.Edges[cap].Curve.Start(), s.Edges[cap].Curve.End()
	u, v := geom.Sub(a, about), geom.Sub(b, about)
	angle := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	maps := s.turns(cap, about, st, angle)
	s.staged(s.sectorsOf(cap, about, maps, st))
	s.Last = t.Sentence
	done := map[int]bool{own + 1: true}
	left := 1.0
	var ring []curve.Edge
	k := 0
	for order := range n - 1 {
		ed := s.Edges[(cap+1+order)%n]
		if k < len(st) && st[k].order == order && st[k].into {
			wide := curve.LineSeg(maps[k].Apply(ed.Curve.Start()), maps[k+1].Apply(ed.Curve.End()))
			wide.Mouth = ed.Curve[0].Mouth
			s.Mouths[wide.Mouth-1].made = true
			done[wide.Mouth] = true
			left -= st[k].share
			ed.Curve = curve.Curve{wide}
			k++
		} else {
			var c curve.Curve
			at := curve.Place{Index: 0, T: 0}
			for ; k < len(st) && st[k].order == order; k++ {
				part := s.turn(ed.Curve.Between(at, st[k].at), maps[k], done)
				if len(part) == 0 {
					t.endOfEdge(ed)
					return
				}
				c = append(c, part...)
				at = st[k].at
				c = append(c, s.opening(t, about, c.End(), maps[k+1].Apply(ed.Curve[at.Index].At(at.T)), st[k].as))
				left -= st[k].share
			}
			part := s.turn(ed.Curve.Between(at, curve.Place{Index: len(ed.Curve) - 1, T: 1}), maps[k], done)
			if len(part) == 0 {
				t.endOfEdge(ed)
				return
			}
			ed.Curve = append(c, part...)
		}
		ring = append(ring, ed)
	}
	if left > 1e-9 {
		ed := s.Edges[cap]
		g := curve.LineSeg(ring[n-2].Curve.End(), ring[0].Curve.Start())
		g.Mouth = own + 1
		s.Mouths[own].made = true
		ed.Curve = curve.Curve{g}
		ring = append(ring, ed)
	} else {
		s.Closed = append(s.Closed, closing{t, ring[n-2].Name, ring[0].Name})
	}
	s.Edges = ring
}

func (t *drawnDart) endOfEdge(ed curve.Edge) {
	t.parser.Refuse(0, "a dart cannot be moved to the end of the edge "+sentence.Quote(ed.Name), "name a point along the edge, not its end")
}

// opening is the stretch between the two sides of a new mouth, from a to b.
func (s *Ring) opening(t *drawnDart, about, a, b orb.Point, as string) curve.Segment {
	if as == "flare" {
		return curve.ArcSeg(a, b, about)
	}
	if e := s.Drawing.Scope.Context; as == "ease" && geom.Dist(a, b)*e.UnitMM > dartEaseMost {
		t.parser.Refuse(0, fmt.Sprintf("%s of ease at one place: more than %s is not sewn without a pucker", e.WithUnit(geom.Dist(a, b)), e.WithUnit(dartEaseMost/e.UnitMM)), "move a smaller share, or say as gathers")
	}
	s.Mouths = append(s.Mouths, &mouth{dart: t, Name: t.name, about: about, made: true, Fullness: as})
	g := curve.LineSeg(a, b)
	g.Mouth = len(s.Mouths)
	return g
}

// stations puts the moves in the order in which the outline runs from the dart's mouth, and refuses
// cuts that do not lie in the cloth.
func (s *Ring) stations(t *drawnDart, cap, own int) []station {
	n := len(s.Edges)
	about := s.Mouths[own].about
	what := "the cut along which the " + t.name + " is moved"
	var out []station
	for _, m := range t.moves {
		st := station{share: m.share, as: m.as}
		i := curve.IndexOf(s.Edges, m.edge)
		if m.into != "" {
			other := s.MouthOf(m.into)
			if i = s.MouthEdge(other); i < 0 {
				t.parser.Refuse(0, "the "+m.into+" was moved away", "move this dart on a line above that one, or to the same place")
				return nil
			}
			if o := s.Mouths[other]; geom.Dist(o.about, about) > s.Drawing.Scope.Context.Hair()*10 {
				t.parser.Refuse(0, fmt.Sprintf("the %s turns about %s and the %s about %s", t.name, t.parser.Where(about), o.Name, t.parser.Where(o.about)), "say about one and the same point in both")
			}
			st.into = true
		} else {
			if i < 0 {
				t.parser.Refuse(0, "the edge "+sentence.Quote(m.edge)+" was the mouth of a dart that is moved", "name another edge")
				return nil
			}
			if c := s.Edges[i].Curve; ClothLength(c) == 0 {
				t.parser.Refuse(0, sentence.Quote(m.edge)+" is the mouth of another dart", "say moved to "+s.Mouths[c[0].Mouth-1].Name)
				return nil
			}
			st.at = PlaceOnCloth(s.Edges[i].Curve, m.l)
			s.clear(t.parser, what, about, s.Edges[i].Curve[st.at.Index].At(st.at.T), own)
		}
		st.order = (i - cap - 1 + n) % n
		out = append(out, st)
	}
	sort.SliceStable(out, func(i, j int) bool {
		return out[i].order < out[j].order || out[i].order == out[j].order && curve.Before(out[i].at, out[j].at)
	})
	for k := 1; k < len(out); k++ {
		if out[k].into && out[k].order == out[k-1].order {
			t.parser.Refuse(0, "two shares are moved to one dart", "move them as one")
		}
	}
	return out
}

// turns gives each part between two cuts its turn about the apex. What holds the fold, or else lies
// nearest to the centre, stays.
func (s *Ring) turns(cap int, about orb.Point, st []station, angle float64) []geom.Affine {
	n := len(s.Edges)
	rest, least, folded := 0, math.Inf(1), false
	k := 0
	for order := range n - 1 {
		ed := s.Edges[(cap+1+order)%n]
		for k < len(st) && st[k].order < order {
			k++
		}
		if x := ed.Curve.Start()[0]; !folded && (ed.Fold || x < least-1e-9) {
			rest, least, folded = k, x, ed.Fold
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
func (s *Ring) sectorsOf(cap int, about orb.Point, maps []geom.Affine, st []station) []sector {
	n := len(s.Edges)
	var out []sector
	pts := []orb.Point{about, s.Edges[cap].Curve.End()}
	k := 0
	for order := range n - 1 {
		c := s.Edges[(cap+1+order)%n].Curve
		at := curve.Place{Index: 0, T: 0}
		flat := func(to curve.Place) {
			for _, g := range c.Between(at, to) {
				pts = g.Flatten(pts, 0.01/s.Drawing.Scope.Context.UnitMM)
			}
			at = to
		}
		for ; k < len(st) && st[k].order == order; k++ {
			flat(st[k].at)
			out = append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
			pts = []orb.Point{about, c[at.Index].At(at.T)}
		}
		flat(curve.Place{Index: len(c) - 1, T: 1})
	}
	return append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
}
