package assemble

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const (
	// onLineTol is how far, in mm, a notch may lie off a line and still stand on it.
	onLineTol = 0.5
	// maxNotch is the longest notch, in mm; a longer line with that role is something else.
	maxNotch = 40.0
)

// notches makes notches of points, circles, lines and shapes at an edge. Lines that share an end
// are drawn as one shape first: the two sides of a V.
func (j *job) notches() {
	for i := range j.items {
		it := &j.items[i]
		switch {
		case it.Role != pattern.RoleNotch:
		case it.Notch != nil:
			j.keepNotch(*it.Notch, it)
		case it.Diameter > 0:
			j.keepNotch(pattern.Notch{At: it.Centre, Kind: pattern.NotchNick}, it)
		case len(it.Path.Points) == 1:
			j.keepNotch(pattern.Notch{At: it.Path.Points[0], Kind: pattern.NotchNick}, it)
		}
	}
	var lines []Item
	for _, it := range j.items {
		if it.Role == pattern.RoleNotch && it.Notch == nil && it.Diameter == 0 && len(it.Path.Points) > 1 {
			lines = append(lines, it)
		}
	}
	shapes := notchShapes(lines)
	used := j.tNotches(shapes)
	for i := range shapes {
		if !used[i] {
			j.drawnNotch(&shapes[i])
		}
	}
}

// notchShapes joins the notch lines that share an end.
func notchShapes(lines []Item) []Item {
	order, byGroup := grouped(lines, func(it Item) string { return it.Group })
	var out []Item
	for _, g := range order {
		var strands []strand
		for _, it := range byGroup[g] {
			strands = append(strands, strand{it.Path, g, it.Where, it.Line})
		}
		c := chain(strands, false)
		for _, s := range append(c.closed, c.open...) {
			out = append(out, Item{Role: pattern.RoleNotch, Path: s.path, Group: g, Where: s.where, Line: s.line})
		}
	}
	return out
}

// keepNotch gives a notch that is known by its place to its piece.
func (j *job) keepNotch(n pattern.Notch, it *Item) {
	b := j.toucher(it.Group, n.At)
	if b == nil {
		b = j.onSewLine(it.Group, n.At)
	}
	if b == nil { // off every line, but in a piece: a check tells how far
		b = j.holder(geom.Path{Points: []orb.Point{n.At}}, it.Group)
	}
	if b == nil {
		j.leaveNotch(it)
		return
	}
	b.addNotch(n)
}

func (j *job) leaveNotch(it *Item) {
	j.leave("notch on no edge", "no outline or sew line runs there", "draw it on the edge, from the edge inward", it)
}

// addNotch keeps the notch and says whether it stands on the sew line.
func (b *builder) addNotch(n pattern.Notch) {
	n.Kind = cmp.Or(n.Kind, pattern.NotchNick)
	n.OnSew = b.onSew(n.At)
	b.Notches = append(b.Notches, n)
}

// onSew tells whether a place lies on the sew line and on no cut line. On the fold both lie on one
// another; there the ends of what is sewn and cut tell.
func (b *builder) onSew(p orb.Point) bool {
	if b.Cut == nil {
		return b.sewDist(p) <= onLineTol
	}
	if b.ends == nil && b.Fold != nil && len(b.Sew) > 0 {
		var sew []geom.Path
		for _, s := range b.Sew {
			sew = append(sew, pattern.OffFold(s, b.Fold)...)
		}
		if cut := pattern.OffFold(*b.Cut, b.Fold); len(cut) > 0 && len(sew) > 0 {
			b.ends = &[2]*geom.Index{geom.NewIndex(cut...), geom.NewIndex(sew...)}
		}
	}
	if b.ends != nil {
		_, cut := b.ends[0].Nearest(p)
		_, sew := b.ends[1].Nearest(p)
		return sew.Dist <= onLineTol && cut.Dist > onLineTol
	}
	_, n := b.index.Nearest(p)
	return n.Dist > onLineTol && b.sewDist(p) <= onLineTol
}

func (b *builder) sewDist(p orb.Point) float64 {
	if b.sewn == nil {
		return math.Inf(1)
	}
	_, n := b.sewn.Nearest(p)
	return n.Dist
}

func (j *job) indexSewLines() {
	for _, b := range j.pieces {
		if len(b.Sew) > 0 {
			b.sewn = geom.NewIndex(b.Sew...)
		}
	}
}

// onSewLine is the piece on whose sew line a place lies.
func (j *job) onSewLine(group string, p orb.Point) *builder {
	var best *builder
	least := touchTol
	for _, b := range j.mates(group) {
		if !near(b.bound, p) {
			continue
		}
		if d := b.sewDist(p); d < least {
			best, least = b, d
		}
	}
	return best
}

