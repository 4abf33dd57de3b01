package assemble

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// settleGroups adds groups that only items name, and lets go of those that bound no piece: their
// items are then placed by where they lie.
func (j *job) settleGroups() {
	role := j.outlineRole()
	var more []string
	has := map[string]bool{}
	lines := map[string][]strand{}
	for i := range j.items {
		it := &j.items[i]
		if it.Group == "" {
			continue
		}
		if _, known := j.groups[it.Group]; !known {
			j.groups[it.Group] = j.shorten(Group{Key: it.Group, Name: it.Group})
			more = append(more, it.Group)
		}
		if (it.Role == role || it.Role == pattern.RoleSew) && len(it.Path.Points) > 1 {
			has[it.Group] = true
			if it.Role == role {
				lines[it.Group] = append(lines[it.Group], strand{path: it.Path})
			}
		}
	}
	sort.Strings(more)
	j.order = append(j.order, more...)
	drop := map[string]bool{}
	for _, g := range j.order {
		if !has[g] || j.groups[g].Loose && outermost(lines[g]) != 1 {
			drop[g] = true
		}
	}
	for i := range j.items {
		if drop[j.items[i].Group] {
			j.items[i].Group = ""
		}
	}
	j.order = slices.DeleteFunc(j.order, func(g string) bool { return drop[g] })
}

// outermost counts the outlines that lie in no other; more than a few count as two.
func outermost(lines []strand) int {
	if len(lines) > maxLoops {
		return 2
	}
	c := chain(lines, true)
	n := 0
	loops, ok := nested(c.closed)
	if !ok {
		return 2
	}
	for _, l := range loops {
		if l.parent < 0 {
			n++
		}
	}
	if n == 0 {
		return min(len(c.open), 1)
	}
	return n
}

// outlines makes a piece of every outermost outline; what lies inside becomes a cut-out.
func (j *job) outlines() {
	role := j.outlineRole()
	if role == pattern.RoleSew {
		return // sewLines makes the pieces
	}
	c := j.chains(role, true)
	loops, ok := j.loops(c.closed)
	if !ok {
		return
	}
	owner := make([]*builder, len(loops))
	for i := range loops {
		l := &loops[i]
		if l.area < 1 && !crosses(l.path) {
			j.leaveStrand("closed line that encloses nothing", "it bounds no piece", l.strand)
			continue
		}
		if l.parent < 0 || owner[l.parent] == nil {
			owner[i] = j.newPiece(l.strand, role)
			continue
		}
		b := owner[l.parent]
		owner[i] = b
		if j.noRoles {
			b.Marks = append(b.Marks, pattern.Mark{Role: pattern.RoleNone, Path: l.path})
			j.drawStrand(l.strand)
			continue
		}
		j.holeOnCutLayer(b, &loops[l.parent], l)
	}
	j.openOutlines(c.open, role)
}

// crosses tells a figure of eight, whose two halves may well cancel out, from a line that goes there
// and back.
func crosses(p geom.Path) bool {
	for _, x := range p.SelfCrossings(8) {
		a, b := p.Segment(x.I)
		c, d := p.Segment(x.J)
		if math.Abs(geom.Cross(geom.Unit(geom.Sub(b, a)), geom.Unit(geom.Sub(d, c)))) > 0.01 {
			return true
		}
	}
	return false
}

// loops nests closed lines unless there are too many.
func (j *job) loops(closed []strand) ([]loop, bool) {
	if j.tooMany(len(closed), "closed lines of one role") {
		return nil, false
	}
	loops, ok := nested(closed)
	if !ok {
		j.add(pattern.NewFinding(pattern.RuleUnreadable, "too many closed lines lie over each other to find out which is a piece and which a hole",
			"leave in the draft only the lines of its pieces"))
	}
	return loops, ok
}

// tooMany tells that no draft of a garment has so many lines.
func (j *job) tooMany(n int, what string) bool {
	if n <= maxLoops {
		return false
	}
	j.add(pattern.NewFinding(pattern.RuleUnreadable,
		fmt.Sprintf("the draft has %d %s; more than %d are not read", n, what, maxLoops),
		"leave in the draft only the lines of its pieces"))
	return true
}

