package measured

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// isFlare tells a flare from a number that is only called so.
func isFlare(x entry) bool {
	return x.key == "flare" && x.s != nil && (strings.Contains(string(x.s.text), "hung from") || strings.Contains(string(x.s.text), "slash"))
}

// spread flares a drawing by slashing: "flare: 12 at hem, hung from waist, 6 slashes". The piece hangs
// from one edge, which keeps its length; at each slash it is opened by an equal share, measured along
// the arc about the slash's upper end, so that the other edge gains what was said.
func (d *drawing) spread() *formed {
	p := &parser{s: d.flare.s, sc: d.sc}
	gain := p.sum()
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
	case gain <= 0:
		p.fail(0, "a flare of "+num(gain), "a flare is more than 0")
	case count < 1 || count > 99 || count != float64(int(count)):
		p.fail(at, num(count)+" slashes", "say a whole number")
	case (top+1)%n == hem && (hem+1)%n == top || top == hem:
		p.fail(0, "the flare wants two edges with a side between them", "")
	}
	c1, c2 := d.edges[top].c, d.edges[hem].c
	k := int(count)
	var hinges, feet []place
	for i := range k {
		part := (float64(i) + 0.5) / count
		hinges, feet = append(hinges, c1.placeAt(part*c1.length())), append(feet, c2.placeAt((1-part)*c2.length()))
	}
	maps := d.hang(c1, c2, hinges, feet, gain/count, d.restsBehind(top, hem))
	return d.slashed(top, hem, hinges, feet, maps)
}

// restsBehind tells whether what lies behind the first edge's end stays where it is: it holds the fold,
// or lies nearer to the centre.
func (d *drawing) restsBehind(top, hem int) bool {
	n := len(d.edges)
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		if d.edges[i].fold {
			return true
		}
	}
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		if d.edges[i].fold {
			return false
		}
	}
	return d.edges[top].c.end()[0] < d.edges[top].c.start()[0]
}

// hang gives each part between two slashes its place: each is turned about the upper end of the slash.
func (d *drawing) hang(c1, c2 curve, hinges, feet []place, opening float64, restsBehind bool) []geom.Affine {
	n := len(hinges)
	maps := make([]geom.Affine, n+1)
	turn := func(i int, sense float64) geom.Affine {
		h := c1[hinges[i].i].at(hinges[i].t)
		w := geom.Sub(c2[feet[i].i].at(feet[i].t), h)
		g := sense * opening / geom.Norm(w) * sign(geom.Dot(geom.Left(w), c1[hinges[i].i].dir(hinges[i].t)))
		return geom.Translate(h[0], h[1]).After(geom.Rotate(g)).After(geom.Translate(-h[0], -h[1]))
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
func (d *drawing) slashed(top, hem int, hinges, feet []place, maps []geom.Affine) *formed {
	n, k := len(d.edges), len(hinges)
	c1, c2 := d.edges[top].c, d.edges[hem].c
	f := &formed{edges: append([]outlineEdge(nil), d.edges...)}
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
		out1 = append(out1, part.apply(maps[i])...)
		at = to
	}
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		was[k] = append(was[k], d.edges[i].c...)
		f.edges[i].c = d.edges[i].c.apply(maps[k])
	}
	at = place{0, 0}
	for i := k; i >= 0; i-- {
		to := place{len(c2) - 1, 1}
		if i > 0 {
			to = feet[i-1]
		}
		part := c2.between(at, to)
		was[i] = append(was[i], part...)
		out2 = append(out2, part.apply(maps[i])...)
		if i > 0 {
			q, h := c2[to.i].at(to.t), hinges[i-1]
			out2 = append(out2, arcSeg(maps[i].Apply(q), maps[i-1].Apply(q), maps[i].Apply(c1[h.i].at(h.t))))
		}
		at = to
	}
	var before curve
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		before = append(before, d.edges[i].c...)
		f.edges[i].c = d.edges[i].c.apply(maps[0])
	}
	was[0] = append(was[0], before...)
	f.edges[top].c, f.edges[hem].c = out1, out2
	f.worn = f.edges
	for i, c := range was {
		var pts []orb.Point
		for _, s := range c {
			pts = s.flatten(append(pts, s.a), 0.01/d.sc.eng.unitMM)
		}
		f.sectors = append(f.sectors, sector{geom.Path{Points: pts, Closed: true}, maps[i]})
	}
	return f
}

// flared is the form of a drawing with a flare; what else would move its parts is refused.
func (d *drawing) flared() *formed {
	if len(d.darts) > 0 || len(d.pleats) > 0 || d.princess.s != nil {
		(&parser{s: d.flare.s, sc: d.sc}).fail(0, fmt.Sprintf("%q has pleats, a dart or a princess seam beside its flare", d.name), "flare a drawing of its own")
	}
	return d.spread()
}