// drawnNotch reads a notch from its shape.
func (j *job) drawnNotch(it *Item) {
	p := it.Path
	a, z := p.Points[0], p.Points[len(p.Points)-1]
	b := j.toucher(it.Group, ends(p)...)
	if b == nil {
		b = j.toucher(it.Group, along(p)...) // drawn across the edge
	}
	if b == nil {
		if b = j.onSewLine(it.Group, a); b == nil {
			b = j.onSewLine(it.Group, z)
		}
	}
	if b == nil {
		b = j.holder(p, it.Group)
	}
	switch {
	case b == nil:
		j.leaveNotch(it)
	case p.Length() > 4*maxNotch:
		j.leave("notch too long to be one", "no notch is as long as that", "give the line the role mark if it is an inner line", it)
	case p.Closed:
		b.addNotch(b.closedNotch(p))
	case len(p.Points) > 2 && b.edgeDist(a) <= onLineTol && b.edgeDist(z) <= onLineTol && geom.Dist(a, z) > onLineTol:
		b.addNotch(b.shapedNotch(p))
	default:
		b.addNotch(b.lineNotch(a, z))
	}
}

// along is a place at every millimetre or so of a short line.
func along(p geom.Path) []orb.Point {
	r := p.Ruler()
	n := int(math.Min(maxNotch, math.Ceil(r.Length())))
	pts := make([]orb.Point, 0, n+1)
	for i := range n + 1 {
		at, _ := r.At(r.Length() * float64(i) / float64(max(n, 1)))
		pts = append(pts, at)
	}
	return pts
}

// edgeDist is the distance from the line on which notches stand: the cut line, or the sew line
// where that is nearer.
func (b *builder) edgeDist(p orb.Point) float64 {
	_, n := b.index.Nearest(p)
	return math.Min(n.Dist, b.sewDist(p))
}

// lineNotch is a nick: it stands at the end that lies on the edge and reaches to the other. A line
// drawn across the edge stands where it crosses it. The cut line comes before the sew line.
func (b *builder) lineNotch(a, z orb.Point) pattern.Notch {
	line := geom.Path{Points: []orb.Point{a, z}}
	_, na := b.index.Nearest(a)
	_, nz := b.index.Nearest(z)
	da, dz := na.Dist, nz.Dist
	if math.Min(da, dz) > onLineTol {
		if cross := geom.Crossings(b.outline, line); len(cross) == 1 {
			a, da = cross[0].At, 0
			if b.holds(line.Points[0]) {
				z = line.Points[0]
			}
			dz = geom.Dist(a, z)
		} else if sa, sz := b.sewDist(a), b.sewDist(z); math.Min(sa, sz) <= onLineTol {
			da, dz = sa, sz
		}
	}
	if both := da <= onLineTol && dz <= onLineTol; both && b.holds(z) != b.holds(a) {
		if b.holds(a) { // a tiny notch: from the line inward
			a, z = z, a
		}
	} else if dz < da {
		a, z = z, a
	}
	d := geom.Sub(z, a)
	n := pattern.Notch{At: a, Kind: pattern.NotchNick, Depth: geom.Norm(d)}
	if n.Depth > geom.Tiny {
		n.AngleDeg, n.AngleSaid = Degrees(d), true
	}
	return n
}

// Degrees is the direction of a vector in degrees, from 0 to 360.
func Degrees(d orb.Point) float64 {
	deg := math.Atan2(d[1], d[0]) * 180 / math.Pi
	if deg < 0 {
		deg += 360
	}
	return math.Round(deg*1e9) / 1e9
}

// shapedNotch is drawn as a line that leaves the edge and comes back: its mouth is between its
// ends, its depth the furthest it goes from there.
func (b *builder) shapedNotch(p geom.Path) pattern.Notch {
	pts := p.Points
	a, z := pts[0], pts[len(pts)-1]
	return b.mouthNotch(a, z, pts[1:len(pts)-1])
}

func (b *builder) mouthNotch(a, z orb.Point, inner []orb.Point) pattern.Notch {
	mid, u := geom.Lerp(a, z, 0.5), geom.Unit(geom.Sub(z, a))
	n := pattern.Notch{At: mid, Width: geom.Dist(a, z), AngleSaid: true}
	var side, deep float64
	for _, p := range inner {
		if h := geom.Cross(u, geom.Sub(p, mid)); math.Abs(h) > deep {
			deep, side = math.Abs(h), math.Copysign(1, h)
		}
	}
	n.Depth = deep
	n.AngleDeg = Degrees(geom.Mul(geom.Left(u), side))
	switch len(inner) {
	case 1:
		n.Kind = pattern.NotchV
		if lean := geom.Dot(u, geom.Sub(inner[0], a)); lean < 0.1*n.Width || lean > 0.9*n.Width {
			n.Kind = pattern.NotchCheck
		}
	case 2:
		n.Kind = pattern.NotchCastle
	default:
		n.Kind = pattern.NotchU
	}
	return n
}

// closedNotch is drawn as a closed shape at the edge: its mouth is its side that lies on the edge,
// else it only says where the notch is.
func (b *builder) closedNotch(p geom.Path) pattern.Notch {
	n := len(p.Points)
	for i := range p.Points {
		a, z := p.Segment(i)
		if n > 8 || b.edgeDist(a) > onLineTol || b.edgeDist(z) > onLineTol {
			continue
		}
		var inner []orb.Point
		for k := 2; k < n; k++ {
			inner = append(inner, p.Points[(i+k)%n])
		}
		return b.mouthNotch(a, z, inner)
	}
	at := p.Bound().Center()
	if _, near := b.index.Nearest(at); near.Dist <= touchTol {
		at = near.Point
	}
	return pattern.Notch{At: at, Kind: pattern.NotchNick}
}
