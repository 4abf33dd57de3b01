package measured

import (
	"math"

	"tracewheel/geom"
)

// blender makes the steps that fullness leaves in an edge one even line. It keeps which stretches of
// the cut edge are mouths: from, to and whether of fullness.
type blender struct{ mouths []blendMouth }

type blendMouth struct {
	from, to int
	full     bool
}

func (b *blender) met(from, n int, full bool) {
	if k := len(b.mouths) - 1; k >= 0 && full && b.mouths[k].full {
		b.mouths[k].to = from + n // no dart lies between: one stretch of fullness
		return
	}
	b.mouths = append(b.mouths, blendMouth{from, from + n, full})
}

// blend draws each stretch of fullness anew, beginning as far before it as it is wide and ending as far
// behind, but never past half of what of the edge lies there.
func (b *blender) blend(c curve, edge int, f *formed) curve {
	for k := len(b.mouths) - 1; k >= 0; k-- {
		m := b.mouths[k]
		if !m.full {
			continue
		}
		lo, hi := 0, len(c)
		if k > 0 {
			lo = b.mouths[k-1].to
		}
		if k+1 < len(b.mouths) {
			hi = b.mouths[k+1].from
		}
		wide := geom.Dist(c[m.from].a, c[m.to-1].b)
		before, after := c[lo:m.from], c[m.to:hi]
		p, q := before.placeAt(before.length()-math.Min(wide, before.length()/2)), after.placeAt(math.Min(wide, after.length()/2))
		a, z := before[p.i], after[q.i]
		u, v := a.dir(p.t), z.dir(q.t)
		from, to := a.at(p.t), z.at(q.t)
		f.full = append(f.full, fullness{edge, from, to})
		out := append(curve(nil), c[:lo]...)
		out = append(out, before.between(place{0, 0}, p)...)
		out = append(out, pulled(from, to, u, v, geom.Dist(from, to)*armShare(u, v)))
		out = append(out, after.between(q, place{len(after) - 1, 1})...)
		c = append(out, c[hi:]...)
	}
	return c
}
