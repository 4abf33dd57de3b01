package darts

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// flareSentence is what a flare's sentence says.
type flareSentence struct {
	gain, count tree.Number
	Top, Hem    string
	Parser      *tree.Parser
}

// Flare is a flare with what its numbers come to.
type Flare struct {
	*flareSentence
	gain  float64
	count int
}

// readFlare reads "12 at hem, hung from waist, 6 slashes".
func readFlare(d *drafting.Drawing, x sentence.Entry) *flareSentence {
	p := tree.NewParser(x.Sentence, d.Scope)
	f := &flareSentence{Parser: p, gain: p.SumWhere(tree.MoreThan0, "a flare of %s", "a flare is more than 0")}
	p.Want("at", " and the edge that is to be wider")
	f.Hem = d.EdgeNamed(p)
	p.Sign(',')
	p.Want("hung from", " and the edge that keeps its length")
	f.Top = d.EdgeNamed(p)
	p.Sign(',')
	f.count = p.SumWhere(func(v float64) bool { return v >= 1 && v <= 99 && v == math.Trunc(v) }, "%s slashes", "say a whole number")
	if p.TakeAny("slashes", "slash") == "" {
		p.Fail(p.At, p.Seen()+" is not understood", "say in how many slashes")
	}
	p.End()
	if f.Top == f.Hem || len(d.EdgeNames()) == 2 {
		p.Fail(0, "the flare wants two edges with a side between them", "")
	}
	return f
}

// FlareOf is the drawing's flare, nil where it has none or that is refused.
func FlareOf(d *drafting.Drawing) *Flare {
	f := Read(d).flare
	if f == nil {
		return nil
	}
	out := &Flare{f, f.gain(), int(f.count())}
	if d.Scope.Context.Blocked() {
		return nil
	}
	return out
}

// Parts are where the slashes begin, in parts of the upper edge.
func (f *Flare) Parts() []float64 {
	var out []float64
	for i := range f.count {
		out = append(out, (float64(i)+0.5)/float64(f.count))
	}
	return out
}

// Spread flares a drawing by slashing. The piece hangs from one edge, which keeps its length; at each
// slash it is opened by an equal share, measured along the arc about the slash's upper end, so that
// the other edge gains what was said.
func (s *Ring) Spread(f *Flare, parts []float64) {
	top, hem := curve.IndexOf(s.Edges, f.Top), curve.IndexOf(s.Edges, f.Hem)
	if top < 0 || hem < 0 || len(parts) == 0 {
		return // the panel has no part of them
	}
	c1, c2 := s.Edges[top].Curve, s.Edges[hem].Curve
	var hinges, feet []curve.Place
	for _, part := range parts {
		h, g := PlaceOnCloth(c1, part*ClothLength(c1)), PlaceOnCloth(c2, (1-part)*ClothLength(c2))
		if s.clear(f.Parser, "a slash of the flare", c1[h.Index].At(h.T), c2[g.Index].At(g.T), -1); s.Drawing.Scope.Context.Blocked() {
			return
		}
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
