package offset

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// runOut is E, where the line of the edge sewn or turned first runs out to the cut line of the
// other one. line is the other cut line from the corner on. bent tells that E does not lie on the
// straight beginning of it, so that the way between has to be said.
func (o *offsetter) runOut(w wedge, i int) (e orb.Point, line []orb.Point, bent, ok bool) {
	seam, other, start := w.a, w.b, w.b.p0
	ahead := seam.a
	if w.one.SewnFirst {
		seam, other, start = w.b, w.a, w.a.p1
		ahead = geom.Mul(seam.a, -1)
	}
	line = o.otherCut(w, i)
	height := func(p orb.Point) float64 { return -geom.Dot(geom.Sub(p, w.v), seam.n) }
	last := start
	for _, p := range line {
		h0, h1 := height(last), height(p)
		if h0 > 0 {
			break
		}
		if h1 > 0 {
			return geom.Lerp(last, p, h0/(h0-h1)), line, true, true
		}
		last = p
	}
	e, ok = meetMoved(w.v, seam.a, other)
	return e, line, false, ok && geom.Dot(geom.Sub(e, w.v), ahead) >= 0
}

// mirrored ends a turned-up edge where its allowance, folded back, lies on the other cut line.
func (w wedge) mirrored(o *offsetter, i int) join {
	turned := w.a
	if w.one.SewnFirst {
		turned = w.b
	}
	e, line, bent, ok := o.runOut(w, i)
	if !ok || geom.Dist(e, w.v) > w.limit {
		return w.mitred()
	}
	depth := w.p
	if w.one.SewnFirst {
		depth = w.q
	}
	profile := []orb.Point{e}
	height := func(p orb.Point) float64 { return -geom.Dot(geom.Sub(p, w.v), turned.n) }
	last := e
	for _, p := range line {
		h := height(p)
		if h <= 1e-9 || h <= height(last) {
			continue
		}
		if h >= depth {
			t := (depth - height(last)) / (h - height(last))
			last = geom.Lerp(last, p, t)
			profile = append(profile, last)
			break
		}
		profile = append(profile, p)
		last = p
	}
	if height(last) < depth-1e-9 {
		return w.mitred() // the side ends before the hem does
	}
	mirror := geom.MirrorLine(w.v, geom.Add(w.v, turned.a))
	for k := range profile {
		profile[k] = mirror.Apply(profile[k])
	}
	if n := len(profile); turned.w0 != turned.w1 { // a tapering hem is not of one depth
		if p, ok := meetMoved(profile[n-2], geom.Sub(profile[n-1], profile[n-2]), turned); ok {
			profile[n-1] = p
		}
	}
	if !w.one.SewnFirst {
		reversePoints(profile)
	}
	j := w.along(profile)
	if bent && w.one.SewnFirst {
		j.pts = append([]orb.Point{w.a.p1}, j.pts...)
		j.from = append([]int{w.a.edge}, j.from...)
		j.from[1] = -1
	} else if bent {
		j.add(w.b.p0, -1)
	}
	return j
}

// otherCut is the cut line of the edge sewn across a turned-up one, from the corner on, as far as
// it keeps one cut line of its own.
func (o *offsetter) otherCut(w wedge, i int) []orb.Point {
	n := len(o.pts)
	step, k := 1, i
	if w.one.SewnFirst {
		step, k = -1, (i+n-1)%n
	}
	edge := o.sides[k].edge
	var line []orb.Point
	for range n {
		s := &o.sides[k]
		next := &o.sides[(k+step+n)%n]
		end := s.p1
		if step < 0 {
			end = s.p0
		}
		same := next.edge == edge && !(step > 0 && next.first) && !(step < 0 && s.first)
		if same {
			if p, _, _, ok := geom.MeetLines(s.p0, geom.Sub(s.p1, s.p0), next.p0, geom.Sub(next.p1, next.p0)); ok {
				end = p
			}
		}
		line = append(line, end)
		if !same {
			break
		}
		k = (k + step + n) % n
	}
	return line
}

