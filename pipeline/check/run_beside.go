package check

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// runBesideItself looks along a closed line for a run that lies within runGap of another one of it. It
// gives a place of the first such run and its stretch.
func runBesideItself(line *geom.Path) (at orb.Point, segment int, ok bool) {
	spans := nearItself(line)
	if len(spans) == 0 {
		return at, 0, false
	}
	return lookAlong(line, spans)
}

// sampled is how far apart the places looked at lie on a line of length l, mm.
func sampled(l float64) float64 { return math.Max(stepMM, l/mostSamples) }

// lookAlong looks for a run in some spans of the line, each from and to along it.
func lookAlong(line *geom.Path, spans [][2]float64) (at orb.Point, segment int, ok bool) {
	ruler := line.Ruler()
	l := ruler.Length()
	step := sampled(l)
	inside := 1.0
	if line.SignedArea() < 0 {
		inside = -1
	}
	ix := geom.NewIndex(*line)
	for _, side := range []struct{ way, run float64 }{{inside, tongueRun}, {-inside, slitRun}} {
		for _, span := range spans {
			near := ix.Follow()
			from := -1.0
			for k := math.Ceil(span[0]/step - 1e-9); k*step <= span[1]+1e-9 && k*step < l; k++ {
				d := k * step
				p, dir := ruler.At(d)
				_, other := near.Nearest(geom.Add(p, geom.Mul(geom.Left(dir), side.way*runGap/2)))
				along := math.Abs(other.S - d)
				switch beside := other.Dist < runGap/2-geom.Tiny && math.Min(along, l-along) > besideApart; {
				case !beside:
					from = -1
				case from < 0:
					from = d
				case d-from >= side.run:
					mid, _ := ruler.At((from + d) / 2)
					segment, _ = ruler.Segment((from + d) / 2)
					return mid, segment, true
				}
			}
		}
	}
	return at, 0, false
}

const (
	// besideApart is how far apart along the line, in mm, two places must lie to be beside one another.
	besideApart = 2.0
	// mostPairs bounds the pairs of stretches looked at, for each stretch: past it a line is so dense that all of
	// it is looked along.
	mostPairs = 64
)

// nearItself lists where a closed line comes within runGap of another place of it for as long as a
// tongue, from and to along the line, in order. Everywhere else it has no run beside itself.
func nearItself(line *geom.Path) [][2]float64 {
	l := line.Length()
	starts := line.Starts()
	ends := make([][2]orb.Point, line.Segments())
	for i := range ends {
		ends[i][0], ends[i][1] = line.Segment(i)
	}
	var found [][2]float64
	pairs := 0
	whole := geom.NewTree(ends).SelfPairs(runGap, func(i, j int) bool {
		a0, a1, ok := stretchNear(ends[i], ends[j])
		if ok {
			b0, b1, _ := stretchNear(ends[j], ends[i])
			a0, a1, b0, b1 = starts[i]+a0, starts[i]+a1, starts[j]+b0, starts[j]+b1
			if b1-a0 > besideApart && l-(b0-a1) > besideApart {
				found = append(found, [2]float64{a0, a1}, [2]float64{b0, b1})
			}
		}
		pairs++
		return pairs < mostPairs*len(ends)
	})
	if !whole {
		return [][2]float64{{0, l}}
	}
	slices.SortFunc(found, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	var out [][2]float64
	for k := 0; k < len(found); {
		span := found[k]
		for k++; k < len(found) && found[k][0] <= span[1]+sampled(l); k++ {
			span[1] = math.Max(span[1], found[k][1])
		}
		if span[1]-span[0] >= tongueRun {
			out = append(out, span)
		}
	}
	return out
}

// stretchNear is the part of stretch a, from and to in mm along it, that lies within runGap of the box drawn about
// stretch b along its way.
func stretchNear(a, b [2]orb.Point) (from, to float64, ok bool) {
	way, lb := geom.Unit(geom.Sub(b[1], b[0])), geom.Dist(b[0], b[1])
	la := geom.Dist(a[0], a[1])
	lo, hi := 0.0, 1.0
	p, q := geom.Sub(a[0], b[0]), geom.Sub(a[1], b[0])
	for _, c := range [2][4]float64{
		{geom.Dot(p, way), geom.Dot(q, way), -runGap, lb + runGap},
		{geom.Cross(p, way), geom.Cross(q, way), -runGap, runGap},
	} {
		v, w := c[0], c[1]-c[0]
		if math.Abs(w) < geom.Tiny {
			if v < c[2] || v > c[3] {
				return 0, 0, false
			}
			continue
		}
		s, e := (c[2]-v)/w, (c[3]-v)/w
		lo, hi = math.Max(lo, math.Min(s, e)), math.Min(hi, math.Max(s, e))
	}
	return lo * la, hi * la, lo <= hi
}