// holeOnCutLayer takes a cut line inside a piece for a cut-out, or for the sew line it looks like.
func (j *job) holeOnCutLayer(b *builder, outer, l *loop) {
	at := pattern.Place(l.path.Points[0])
	if least, most, sewLike := outer.sewLike(l); sewLike {
		f := pattern.NewFinding(pattern.RuleCutoutOrSewLine,
			fmt.Sprintf("a line with the role cut runs inside another one at %s to %s all round: it looks like a sew line, not like a hole", pattern.SayLength(least, j.told), pattern.Length(most, j.told)),
			"give the inner line the role sew, or cutout if it is to be cut out")
		f.Severity, f.At, f.Line = pattern.Error, at, l.line
		f.Stretch = append(slices.Clone(l.path.Points), l.path.Points[0])
		j.addAbout(b, f)
	} else {
		f := pattern.NewFinding(pattern.RuleCutoutOrSewLine,
			"a line with the role cut lies inside another one; it is taken for a cut-out",
			"give it the role cutout, or sew if it is a sew line")
		if w := l.bound.Max[0] - l.bound.Min[0]; w < smallHole && l.bound.Max[1]-l.bound.Min[1] < smallHole {
			f.Message = fmt.Sprintf("a hole only %s wide is drawn with the role cut; it is taken for a cut-out", pattern.Length(w, j.told))
			f.Mend = "give it the role drill if it is a drill mark, else cutout"
			f.Severity = pattern.Note
		}
		f.At, f.Line = at, l.line
		j.addAbout(b, f)
	}
	b.Cutouts = append(b.Cutouts, l.path)
}

// newPiece starts a piece from its outline.
func (j *job) newPiece(s strand, role pattern.Role) *builder {
	b := &builder{group: s.group, outline: s.path, known: j.groups[s.group], bound: s.path.Bound()}
	b.index, b.inside = geom.NewIndex(s.path), newInside(s.path)
	b.Where = s.where
	b.key = orb.Point{b.bound.Min[0], b.bound.Max[1]}
	path := s.path
	if role == pattern.RoleSew {
		b.Sew = append(b.Sew, path)
	} else {
		b.Cut, b.CutSaid = &path, role == pattern.RoleCut
	}
	j.pieces = append(j.pieces, b)
	if b.group != "" {
		j.byGroup[b.group] = append(j.byGroup[b.group], b)
	}
	return b
}

// openOutlines keeps outlines that do not close as pieces, so that they can be shown and refused.
func (j *job) openOutlines(open []strand, role pattern.Role) {
	if j.tooMany(len(open), "open lines of one role") {
		return
	}
	parts := j.linkWide(open)
	// Where nothing is closed, an open line is most likely the outline that a person meant, however wide its gap.
	alone := len(j.pieces) == 0 && len(parts) <= maxLink
	for _, s := range parts {
		ends := geom.Dist(s.path.Points[0], s.path.Points[len(s.path.Points)-1])
		if b := j.holder(s.path, s.group); b != nil {
			if role == pattern.RoleNone {
				b.Marks = append(b.Marks, pattern.Mark{Role: pattern.RoleNone, Path: s.path})
				j.drawStrand(s)
				continue
			}
			j.openInside(b, s, ends)
			continue
		}
		if role == pattern.RoleNone && (ends > wideGap && !alone && !surrounds(s.path, ends) || s.path.Area() < 100) {
			j.leaveStrand("line without a role", "it bounds nothing", s)
			continue
		}
		j.newPiece(s, role)
	}
}

// surrounds tells of an open line that it most likely is an outline with a side not drawn: it is longer than twice its gap, and what
// lies inside is no thinner than a strip of one to six. From memory: the figures keep single lines and shallow arcs out.
func surrounds(p geom.Path, gap float64) bool {
	const small, thin = 2500, 0.03 // mm², and of the square of the way round
	long, area := p.Length(), p.Area()
	return 2*gap < long && area > small && area > thin*(long+gap)*(long+gap)
}

