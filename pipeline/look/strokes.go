package look

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Sizes of what is drawn besides a line or in its place, mm.
const (
	barLength = 4.0 // the bars at the ends of a slit or a buttonhole
	ringSize  = 3.0 // radius of a button, and of the ring round a bust point
	apart     = 3.0 // between the two lines for lengthen or shorten
	waveLong  = 4.0 // wavelength of gathers
	waveHigh  = 1.0 // amplitude of gathers
	waveSteps = 8
	headLong  = 5.0 // of the arrow from a pleat's fold to its placement
	headLean  = 25 * math.Pi / 180
)

// Lines are the lines drawn for one line of a kind, before dashes: mostly the line itself. A slit and a buttonhole
// have bars at their ends, gathers and ease are a wave, an arrow has its head at its end; a button is a ring, and a
// bust point a cross in a ring, round the line's middle.
func Lines(k Kind, p geom.Path) []geom.Path {
	n := len(p.Points)
	if n < 2 || p.Closed || p.Length() < geom.Tiny {
		return []geom.Path{p}
	}
	switch k {
	case Slit, Loop, Buttonhole:
		return []geom.Path{p, bar(p.Points[0], p.Points[1]), bar(p.Points[n-1], p.Points[n-2])}
	case Gathers, Ease:
		return []geom.Path{wave(p)}
	case LengthenHere:
		return []geom.Path{beside(p, apart/2), beside(p, -apart/2)}
	case LaidTo:
		return []geom.Path{p, head(p.Points[n-2], p.Points[n-1])}
	case Button, BustPoint:
		c, along := p.At(p.Length() / 2)
		out := []geom.Path{ring(c)}
		if k == BustPoint {
			out = append(out, bar(c, geom.Add(c, along)), bar(c, geom.Add(c, geom.Left(along))))
		}
		return out
	}
	return []geom.Path{p}
}

func open(points ...orb.Point) geom.Path {
	return geom.Path{Points: points, Corners: make([]bool, len(points))}
}

// bar is a short line across the direction from at to next.
func bar(at, next orb.Point) geom.Path {
	across := geom.Mul(geom.Left(geom.Unit(geom.Sub(next, at))), barLength/2)
	return open(geom.Sub(at, across), geom.Add(at, across))
}

func ring(c orb.Point) geom.Path {
	p := geom.FlattenArc([]orb.Point{{c[0] + ringSize, c[1]}}, c, orb.Point{ringSize, 0}, orb.Point{0, ringSize}, 0, 2*math.Pi, geom.FlattenTol)
	p = p[:len(p)-1] // the arc ends at its start
	return geom.Path{Points: p, Corners: make([]bool, len(p)), Closed: true}
}

// head is an arrow head at b of a line from a.
func head(a, b orb.Point) geom.Path {
	back := geom.Mul(geom.Unit(geom.Sub(a, b)), headLong)
	return open(geom.Add(b, geom.Rotate(headLean).Vector(back)), b, geom.Add(b, geom.Rotate(-headLean).Vector(back)))
}

// beside is the line offset to its left, vertex by vertex, which is exact for a straight one.
func beside(p geom.Path, by float64) geom.Path {
	out := open()
	starts := p.Starts()
	for i, q := range p.Points {
		_, along := p.At(starts[i])
		out.Points = append(out.Points, geom.Add(q, geom.Mul(geom.Left(along), by)))
	}
	out.Corners = make([]bool, len(out.Points))
	return out
}

// wave is a wave about p, with a whole number of periods.
func wave(p geom.Path) geom.Path {
	ruler := p.Ruler()
	waves := math.Max(1, math.Round(ruler.Length()/waveLong))
	steps := int(waves) * waveSteps
	out := open()
	for i := range steps + 1 {
		at, along := ruler.At(ruler.Length() * float64(i) / float64(steps))
		swing := waveHigh * math.Sin(2*math.Pi*float64(i)/waveSteps)
		out.Points = append(out.Points, geom.Add(at, geom.Mul(geom.Left(along), swing)))
	}
	out.Corners = make([]bool, len(out.Points))
	return out
}
