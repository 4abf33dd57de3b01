package lay

import (
	"context"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// A hem is shortened by at most hemMost, in steps of a tape, mm. Beyond that the garment changes (from memory).
const (
	hemMost, hemStep         = 50.0, 5.0
	hemMostInch, hemStepInch = 2 * 25.4, 25.4 / 4
)

// Hem is a hem that several pieces of a draft share: they are sewn side by side, so all are shortened alike.
type Hem struct {
	Edge   string
	Pieces []string
	draft  int
}

// Hems are the hems of some pieces, in the order of the pieces: the edges whose last word is hem.
func Hems(ready []pattern.Ready) (out []Hem) {
	for _, r := range ready {
		var seen []string
		for _, edge := range r.EdgeOf {
			if !isHem(edge) || slices.Contains(seen, edge) {
				continue
			}
			seen = append(seen, edge)
			k := slices.IndexFunc(out, func(h Hem) bool { return h.Edge == edge && h.draft == r.Draft })
			if k < 0 {
				k, out = len(out), append(out, Hem{Edge: edge, draft: r.Draft})
			}
			if !slices.Contains(out[k].Pieces, r.Name) {
				out[k].Pieces = append(out[k].Pieces, r.Name)
			}
		}
	}
	return out
}

func isHem(edge string) bool {
	edge = strings.ToLower(edge)
	return edge == "hem" || strings.HasSuffix(edge, " hem")
}

// Least is the least shortening of the hem with which the pieces fit within a length of the material, and the length
// of their lay; false where no shortening up to hemMost is enough, or none is needed.
func (h Hem) Least(ctx context.Context, ready []pattern.Ready, m pattern.Material, within float64, opt Options) (by, laid float64, ok bool) {
	most, step := hemMost, hemStep
	if opt.Unit == "in" {
		most, step = hemMostInch, hemStepInch
	}
	m.Length = within
	try := func(by float64) (float64, bool) {
		short, changed := h.shortened(ready, by)
		if !changed || ctx.Err() != nil || Area(short) > within*m.Width {
			return 0, false
		}
		l, found := OnCloth(ctx, short, m, opt)
		return l.LengthUsed, len(found) == 0
	}
	n := int(math.Round(most / step))
	if laid, ok = try(most); !ok {
		return 0, 0, false
	}
	for k := range uint64(3) {
		again := opt
		again.Seed += k
		if _, found := OnCloth(ctx, ready, m, again); len(found) == 0 {
			return 0, 0, false // a longer search is enough
		}
	}
	least := n
	for low := 1; low < least; {
		mid := (low + least) / 2
		if l, fits := try(float64(mid) * step); fits {
			least, laid = mid, l
		} else {
			low = mid + 1
		}
	}
	return float64(least) * step, laid, true
}

// shortened are the pieces with this hem shortened; false where none of them could be.
func (h Hem) shortened(ready []pattern.Ready, by float64) (out []pattern.Ready, changed bool) {
	for _, r := range ready {
		if r.Draft == h.draft && slices.Contains(r.EdgeOf, h.Edge) {
			short, ok := shorter(r, h.Edge, by)
			if !ok {
				return nil, false
			}
			r, changed = short, true
		}
		out = append(out, r)
	}
	return out, changed
}

// shorter offsets an edge of a piece inwards by so many mm, its ends along the adjacent edges, and removes what lies
// beyond it.
func shorter(r pattern.Ready, edge string, by float64) (pattern.Ready, bool) {
	from, n := stretch(r.EdgeOf, edge)
	pts := r.Outline.Points
	total := len(pts)
	if n == 0 || n >= total-2 || len(r.EdgeOf) != total {
		return r, false
	}
	at := func(i int) orb.Point { return pts[((i%total)+total)%total] }
	to := from + n
	along := func(i int) orb.Point { return geom.Unit(geom.Sub(at(i+1), at(i))) }
	// The turned-up ends of a hem continue the side seams: they are not part of the hem line.
	for to-from > 1 && geom.Dot(along(from-1), along(from)) > math.Sqrt2/2 {
		from++
	}
	for to-from > 1 && geom.Dot(along(to), along(to-1)) > math.Sqrt2/2 {
		to--
	}
	before, first := walk(at, from, -1, by, total-(to-from))
	after, last := walk(at, to, 1, by, total-(to-from))
	if before+total <= after {
		return r, false // nothing of the piece would be left
	}
	line := []orb.Point{first}
	for i := from + 1; i < to; i++ {
		mid := geom.Add(along(i-1), along(i))
		half := geom.Norm(mid) / 2 // the cosine of half the bend
		if half < 0.5 {
			return r, false
		}
		in := geom.Mul(orb.Point{-mid[1], mid[0]}, 1/(2*half))
		line = append(line, geom.Add(at(i), geom.Mul(in, by/half)))
	}
	line = append(line, last)
	for i := after; i <= before+total; i++ {
		line = append(line, at(i))
	}
	out := r
	out.Outline, out.EdgeOf = geom.Path{Points: line, Closed: true}, nil
	out.Lines = slices.DeleteFunc(slices.Clone(r.Lines), func(l pattern.Line) bool {
		return slices.ContainsFunc(l.Path.Points, func(p orb.Point) bool { return !out.Outline.Contains(p) })
	})
	return out, out.Outline.SignedArea() > 0 && out.Outline.Area() < r.Outline.Area()
}

// stretch is where an edge begins on a closed line and its number of segments, 0 where it is not contiguous.
func stretch(names []string, edge string) (from, n int) {
	begins := 0
	for i, name := range names {
		if name != edge {
			continue
		}
		n++
		if names[(i+len(names)-1)%len(names)] != edge {
			from = i
			begins++
		}
	}
	if begins != 1 {
		return 0, 0
	}
	return from, n
}

// walk goes by so many mm along a closed line from point i, in steps of 1 or -1 and at most so many of them. It gives
// the place reached and the next vertex behind it.
func walk(at func(int) orb.Point, i, step int, by float64, most int) (next int, p orb.Point) {
	for range most {
		d := geom.Dist(at(i), at(i+step))
		if d > by {
			return i + step, geom.Lerp(at(i), at(i+step), by/d)
		}
		by -= d
		i += step
	}
	return i, at(i)
}
