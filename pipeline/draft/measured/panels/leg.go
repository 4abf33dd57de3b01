package panels

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/tree"
)

// upper is a leg from its end to the bust point. A curved one leaves its edge square and arrives along
// the lower part; each leg is the seam's own line turned about the bust point, so that both stay equal.
func (w *princess) upper(across, mid, low, end orb.Point) curve.Curve {
	if !w.curved {
		return curve.Curve{curve.LineSeg(end, w.x)}
	}
	arrive := geom.Unit(geom.Sub(low, w.x))
	leave := geom.Left(across)
	if geom.Dot(leave, geom.Sub(w.x, mid)) < 0 {
		leave = geom.Mul(leave, -1)
	}
	base := curve.Pulled(mid, w.x, leave, arrive, geom.Dist(mid, w.x)*curve.ArmShare(leave, arrive))
	u, v := geom.Sub(mid, w.x), geom.Sub(end, w.x)
	k := geom.Norm(v) / geom.Norm(u)
	m := geom.Translate(w.x[0], w.x[1]).After(geom.Scale(k, k)).After(geom.Rotate(math.Atan2(geom.Cross(u, v), geom.Dot(u, v)))).After(geom.Translate(-w.x[0], -w.x[1]))
	base = base.Apply(m)
	base.To = w.x
	return curve.Curve{base}
}

// lower is a leg from the bust point to its end, half of what is taken away from the seam's line at
// each level. Between them it is an even curve that never reaches past a level's width (cubics with
// the slopes of Fritsch and Carlson's method for monotone data). Side is that of the panel's cloth.
func (w *princess) lower(low, end orb.Point, side float64) curve.Curve {
	if len(w.levels) == 0 {
		return curve.Curve{curve.LineSeg(w.x, end)}
	}
	u := geom.Unit(geom.Sub(low, w.x))
	n := geom.Left(u)
	off := geom.Dot(geom.Sub(end, w.x), n)
	ss, hs := []float64{0}, []float64{0}
	for _, l := range w.levels {
		ss, hs = append(ss, l.s), append(hs, side*l.take/2)
	}
	ss, hs = append(ss, geom.Dot(geom.Sub(end, w.x), u)), append(hs, off)
	k := len(ss) - 1
	secant := make([]float64, k)
	for i := range k {
		secant[i] = (hs[i+1] - hs[i]) / (ss[i+1] - ss[i])
	}
	slope := make([]float64, k+1)
	slope[0], slope[k] = secant[0], secant[k-1]
	for i := 1; i < k; i++ {
		if a, b := secant[i-1], secant[i]; a*b > 0 {
			slope[i] = 2 * a * b / (a + b)
		}
	}
	at := func(s, h float64) orb.Point { return geom.Add(w.x, geom.Add(geom.Mul(u, s), geom.Mul(n, h))) }
	var out curve.Curve
	for i := range k {
		third := (ss[i+1] - ss[i]) / 3
		out = append(out, curve.CubicSeg(at(ss[i], hs[i]), at(ss[i]+third, hs[i]+slope[i]*third), at(ss[i+1]-third, hs[i+1]-slope[i+1]*third), at(ss[i+1], hs[i+1])))
	}
	out[0].From, out[k-1].To = w.x, end
	return out
}

// ends are the places to which both legs are carried so that they are equal. The two below levels are
// each other's mirror image in the seam's line.
func (w *princess) ends(a, b, low orb.Point, below bool) [2]orb.Point {
	if below && len(w.levels) > 0 {
		u := geom.Unit(geom.Sub(low, w.x))
		n := geom.Left(u)
		va, vb := geom.Sub(a, w.x), geom.Sub(b, w.x)
		s := math.Max(geom.Dot(va, u), geom.Dot(vb, u))
		h := (geom.Dot(va, n) - geom.Dot(vb, n)) / 2
		at := func(h float64) orb.Point { return geom.Add(w.x, geom.Add(geom.Mul(u, s), geom.Mul(n, h))) }
		return [2]orb.Point{at(h), at(-h)}
	}
	long := math.Max(geom.Dist(w.x, a), geom.Dist(w.x, b))
	to := func(q orb.Point) orb.Point { return geom.Add(w.x, geom.Mul(geom.Unit(geom.Sub(q, w.x)), long)) }
	return [2]orb.Point{to(a), to(b)}
}