// mitredHem cuts both turned-up allowances along the line on which their folds meet, plus a seam.
func (w wedge) mitredHem() join {
	tip, ok, _ := w.tip()
	if !ok || w.sin <= 0 || w.p == 0 || w.q == 0 {
		return w.mitred()
	}
	seam := cmp.Or(w.one.Seam, MitredHemSeam)
	in := geom.Sub(w.v, tip) // towards where the inner edges of both hems meet
	da := geom.MirrorLine(orb.Point{}, w.a.a).Vector(in)
	db := geom.MirrorLine(orb.Point{}, w.b.a).Vector(in)
	// Seen from the corner da runs into a's allowance, db into b's; outward of the line from da
	// over the corner to db is to its right.
	sa := geom.Mul(geom.Left(geom.Unit(da)), seam)
	sb := geom.Mul(geom.Left(geom.Unit(db)), -seam)
	pa, pb := geom.Add(w.v, sa), geom.Add(w.v, sb)
	m, _, _, ok := geom.MeetLines(pa, da, pb, db)
	if !ok {
		m = pa
	}
	a, okA := meetMoved(m, da, w.a)
	b, okB := meetMoved(m, db, w.b)
	if !okA || !okB || geom.Dist(m, w.v) > w.limit {
		return w.mitred()
	}
	return w.along([]orb.Point{a, m, b})
}

// along makes a join of a line from a's cut line to b's. Where it begins before the end of a's
// strip, or ends after the start of b's, it cuts that strip: what lies beyond is blocked.
func (w wedge) along(profile []orb.Point) (j join) {
	lo, hi := 0, len(profile)
	var head, tail []orb.Point
	if k, x, ok := crossRay(profile, w.v, w.a.n, w.a.a, w.p); ok {
		head = append(append(head, profile[:k+1]...), x)
		lo = k + 1
		j.blocks = append(j.blocks, cutOff(head, w.a.p1, w.a.n, false))
	}
	rest := append([]orb.Point(nil), profile[lo:]...)
	reversePoints(rest)
	if k, x, ok := crossRay(rest, w.v, w.b.n, geom.Mul(w.b.a, -1), w.q); ok {
		tail = append(append(tail, rest[:k+1]...), x)
		hi -= k + 1
		j.blocks = append(j.blocks, cutOff(tail, w.b.p0, w.b.n, true))
	}
	first := w.a.edge
	if head != nil {
		j.add(w.a.p1, w.a.edge)
		j.add(head[len(head)-1], -1)
		first = -1
	}
	for k := lo; k < hi; k++ {
		if k > lo {
			first = -1
		}
		j.add(profile[k], first)
	}
	if tail != nil {
		j.add(tail[len(tail)-1], -1)
		j.add(w.b.p0, -1)
	}
	return j
}

// crossRay finds where a line that begins behind the end of a strip, the ray from v along n as long
// as the strip is wide (behind: against ahead), first comes to it. A line that passes beyond the
// width cuts nothing of the strip.
func crossRay(line []orb.Point, v, n, ahead orb.Point, width float64) (k int, x orb.Point, ok bool) {
	if geom.Dot(geom.Sub(line[0], v), ahead) >= -1e-9 {
		return 0, x, false
	}
	for k := range len(line) - 1 {
		d0, d1 := geom.Dot(geom.Sub(line[k], v), ahead), geom.Dot(geom.Sub(line[k+1], v), ahead)
		if d0 < 0 && d1 >= 0 {
			x = geom.Lerp(line[k], line[k+1], d0/(d0-d1))
			h := geom.Dot(geom.Sub(x, v), n)
			return k, x, h >= 0 && h < width
		}
	}
	return 0, x, false
}

// cutOff is the part of a strip beyond a line that runs from its outer side to its end: blocked.
// The loop goes a little past the outer side, so that it cuts clean.
func cutOff(line []orb.Point, corner, n orb.Point, flip bool) block {
	deep := geom.Mul(n, 0.25*geom.Dist(line[0], line[len(line)-1])+0.1)
	dir := geom.Unit(geom.Sub(line[0], line[1]))
	past := geom.Add(line[0], geom.Mul(dir, math.Max(0.1, 0.1*geom.Dist(line[0], line[1]))))
	pts := append([]orb.Point(nil), line[1:]...)
	pts = append(pts, geom.Add(corner, deep), past)
	if flip {
		reversePoints(pts)
	}
	if (geom.Path{Points: pts, Closed: true}).SignedArea() < 0 {
		reversePoints(pts)
	}
	from := make([]int, len(pts))
	for k := range from {
		from[k] = -1
	}
	return block{pts: pts, from: from}
}

func reversePoints(p []orb.Point) {
	for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
		p[i], p[j] = p[j], p[i]
	}
}
