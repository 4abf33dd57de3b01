package darts

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Flare is what a flare's sentence says.
type Flare struct {
	gain     float64
	Top, Hem string
	count    int
	Parser   *tree.Parser
}

// ReadFlare reads "12 at hem, hung from waist, 6 slashes".
func ReadFlare(d *drafting.Drawing) Flare {
	p := tree.NewParser(FlareEntry(d).Sentence, d.Scope)
	f := Flare{gain: tree.Now(p, p.Sum()), Parser: p}
	p.Want("at", " and the edge that is to be wider")
	hem := EdgeNamed(d, p)
	p.Sign(',')
	p.Want("hung from", " and the edge that keeps its length")
	top := EdgeNamed(d, p)
	p.Sign(',')
	at := p.At
	count := tree.Now(p, p.Sum())
	if p.TakeAny("slashes", "slash") == "" {
		p.Fail(p.At, p.Seen()+" is not understood", "say in how many slashes")
	}
	p.End()
	n := len(d.Edges)
	switch {
	case f.gain <= 0:
		p.FailUnfit(0, "a flare of "+sentence.FormatNumber(f.gain), "a flare is more than 0")
	case count < 1 || count > 99 || count != float64(int(count)):
		p.Fail(at, sentence.FormatNumber(count)+" slashes", "say a whole number")
	case (top+1)%n == hem && (hem+1)%n == top || top == hem:
		p.Fail(0, "the flare wants two edges with a side between them", "")
	}
	f.Top, f.Hem, f.count = d.Edges[top].Name, d.Edges[hem].Name, int(count)
	return f
}

// Parts are where the slashes begin, in parts of the upper edge.
func (f Flare) Parts() []float64 {
	var out []float64
	for i := range f.count {
		out = append(out, (float64(i)+0.5)/float64(f.count))
	}
	return out
}

// Spread flares a drawing by slashing. The piece hangs from one edge, which keeps its length; at each
// slash it is opened by an equal share, measured along the arc about the slash's upper end, so that
// the other edge gains what was said.
func (s *Ring) Spread(f Flare, parts []float64) {
	top, hem := curve.IndexOf(s.Edges, f.Top), curve.IndexOf(s.Edges, f.Hem)
	if top < 0 || hem < 0 || len(parts) == 0 {
		return // the panel has no part of them
	}
	c1, c2 := s.Edges[top].Curve, s.Edges[hem].Curve
	var hinges, feet []curve.Place
	for _, part := range parts {
		h, g := PlaceOnCloth(c1, part*ClothLength(c1)), PlaceOnCloth(c2, (1-part)*ClothLength(c2))
		s.clear(f.Parser, "a slash of the flare", c1[h.Index].At(h.T), c2[g.Index].At(g.T), -1)
		hinges, feet = append(hinges, h), append(feet, g)
	}
	s.slashed(top, hem, hinges, feet, s.hang(c1, c2, hinges, feet, f.gain/float64(f.count), s.restsBehind(top, hem)))
	s.Last = f.Parser.Sentence
}

// restsBehind tells whether what lies behind the first edge's end stays where it is: it holds the fold,
// or lies nearer to the centre.
func (s *Ring) restsBehind(top, hem int) bool {
	n := len(s.Edges)
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		if s.Edges[i].Fold {
			return true
		}
	}
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		if s.Edges[i].Fold {
			return false
		}
	}
	return s.Edges[top].Curve.End()[0] < s.Edges[top].Curve.Start()[0]
}

// hang gives each part between two slashes its place: each is turned about the upper end of the slash.
func (s *Ring) hang(c1, c2 curve.Curve, hinges, feet []curve.Place, opening float64, restsBehind bool) []geom.Affine {
	n := len(hinges)
	maps := make([]geom.Affine, n+1)
	turn := func(i int, sense float64) geom.Affine {
		h := c1[hinges[i].Index].At(hinges[i].T)
		w := geom.Sub(c2[feet[i].Index].At(feet[i].T), h)
		return turnAbout(h, sense*opening/geom.Norm(w)*curve.Sign(geom.Dot(geom.Left(w), c1[hinges[i].Index].Dir(hinges[i].T))))
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
func (s *Ring) slashed(top, hem int, hinges, feet []curve.Place, maps []geom.Affine) {
	n, k := len(s.Edges), len(hinges)
	c1, c2 := s.Edges[top].Curve, s.Edges[hem].Curve
	edges := append([]curve.Edge(nil), s.Edges...)
	done := map[int]bool{}
	was := make([]curve.Curve, k+1)
	var out1, out2 curve.Curve
	at := curve.Place{Index: 0, T: 0}
	for i := range k + 1 {
		to := curve.Place{Index: len(c1) - 1, T: 1}
		if i < k {
			to = hinges[i]
		}
		part := c1.Between(at, to)
		was[i] = append(was[i], part...)
		out1 = append(out1, s.turn(part, maps[i], done)...)
		at = to
	}
	for i := (top + 1) % n; i != hem; i = (i + 1) % n {
		was[k] = append(was[k], s.Edges[i].Curve...)
		edges[i].Curve = s.turn(s.Edges[i].Curve, maps[k], done)
	}
	at = curve.Place{Index: 0, T: 0}
	for i := k; i >= 0; i-- {
		to := curve.Place{Index: len(c2) - 1, T: 1}
		if i > 0 {
			to = feet[i-1]
		}
		part := c2.Between(at, to)
		was[i] = append(was[i], part...)
		out2 = append(out2, s.turn(part, maps[i], done)...)
		if i > 0 {
			q, h := c2[to.Index].At(to.T), hinges[i-1]
			out2 = append(out2, curve.ArcSeg(maps[i].Apply(q), maps[i-1].Apply(q), maps[i].Apply(c1[h.Index].At(h.T))))
		}
		at = to
	}
	var before curve.Curve
	for i := (hem + 1) % n; i != top; i = (i + 1) % n {
		before = append(before, s.Edges[i].Curve...)
		edges[i].Curve = s.turn(s.Edges[i].Curve, maps[0], done)
	}
	was[0] = append(was[0], before...)
	edges[top].Curve, edges[hem].Curve = out1, out2
	s.Edges = edges
	var parts []sector
	for i, c := range was {
		var pts []orb.Point
		for _, g := range c {
			pts = g.Flatten(append(pts, g.From), 0.01/s.Drawing.Scope.Context.UnitMM)
		}
		parts = append(parts, sector{geom.Path{Points: pts, Closed: true}, maps[i]})
	}
	s.staged(parts)
}

// FlareEntry is the drawing's flare, without a sentence where it has none.
func FlareEntry(d *drafting.Drawing) sentence.Entry {
	for _, x := range d.ShapeEntries {
		if x.Key == "flare" {
			return x
		}
	}
	return sentence.Entry{}
}
