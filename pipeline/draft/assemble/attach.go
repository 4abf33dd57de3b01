package assemble

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// touchTol is how far, in mm, a notch or a fold line may lie from an outline and still belong to
// it. A check tells later what lies further than half a millimetre off the line.
const touchTol = 2.0

// sewLines gives the sew lines to their pieces; where a draft has no cut lines, or a sew line lies
// in no piece, it bounds a piece itself.
func (j *job) sewLines() {
	if j.noRoles {
		return
	}
	c := j.chains(pattern.RoleSew, true)
	loops, ok := j.loops(c.closed)
	if !ok {
		return
	}
	owner := make([]*builder, len(loops))
	for i := range loops {
		l := &loops[i]
		b := j.sewOwner(l.path, l.group)
		if b == nil && l.parent >= 0 {
			b = owner[l.parent]
		}
		if b == nil {
			owner[i] = j.newPiece(l.strand, pattern.RoleSew)
			continue
		}
		owner[i] = b
		b.Sew = append(b.Sew, l.path)
	}
	if j.tooMany(len(c.open), "open sew lines") {
		return
	}
	for _, s := range c.open {
		if b := j.sewOwner(s.path, s.group); b != nil {
			b.Sew = append(b.Sew, s.path)
			continue
		}
		j.newPiece(s, pattern.RoleSew)
	}
}

// sewOwner is the piece with a cut line to which a sew line belongs: it lies inside, or at least
// partly so, or - drawn on the wrong side - round it.
func (j *job) sewOwner(path geom.Path, group string) *builder {
	var cut []*builder
	for _, b := range j.mates(group) {
		if b.Cut != nil {
			cut = append(cut, b)
		}
	}
	if group != "" && len(cut) == 1 {
		return cut[0]
	}
	if b := j.bestHolder(cut, path, 0.25); b != nil {
		return b
	}
	for _, b := range cut {
		if path.Closed && boxHolds(path.Bound(), b.bound) && holdsPath(newInside(path), geom.NewIndex(path), b.outline) {
			return b
		}
	}
	return nil
}

// mates are the pieces among which something of a group is looked for: those of the group - pieces
// of groups may lie on top of each other - and for what belongs to no group all.
func (j *job) mates(group string) []*builder {
	if group == "" {
		return j.pieces
	}
	return j.byGroup[group]
}

// maxWork bounds the stretches of outlines that are looked at to find what lies in which piece: some seconds of
// work, where a large draft takes a hundredth of one.
const maxWork = 500_000_000

// holder is the piece that holds a line or a place, nil where none does. Something of a group that
// bounds one piece is that piece's wherever it lies.
func (j *job) holder(path geom.Path, group string) *builder {
	mates := j.mates(group)
	if len(mates) == 1 && group != "" {
		return mates[0]
	}
	return j.bestHolder(mates, path, 0.5)
}

// bestHolder is the piece that holds most of the line, at least the given share of its points, of
// equals the smallest.
func (j *job) bestHolder(pieces []*builder, path geom.Path, atLeast float64) *builder {
	pts := sample(path, 8)
	if n := len(path.Points); n > 1 {
		pts = append(pts, geom.Lerp(path.Points[0], path.Points[1], 0.5))
	}
	if len(pts) == 0 {
		return nil
	}
	var best *builder
	var most float64
	for _, b := range pieces {
		n := 0
		for _, p := range pts {
			if j.holds(b, p) {
				n++
			}
		}
		share := float64(n) / float64(len(pts))
		if share < atLeast || n == 0 {
			continue
		}
		if best == nil || share > most || share == most && b.outline.Area() < best.outline.Area() {
			best, most = b, share
		}
	}
	return best
}

// holds tells whether a point lies in the piece or on its line, as long as the work for the whole
// draft allows.
func (j *job) holds(b *builder, p orb.Point) bool {
	if !b.bound.Pad(geom.CloseTol).Contains(p) || j.work > maxWork {
		return false
	}
	yes, work := b.inside.holds(p)
	j.work += work
	return yes || b.near(p)
}