// join makes the legs to two cut edges equal, and the edges run on into one another when sewn. Each
// edge runs away from the seam; leg gives the leg that ends at a place, toward the bust point.
func (w *princess) join(a, b *curve.Curve, ends [2]orb.Point, leg func(k int, end orb.Point) curve.Curve) tree.Truing {
	var t tree.Truing
	legs := [2]orb.Point{leg(0, ends[0])[0].Dir(0), leg(1, ends[1])[0].Dir(0)}
	t.Carried = [2]float64{geom.Dist(ends[0], a.Start()), geom.Dist(ends[1], b.Start())}
	one, two := (*a)[0], (*b)[0]
	if w.pointed {
		one, two = curve.CarriedTo(one, ends[0]), curve.CarriedTo(two, ends[1])
	} else {
		t.Turned = curve.TrueAcross(&one, &two, ends, legs)
	}
	*a, *b = a.With(0, one), b.With(0, two)
	return t
}

// raise carries the upper end of the side panel's leg on by the ease, so that the panel is longer there
// and not wider. A straight edge is moved as it is, and the one behind it bent to meet it; a curved one
// is bent itself. First tells whether the edge is the panel's first one or its last.
func (w *princess) raise(leg curve.Curve, edges side, first bool) orb.Point {
	up := geom.Mul(geom.Sub(leg.Start(), w.x), w.ease/leg.Length())
	top, next := len(edges)-1, len(edges)-2
	if first {
		top, next = 0, 1
	}
	turned := func(c curve.Curve) curve.Curve { // so that it runs away from the seam
		if first {
			return c
		}
		return c.Reversed()
	}
	c, end := turned(edges[top].Curve), geom.Add(leg.Start(), up)
	if s := c[0]; s.Cubic || s.IsArc() {
		edges[top].Curve = turned(c.With(0, curve.CarriedTo(s, end)))
		return end
	}
	c = c.Apply(geom.Translate(up[0], up[1]))
	edges[top].Curve = turned(c)
	n := turned(edges[next].Curve)
	edges[next].Curve = turned(n.With(0, curve.CarriedTo(n[0], c.End())))
	return end
}

// eased rounds the seam of the side panel between its notches, which stand farther apart by the ease.
// The fullness sits at the bust point, where the edge stands along the chord between the notches.
func (w *princess) eased(upper, lower curve.Curve, edges []curve.Edge) curve.Curve {
	up, down := upper.Length()-w.ease, lower.Length()
	if w.above <= 0 || w.below <= 0 || w.above >= up || w.below >= down {
		w.parser.Unfit(0, fmt.Sprintf("the ease runs from %s above to %s below, and the seam is %s long above and %s below", w.parser.Say(w.above), w.parser.Say(w.below), w.parser.Say(up), w.parser.Say(down)), "ease it nearer to the bust point")
		return upper
	}
	pa, pb := upper.PlaceAt(up-w.above), lower.PlaceAt(w.below)
	a, b := upper[pa.Index].At(pa.T), lower[pb.Index].At(pb.T)
	along := geom.Unit(geom.Sub(b, a))
	n := geom.Left(along)
	var mid orb.Point
	for _, ed := range edges {
		mid = geom.Add(mid, geom.Mul(ed.Curve.Start(), 1/float64(len(edges))))
	}
	if geom.Dot(n, geom.Sub(mid, w.x)) > 0 {
		n = geom.Mul(n, -1)
	}
	bend := func(by float64) curve.Curve {
		x := geom.Add(w.x, geom.Mul(n, by))
		return curve.Curve{
			curve.Pulled(a, x, upper[pa.Index].Dir(pa.T), along, geom.Dist(a, x)/3),
			curve.Pulled(x, b, along, lower[pb.Index].Dir(pb.T), geom.Dist(x, b)/3),
		}
	}
	want := w.above + w.below + w.ease
	lo, hi := geom.Halve(-math.Abs(geom.Cross(along, geom.Sub(w.x, a))), w.above+w.below, 200, func(by float64) bool { return bend(by).Length() < want })
	out := append(upper.Between(curve.Place{Index: 0, T: 0}, pa), bend((lo+hi)/2)...)
	return append(out, lower.Between(pb, curve.Place{Index: len(lower) - 1, T: 1})...)
}
