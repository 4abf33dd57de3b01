package measured

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// isFlare tells a flare from a number that is only called so.
func isFlare(x entry) bool {
	if x.key != "flare" || x.s == nil {
		return false
	}
	t := strings.NewReplacer("at least", "", "at most", "").Replace(string(x.s.text)) // bounds of a number
	return strings.Contains(t, "hung from") || strings.Contains(t, "slash") || t != "" && t[0] >= '0' && t[0] <= '9' && strings.Contains(t, " at ")
}

// flareTold is what a flare's sentence says.
type flareTold struct {
	gain     float64
	top, hem string
	count    int
	parser   *parser
}

// readFlare reads "12 at hem, hung from waist, 6 slashes".
func (d *drawing) readFlare() flareTold {
	p := newParser(d.flare().s, d.sc)
	f := flareTold{gain: p.sum(), parser: p}
	p.want("at", " and the edge that is to be wider")
	hem := d.edgeNamed(p)
	p.sign(',')
	p.want("hung from", " and the edge that keeps its length")
	top := d.edgeNamed(p)
	p.sign(',')
	at := p.i
	count := p.sum()
	if p.takeAny("slashes", "slash") == "" {
		p.fail(p.i, p.seen()+" is not understood", "say in how many slashes")
	}
	p.end()
	n := len(d.edges)
	switch {
	case f.gain <= 0:
		p.fail(0, "a flare of "+num(f.gain), "a flare is more than 0")
	case count < 1 || count > 99 || count != float64(int(count)):
		p.fail(at, num(count)+" slashes", "say a whole number")
	case (top+1)%n == hem && (hem+1)%n == top || top == hem:
		p.fail(0, "the flare wants two edges with a side between them", "")
	}
	f.top, f.hem, f.count = d.edges[top].name, d.edges[hem].name, int(count)
	return f
}

// parts are where the slashes begin, in parts of the upper edge.
func (f flareTold) parts() []float64 {
	var out []float64
	for i := range f.count {
		out = append(out, (float64(i)+0.5)/float64(f.count))
	}
	return out
}

// spread flares a drawing by slashing. The piece hangs from one edge, which keeps its length; at each
// slash it is opened by an equal share, measured along the arc about the slash's upper end, so that
// the other edge gains what was said.
func (s *shaping) spread(f flareTold, parts []float64) {
	top, hem := indexOf(s.edges, f.top), indexOf(s.edges, f.hem)
	if top < 0 || hem < 0 || len(parts) == 0 {
		return // the panel has no part of them
	}
	c1, c2 := s.edges[top].c, s.edges[hem].c
	var hinges, feet []place
	for _, part := range parts {
		h, g := c1.onCloth(part*c1.cloth()), c2.onCloth((1-part)*c2.cloth())
		s.clear(f.parser, "a slash of the flare", c1[h.i].at(h.t), c2[g.i].at(g.t), -1)
		hinges, feet = append(hinges, h), append(feet, g)
	}
	s.slashed(top, hem, hinges, feet, s.hang(c1, c2, hinges, feet, f.gain/float64(f.count), s.restsBehind(top, hem)))
	s.last = f.parser.s
}

// restsBehind tells whether what lies behind the first edge's end stays where it is: it holds the fold,
// or lies nearer to the centre.
func (s *shaping) restsBehind(top, hem int) bool {
	n := len(s.edges)
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		if s.edges[i].fold {
			return true
		}
	}
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		if s.edges[i].fold {
			return false
		}
	}
	return s.edges[top].c.end()[0] < s.edges[top].c.start()[0]
}

// hang gives each part between two slashes its place: each is turned about the upper end of the slash.
func (s *shaping) hang(c1, c2 curve, hinges, feet []place, opening float64, restsBehind bool) []geom.Affine {
	n := len(hinges)
	maps := make([]geom.Affine, n+1)
	turn := func(i int, sense float64) geom.Affine {
		h := c1[hinges[i].i].at(hinges[i].t)
		w := geom.Sub(c2[feet[i].i].at(feet[i].t), h)
		return turnAbout(h, sense*opening/geom.Norm(w)*sign(geom.Dot(geom.Left(w), c1[hinges[i].i].dir(hinges[i].t))))
	}
	if restsBehind {
		maps[n] = geom.Identity
		for i := n - 1; i >= 0; i-- {
			maps[i] = maps[i+1].After(turn(i, -1))
		}
		return maps
	}
	maps[0] = geom.Identity
	for i := range n {
		maps[i+1] = maps[i].After(turn(i, 1))
	}
	return maps
}

// slashed puts the parts together; each gap is closed by the arc about its slash's upper end.
func (s *shaping) slashed(top, hem int, hinges, feet []place, maps []geom.Affine) {
	n, k := len(s.edges), len(hinges)
	c1, c2 := s.edges[top].c, s.edges[hem].c
	edges := append([]outlineEdge(nil), s.edges...)
	done := map[int]bool{}
	was := make([]curve, k+1)
	var out1, out2 curve
	at := place{0, 0}
	for i := range k + 1 {
		to := place{len(c1) - 1, 1}
		if i < k {
			to = hinges[i]
		}
		part := c1.between(at, to)
		was[i] = append(was[i], part...)
		out1 = append(out1, s.turn(part, maps[i], done)...)
		at = to
	}
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		was[k] = append(was[k], s.edges[i].c...)
		edges[i].c = s.turn(s.edges[i].c, maps[k], done)
	}
	at = place{0, 0}
	for i := k; i >= 0; i-- {
		to := place{len(c2) - 1, 1}
		if i > 0 {
			to = feet[i-1]
		}
		part := c2.between(at, to)
		was[i] = append(was[i], part...)
		out2 = append(out2, s.turn(part, maps[i], done)...)
		if i > 0 {
			q, h := c2[to.i].at(to.t), hinges[i-1]
			out2 = append(out2, arcSeg(maps[i].Apply(q), maps[i-1].Apply(q), maps[i].Apply(c1[h.i].at(h.t))))
		}
		at = to
	}
	var before curve
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		before = append(before, s.edges[i].c...)
		edges[i].c = s.turn(s.edges[i].c, maps[0], done)
	}
	was[0] = append(was[0], before...)
	edges[top].c, edges[hem].c = out1, out2
	s.edges = edges
	var parts []sector
	for i, c := range was {
		var pts []orb.Point
		for _, g := range c {
			pts = g.flatten(append(pts, g.a), 0.01/s.d.sc.eng.unitMM)
		}
		parts = append(parts, sector{geom.Path{Points: pts, Closed: true}, maps[i]})
	}
	s.staged(parts)
}

// flare is the drawing's flare, without a sentence where it has none.
func (d *drawing) flare() entry {
	for _, x := range d.shapes {
		if x.key == "flare" {
			return x
		}
	}
	return entry{}
}