func (b *builder) holds(p orb.Point) bool {
	yes, _ := b.inside.holds(p)
	return yes || b.near(p)
}

func (b *builder) near(p orb.Point) bool {
	_, n := b.index.Nearest(p)
	return n.Dist <= geom.CloseTol
}

// toucher is the piece whose outline comes nearest to one of the points, within the touching
// tolerance; of equals the one that holds more of them.
func (j *job) toucher(group string, pts ...orb.Point) *builder {
	mates := j.mates(group)
	if len(mates) == 1 && group != "" {
		return mates[0]
	}
	var best *builder
	least := touchTol
	inside := -1
	for _, b := range mates {
		d, n := math.Inf(1), 0
		for _, p := range pts {
			if near(b.bound, p) {
				_, at := b.index.Nearest(p)
				d = math.Min(d, at.Dist)
				if j.holds(b, p) {
					n++
				}
			}
		}
		d = math.Round(d/geom.CloseTol) * geom.CloseTol
		if d < least || d == least && n > inside {
			best, least, inside = b, d, n
		}
	}
	return best
}

func near(b orb.Bound, p orb.Point) bool { return b.Pad(touchTol).Contains(p) }

// cutouts gives the holes to their pieces. A slash is an open one.
func (j *job) cutouts() {
	c := j.chains(pattern.RoleCutout, true)
	for _, s := range slices.Concat(c.closed, c.open) {
		b := j.holder(s.path, s.group)
		if b == nil { // it may reach far over the edge, which a check tells
			b = j.bestHolder(j.mates(s.group), s.path, 0.01)
		}
		if b != nil {
			b.Cutouts = append(b.Cutouts, s.path)
			continue
		}
		j.leaveStrand("cut-out outside every piece", "there is nothing to cut it from", s)
	}
}

// inner gives everything else to the piece in which it lies.
func (j *job) inner() {
	for _, role := range []pattern.Role{pattern.RoleMark, pattern.RoleStripe, pattern.RolePlaid, pattern.RoleQuality} {
		c := j.chains(role, false)
		for _, s := range slices.Concat(c.closed, c.open) {
			b := j.holder(s.path, s.group)
			if b == nil {
				b = j.toucher(s.group, ends(s.path)...)
			}
			if b == nil {
				j.leaveStrand(string(role)+" line outside every piece", "it is not clear to which piece it belongs", s)
				continue
			}
			b.Marks = append(b.Marks, pattern.Mark{Role: role, Path: s.path})
		}
	}
	for i := range j.items {
		it := &j.items[i]
		if !it.called() {
			j.innerItem(it)
		} else if b := j.holderOrToucher(it); b != nil {
			b.Marks = append(b.Marks, pattern.Mark{Role: it.Role, Path: it.Path, Label: j.short(it.Label, it.Line)})
		} else {
			j.leave(string(it.Role)+" line outside every piece", "it is not clear to which piece it belongs", "draw it inside its piece", it)
		}
	}
}

// called tells of an inner line that the draft calls by a name.
func (it *Item) called() bool {
	return it.Role == pattern.RoleMark && it.Label != "" && len(it.Path.Points) > 1
}

func ends(p geom.Path) []orb.Point {
	if p.Closed {
		return sample(p, 4)
	}
	return []orb.Point{p.Points[0], p.Points[len(p.Points)-1]}
}

func (j *job) innerItem(it *Item) {
	switch it.Role {
	case pattern.RoleText:
		j.text(it)
	case pattern.RoleDrill:
		j.drill(it)
	case pattern.RoleGrain:
		if b := j.holderOrToucher(it); b != nil {
			b.grains = append(b.grains, *it)
			return
		}
		j.leave("grain line outside every piece", "it is not clear to which piece it belongs", "draw it inside its piece", it)
	case pattern.RoleFold:
		j.fold(it)
	case pattern.RoleIgnore:
		j.leave("frame, guide or construction line", "its name says that it is no part of a piece", "no action needed", it)
	case pattern.RoleNone:
		if !j.noRoles || len(it.Path.Points) < 2 {
			j.leave("line or point without a role", "nothing says what it is for",
				"give it a role if it is to be drawn or cut: cut, sew, notch, grain, fold, mark, cutout, drill", it)
		}
	case pattern.RoleMark, pattern.RoleStripe, pattern.RolePlaid, pattern.RoleCutout, pattern.RoleCut, pattern.RoleSew:
		if len(it.Path.Points) == 1 {
			j.leave("point with the role "+string(it.Role), "a point is no line", "draw a line, or give the point the role drill or notch", it)
		}
	}
}