func (j *job) openInside(b *builder, s strand, gap float64) {
	f := pattern.NewFinding(pattern.RuleOutlineOpen,
		fmt.Sprintf("a line with the role cut ends inside a piece; its ends lie %s apart", pattern.Length(gap, j.told)),
		"close it, or give it the role cutout for a slash, mark for an inner line, notch for a notch")
	f.At, f.Line, f.Stretch = pattern.Place(s.path.Points[0]), s.line, s.path.Points
	j.addAbout(b, f)
}

// linkWide brings together the parts of outlines that have more than one gap too wide to bridge, so
// that they are one piece with its faults and not several. The widest gap stays open.
func (j *job) linkWide(open []strand) []strand {
	order, byGroup := grouped(open, func(s strand) string { return s.group })
	var out []strand
	for _, g := range order {
		if len(byGroup[g]) > maxLink {
			out = append(out, byGroup[g]...)
			continue
		}
		out = append(out, j.linkGroup(byGroup[g])...)
	}
	return out
}

// grouped sorts values by their group, and gives the groups in the order in which they are met.
func grouped[T any](all []T, of func(T) string) (order []string, byGroup map[string][]T) {
	byGroup = map[string][]T{}
	for _, v := range all {
		if _, ok := byGroup[of(v)]; !ok {
			order = append(order, of(v))
		}
		byGroup[of(v)] = append(byGroup[of(v)], v)
	}
	return order, byGroup
}

// maxLink bounds the parts among which the nearest ends are looked for again and again.
const maxLink = 40

func (j *job) linkGroup(parts []strand) []strand {
	for {
		bi, bk, best := -1, -1, wideGap
		var flipI, flipK bool
		for i := range parts {
			for k := i + 1; k < len(parts); k++ {
				for turn := range 4 {
					fi, fk := turn&1 == 1, turn&2 == 2
					if d := geom.Dist(tailOf(parts[i].path, fi), tailOf(parts[k].path, !fk)); d < best && d < ownGap(parts[i], parts[k]) {
						bi, bk, best, flipI, flipK = i, k, d, fi, fk
					}
				}
			}
		}
		if bi < 0 {
			return parts
		}
		a, b := turned(parts[bi].path, flipI), turned(parts[bk].path, flipK)
		p, q := a.Points[len(a.Points)-1], b.Points[0]
		f := pattern.NewFinding(pattern.RuleOutlineOpen,
			fmt.Sprintf("the outline has a gap of %s", pattern.FineLength(best, j.told)), pattern.MendGap(best))
		f.At, f.Stretch, f.Line = pattern.Place(geom.Lerp(p, q, 0.5)), []orb.Point{p, q}, parts[bk].line
		j.addIn(parts[bi].group, f)
		parts[bi].path = joinPaths(a, b)
		parts = slices.Delete(parts, bk, bk+1)
	}
}

// ownGap is the smaller of the gaps that the two lines have between their own ends: a line whose
// own ends lie nearer is an outline by itself.
func ownGap(a, b strand) float64 {
	gap := func(p geom.Path) float64 { return geom.Dist(p.Points[0], p.Points[len(p.Points)-1]) }
	return math.Min(gap(a.path), gap(b.path))
}

func tailOf(p geom.Path, flip bool) orb.Point {
	if flip {
		return p.Points[0]
	}
	return p.Points[len(p.Points)-1]
}

func turned(p geom.Path, flip bool) geom.Path {
	if flip {
		return p.Reversed()
	}
	return p
}

func joinPaths(a, b geom.Path) geom.Path {
	q := geom.Path{Points: append(slices.Clone(a.Points), b.Points...)}
	for i := range a.Points {
		q.Corners = append(q.Corners, a.Corner(i))
	}
	for i := range b.Points {
		q.Corners = append(q.Corners, b.Corner(i))
	}
	return q
}

func (j *job) leaveStrand(kind, why string, s strand) {
	j.leave(kind, why, "give it a role if it belongs to a piece", &Item{Path: s.path, Where: s.where, Line: s.line})
}

// drawStrand tells of an inner line of a draft without roles.
func (j *job) drawStrand(s strand) {
	j.leaveDrawn("inner line without a role", "nothing says what it is for", "give it a role: cutout, sew, mark, notch",
		&Item{Path: s.path, Where: s.where, Line: s.line})
}
