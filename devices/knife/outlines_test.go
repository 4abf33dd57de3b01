package knife_test

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// garment makes a random closed outline as a reader hands it over: a star-shaped polygon whose
// sides are straight or curved, corners from 5 to 175 degrees included, curves flattened to
// geom.FlattenTol, and some nicks cut inwards from its edge.
func garment(rnd *rand.Rand, at orb.Point, size float64) (outline geom.Path, nicks []geom.Path) {
	n := 3 + rnd.IntN(9)
	var v []orb.Point
	for k := range n {
		a := (float64(k) + 0.8*(rnd.Float64()-0.5)) / float64(n) * 2 * math.Pi
		r := size * (0.25 + 0.75*rnd.Float64())
		if rnd.IntN(5) == 0 {
			r *= 0.3 // a deep, sharp corner, and two sharp ones beside it
		}
		v = append(v, orb.Point{at[0] + r*math.Cos(a), at[1] + r*math.Sin(a)})
	}
	outline = geom.Path{Closed: true}
	add := func(p orb.Point, corner bool) {
		outline.Points, outline.Corners = append(outline.Points, p), append(outline.Corners, corner)
	}
	for k := range v {
		a, b := v[k], v[(k+1)%n]
		l := geom.Dist(a, b)
		side := geom.Left(geom.Unit(geom.Sub(b, a)))
		add(a, true)
		var pts []orb.Point
		switch rnd.IntN(3) {
		case 0: // a French curve
			h := l * 0.25 * (rnd.Float64() - 0.5)
			c1 := geom.Add(geom.Lerp(a, b, 0.3), geom.Mul(side, h))
			c2 := geom.Add(geom.Lerp(a, b, 0.7), geom.Mul(side, h*(rnd.Float64()*2-1)))
			pts = geom.FlattenCubic(nil, a, c1, c2, b, geom.FlattenTol)
		case 1: // a true arc
			c, r, start, sweep := geom.BulgeArc(a, b, 0.4*(rnd.Float64()-0.5))
			if r > 0 {
				u := orb.Point{r * math.Cos(start), r * math.Sin(start)}
				w := orb.Point{-r * math.Sin(start), r * math.Cos(start)}
				pts = geom.FlattenArc(nil, c, u, w, 0, sweep, geom.FlattenTol)
			}
		}
		for _, p := range pts[:max(0, len(pts)-1)] {
			add(p, false)
		}
		if l > 20 && rnd.IntN(2) == 0 {
			near := geom.Lerp(a, b, 0.5)
			if len(pts) > 0 {
				near = pts[len(pts)/2]
			}
			nicks = append(nicks, geom.Path{Points: []orb.Point{near, geom.Lerp(near, at, math.Min(1, 4/geom.Dist(near, at)))}})
		}
	}
	if rnd.IntN(2) == 0 {
		outline = outline.Reversed()
	}
	if rnd.IntN(3) == 0 { // the planner may start anywhere
		k := rnd.IntN(len(outline.Points))
		outline.Points = append(append([]orb.Point(nil), outline.Points[k:]...), outline.Points[:k]...)
		outline.Corners = append(append([]bool(nil), outline.Corners[k:]...), outline.Corners[:k]...)
	}
	return outline, nicks
}

// table is the drag knife of the sample workroom.
func table() devices.Profile {
	p := devices.Default(devices.DragKnife, devices.GCode)
	p.Name, p.Length, p.Width = "knife-table", 1600, 1000
	return p
}

func cutStrokes(outline geom.Path, nicks []geom.Path) []devices.Stroke {
	var out []devices.Stroke
	for _, n := range nicks {
		out = append(out, devices.Stroke{Tool: devices.Knife, Role: "notch", Path: n, Name: "bodice"})
	}
	return append(out, devices.Stroke{Tool: devices.Knife, Role: "cut", Path: outline, Name: "bodice"})
}
