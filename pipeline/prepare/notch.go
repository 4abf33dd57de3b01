package prepare

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// bench is a whole piece with the data to find places on it.
type bench struct {
	whole
	rings   []geom.Path // the outline, and the cut lines of openings
	rulers  []geom.Ruler
	onCut   *geom.Index
	onSew   *geom.Index
	hasSew  bool
	options Options
	starts  [][]float64 // along each ring, by vertex, on demand
}

func newBench(w whole, opt Options) *bench {
	b := &bench{whole: w, rings: append([]geom.Path{w.outline}, w.openings...), options: opt}
	for _, r := range b.rings {
		b.rulers = append(b.rulers, r.Ruler())
	}
	b.onCut, b.starts = geom.NewIndex(b.rings...), make([][]float64, len(b.rings))
	if len(w.sew) > 0 {
		b.onSew, b.hasSew = geom.NewIndex(w.sew...), true
	}
	return b
}

// seat is the place of a notch on the cut line.
type seat struct {
	at   orb.Point
	ring int       // index of a ring of the bench
	s    float64   // the length along it
	in   orb.Point // unit vector into the piece
	// allowance is the distance to the sew line, known false where there is none.
	allowance float64
	known     bool
}

// seat finds the place of a notch; ok is false for one that is not near the piece.
func (b *bench) seat(n pattern.Notch) (seat, bool) {
	ring, near := b.onCut.Nearest(n.At)
	if near.Dist > pattern.NotchReach {
		return seat{}, false
	}
	st := seat{at: near.Point, ring: ring, s: near.S, in: b.inward(ring, near.Segment)}
	if n.OnSew && b.hasSew {
		b.carry(n, &st)
	}
	if b.hasSew {
		_, sew := b.onSew.Nearest(st.at)
		st.allowance, st.known = sew.Dist, true
	}
	if !n.AngleSaid {
		return st, true
	}
	sin, cos := math.Sincos(n.AngleDeg * math.Pi / 180)
	said := orb.Point{cos, sin}
	switch in := geom.Dot(said, st.in); {
	case in > 0.1:
		st.in = said
	case in < -0.1:
		st.in = geom.Mul(said, -1)
	}
	return st, true
}

// carry moves a notch from the sew line to the cut line, perpendicular to the sew line: notches match where pieces are
// stitched, not where they are cut.
func (b *bench) carry(n pattern.Notch, st *seat) {
	path, sew := b.onSew.Nearest(n.At)
	line := b.sew[path]
	normal := outward(line, sew, st.at, n.At)
	best := math.Inf(1)
	for k, ring := range b.rings {
		for i := range ring.Segments() {
			p, q := ring.Segment(i)
			if t, u, ok := rayMeets(sew.Point, normal, p, q); ok && t < best {
				best = t
				st.at, st.ring, st.s = geom.Lerp(p, q, u), k, b.at(k, i, u)
			}
		}
	}
	if best < math.Inf(1) {
		st.in = geom.Mul(normal, -1)
	}
}

// at is the length along a ring at parameter u of segment i.
func (b *bench) at(ring, i int, u float64) float64 {
	p, q := b.rings[ring].Segment(i)
	if b.starts[ring] == nil {
		b.starts[ring] = b.rings[ring].Starts()
	}
	return b.starts[ring][i] + u*geom.Dist(p, q)
}

// outward is perpendicular to the sew line at a place, towards the cut line. On a curve its direction is interpolated
// along each chord, between the tangents at its ends.
func outward(line geom.Path, near geom.Near, cut, from orb.Point) orb.Point {
	dir := geom.Unit(geom.Lerp(tangentAt(line, near.Segment, near.Segment), tangentAt(line, near.Segment+1, near.Segment), near.T))
	normal := geom.Left(dir)
	if geom.Dot(normal, geom.Sub(cut, from)) < 0 {
		return geom.Mul(normal, -1)
	}
	return normal
}

// tangentAt is the direction of a line at vertex v for a chord that begins or ends there: the mean of both chords on a
// curve, the chord's own at a corner.
func tangentAt(line geom.Path, v, chord int) orb.Point {
	n := line.Segments()
	way := func(i int) orb.Point {
		p, q := line.Segment((i + n) % n)
		return geom.Unit(geom.Sub(q, p))
	}
	if line.Corner(v%len(line.Points)) || !line.Closed && (v == 0 || v == n) {
		return way(chord)
	}
	return geom.Unit(geom.Add(way(v-1), way(v)))
}