func (j *job) holderOrToucher(it *Item) *builder {
	if b := j.holder(it.Path, it.Group); b != nil {
		return b
	}
	return j.toucher(it.Group, ends(it.Path)...)
}

func (j *job) text(it *Item) {
	if it.Text == "" {
		j.leave("line with the role text", "it is no text", "give it the role mark if it is to be drawn", it)
		return
	}
	b := j.holder(it.Path, it.Group)
	if b == nil {
		j.leave("text outside every piece", "it is not clear to which piece it belongs", "move it into the piece, if it belongs to one", it)
		return
	}
	b.texts = append(b.texts, *it)
}

// fold takes a line along an edge for the fold.
func (j *job) fold(it *Item) {
	pts := it.Path.Points
	if len(pts) < 2 {
		j.leave("fold without a line", "a point is no fold", "draw the fold as one line", it)
		return
	}
	a, b := straightest(it.Path)
	piece := j.toucher(it.Group, geom.Lerp(a, b, 0.5), a, b)
	if piece == nil {
		piece = j.holder(it.Path, it.Group)
	}
	if piece == nil {
		j.leave("fold line on no piece", "it is not clear to which piece it belongs", "draw it on the edge that lies on the fold", it)
		return
	}
	if piece.Fold != nil {
		j.leave("second fold line of a piece", "a piece is folded on one line", "leave one of them", it)
		return
	}
	piece.Fold = &pattern.Segment{A: a, B: b}
}

// straightest is the longest straight stretch of a line: a grain line with its arrow heads drawn in
// one go still says where the grain runs.
func straightest(p geom.Path) (a, b orb.Point) {
	best := -1.0
	for i := range p.Segments() {
		u, v := p.Segment(i)
		if l := geom.Dist(u, v); l > best+geom.Tiny {
			best, a, b = l, u, v
		}
	}
	return a, b
}

// drill takes a point, a circle, or two crossed lines.
func (j *job) drill(it *Item) {
	d := pattern.Drill{At: it.Centre, Diameter: it.Diameter}
	if it.Diameter <= 0 {
		bound := it.Path.Bound()
		w, h := bound.Max[0]-bound.Min[0], bound.Max[1]-bound.Min[1]
		d.At = bound.Center()
		if it.Path.Closed && len(it.Path.Points) > 7 && math.Abs(w-h) <= 0.05*math.Max(w, h) {
			d.Diameter = (w + h) / 2
		}
	}
	at := geom.Path{Points: []orb.Point{d.At}}
	b := j.holder(at, it.Group)
	if b == nil {
		j.leave("drill mark outside every piece", "it is not clear to which piece it belongs", "move it into its piece", it)
		return
	}
	if b.drillNew(d.At) {
		b.Drills = append(b.Drills, d)
	}
}

// drillNew is false for the other stroke of a cross, and for the same mark once more.
func (b *builder) drillNew(at orb.Point) bool {
	if b.drilled == nil {
		b.drilled = map[orb.Point]bool{}
	}
	x, y := math.Round(at[0]/geom.BridgeTol), math.Round(at[1]/geom.BridgeTol)
	for dx := -1.0; dx <= 1; dx++ {
		for dy := -1.0; dy <= 1; dy++ {
			if b.drilled[orb.Point{x + dx, y + dy}] {
				return false
			}
		}
	}
	b.drilled[orb.Point{x, y}] = true
	return true
}
