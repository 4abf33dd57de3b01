package darts

import (
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
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
func (b *blender) blend(c curve.Curve, edge int, f *Formed) curve.Curve {
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
		wide := geom.Dist(c[m.from].From, c[m.to-1].To)
		before, after := c[lo:m.from], c[m.to:hi]
		p, q := before.PlaceAt(before.Length()-math.Min(wide, before.Length()/2)), after.PlaceAt(math.Min(wide, after.Length()/2))
		a, z := before[p.Index], after[q.Index]
		u, v := a.Dir(p.T), z.Dir(q.T)
		from, to := a.At(p.T), z.At(q.T)
		f.Full = append(f.Full, fullness{edge, from, to})
		out := append(curve.Curve(nil), c[:lo]...)
		out = append(out, before.Between(curve.Place{Index: 0, T: 0}, p)...)
		out = append(out, curve.Pulled(from, to, u, v, geom.Dist(from, to)*curve.ArmShare(u, v)))
		out = append(out, after.Between(q, curve.Place{Index: len(after) - 1, T: 1})...)
		c = append(out, c[hi:]...)
	}
	return c
}