// rayMeets is where the ray from o along d meets a segment: t mm along the ray, u of the segment.
func rayMeets(o, d, p, q orb.Point) (t, u float64, ok bool) {
	e := geom.Sub(q, p)
	den := geom.Cross(d, e)
	if math.Abs(den) < geom.Tiny {
		return 0, 0, false
	}
	w := geom.Sub(p, o)
	t, u = geom.Cross(w, e)/den, geom.Cross(w, d)/den
	return t, u, t > -geom.CloseTol && u >= -1e-9 && u <= 1+1e-9
}

func (b *bench) inward(ring, i int) orb.Point {
	p, q := b.rings[ring].Segment(i)
	return geom.Left(geom.Unit(geom.Sub(q, p))) // the outline is counter-clockwise, openings are clockwise
}

// notchLines are the strokes of one notch, and whether a knife cuts them. Cut notches are separate strokes: the cut
// line stays one closed stroke.
func (b *bench) notchLines(n pattern.Notch, st seat) (strokes []geom.Path, cut bool) {
	depth, width := n.Depth, n.Width
	cut = n.Kind != pattern.NotchPen
	if depth <= 0 {
		depth = b.options.notchDepth()
		if st.known && cut {
			depth = math.Min(depth, st.allowance/2)
			cut = st.allowance >= 2*b.options.notchLeft()-0.1
		}
		if !cut {
			depth = b.options.notchDepth() // nothing is cut, so a mark may cross the seam
		}
	}
	if width <= 0 {
		width = b.options.notchWidth()
	}
	tip := geom.Add(st.at, geom.Mul(st.in, depth))
	across := geom.Left(st.in)
	left := func(from orb.Point, by float64) orb.Point { return geom.Add(from, geom.Mul(across, by)) }
	// The mouth is on the cut line, also on a curve. Left of the inward direction is backwards along the outline.
	// the outline.
	mouthL, _ := b.rulers[st.ring].At(st.s - width/2)
	mouthR, _ := b.rulers[st.ring].At(st.s + width/2)
	switch n.Kind {
	case pattern.NotchV:
		return []geom.Path{sharp(mouthL, tip, mouthR)}, cut
	case pattern.NotchT:
		return []geom.Path{sharp(st.at, tip), sharp(left(tip, width/2), left(tip, -width/2))}, cut
	case pattern.NotchCastle:
		return []geom.Path{sharp(mouthL, left(tip, width/2), left(tip, -width/2), mouthR)}, cut
	case pattern.NotchCheck:
		mouth, _ := b.rulers[st.ring].At(st.s + width)
		return []geom.Path{sharp(st.at, tip, mouth)}, cut
	case pattern.NotchU:
		return []geom.Path{uShape(mouthL, mouthR, tip, st.in, width)}, cut
	}
	return []geom.Path{sharp(st.at, tip)}, cut
}

// sharp is an open line with a corner at every point.
func sharp(pts ...orb.Point) geom.Path {
	corners := make([]bool, len(pts))
	for i := range corners {
		corners[i] = true
	}
	return geom.Path{Points: pts, Corners: corners}
}

// uShape goes straight in from the mouth, along a half circle as wide as the notch, and out again; a notch shallower
// than half its width has a half ellipse.
func uShape(mouthL, mouthR, tip, in orb.Point, width float64) geom.Path {
	r := width / 2
	deep := geom.Dist(geom.Lerp(mouthL, mouthR, 0.5), tip)
	rise := math.Min(r, deep)
	centre := geom.Sub(tip, geom.Mul(in, rise))
	across := geom.Left(in)
	start := geom.Add(centre, geom.Mul(across, r))
	p := sharp(mouthL)
	if geom.Dist(mouthL, start) > geom.CloseTol {
		p.Points, p.Corners = append(p.Points, start), append(p.Corners, false)
	}
	first := len(p.Points)
	p.Points = geom.FlattenArc(p.Points, centre, geom.Mul(across, r), geom.Mul(in, rise), 0, math.Pi, geom.FlattenTol)
	for range len(p.Points) - first {
		p.Corners = append(p.Corners, false)
	}
	if end := p.Points[len(p.Points)-1]; geom.Dist(end, mouthR) > geom.CloseTol {
		p.Points, p.Corners = append(p.Points, mouthR), append(p.Corners, false)
	}
	p.Corners[len(p.Corners)-1] = true
	return p
}
