package assemble

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// job is the work on one drawing.
type job struct {
	report
	items   []Item
	groups  map[string]Group
	order   []string // keys of groups as the draft lists them
	noRoles bool
	told    string // the unit in which lengths are told
	pieces  []*builder
	byGroup map[string][]*builder
	work    int // points looked at to find out what lies where
	doubled int
	long    *pattern.Finding // about the first name or text that was cut
	// about and within say of findings, by their number, which piece or which group they are about.
	about  map[int]*builder
	within map[int]string
}

// builder is a piece in the making.
type builder struct {
	pattern.Piece
	group   string
	known   Group
	outline geom.Path // by which things are found to lie inside
	bound   orb.Bound
	index   *geom.Index
	inside  *inside
	sewn    *geom.Index     // of the sew lines, once they are known
	ends    *[2]*geom.Index // of the cut line and the sew lines without what lies on the fold
	drilled map[orb.Point]bool
	texts   []Item
	grains  []Item
	key     orb.Point // top left, for the order
}

// Pieces makes pieces of a drawing, in the order of its groups, then top to bottom and left to
// right, and says what it joined, doubted and left out. The result depends neither on the order of
// the items nor on the direction of the lines.
func Pieces(d Drawing) ([]pattern.Piece, []pattern.Finding) {
	j := &job{groups: map[string]Group{}, byGroup: map[string][]*builder{}, about: map[int]*builder{}, within: map[int]string{}, told: cmp.Or(d.Told, "mm")}
	for _, g := range d.Groups {
		if _, twice := j.groups[g.Key]; !twice {
			j.order = append(j.order, g.Key)
		}
		j.groups[g.Key] = j.shorten(g)
	}
	j.take(d.Items)
	j.noRoles = d.NoRoles || !j.has(pattern.RoleCut) && !j.has(pattern.RoleSew)
	j.settleGroups()
	j.checkScale()
	j.sayIgnored()
	j.outlines()
	j.sewLines()
	j.cutouts()
	j.indexSewLines()
	j.inner()
	j.notches()
	j.finish()
	if j.long != nil {
		j.add(*j.long)
	}
	if j.work > maxWork {
		j.add(pattern.NewFinding(pattern.RuleUnreadable, "the draft has too many lines and points to find out what belongs to which piece",
			"leave in the draft only what its pieces need, or group each piece with its marks"))
	}
	pieces := make([]pattern.Piece, len(j.pieces))
	for i, b := range j.pieces {
		pieces[i] = b.Piece
	}
	if len(pieces) == 0 {
		j.add(pattern.NewFinding(pattern.RuleNoPieces, "no outline of a piece was found in the draft",
			"draw each piece as a closed line and call its layer, class or label \"cut\" or \"sew\""))
	}
	return pieces, j.placed()
}

// sayIgnored warns where the names of most lines say that they are no part of a piece: a program may
// have named the group that holds the whole drawing so.
func (j *job) sayIgnored() {
	var lines, ignored int
	var first *Item
	for i := range j.items {
		it := &j.items[i]
		if len(it.Path.Points) < 2 {
			continue
		}
		if lines++; it.Role == pattern.RoleIgnore {
			if ignored++; first == nil {
				first = it
			}
		}
	}
	if 2*ignored <= lines {
		return
	}
	f := pattern.NewFinding(pattern.RuleLeftOut,
		fmt.Sprintf("%d of the draft's %d lines are left out, because a layer, group or class is named frame, guide, construction or ignore (the first is %s)", ignored, lines, first.Where),
		"give the group another name, if it holds pieces")
	f.Severity, f.Line = pattern.Warning, first.Line
	j.add(f)
}

// take keeps the items that are something.
func (j *job) take(items []Item) {
	for _, it := range items {
		if len(it.Path.Points) == 0 && it.Notch == nil {
			continue
		}
		if !finite(it.Path.Points) {
			j.leave("line with a coordinate that is no number", "it cannot be drawn", "write the coordinates as plain numbers", &it)
			continue
		}
		it.Path = tidy(it.Path)
		if it.Text != "" && it.Role != pattern.RoleIgnore {
			it.Role = pattern.RoleText
		}
		it.Text = j.short(it.Text, it.Line)
		j.items = append(j.items, it)
	}
}

// tidy takes out points that lie on the one before them. A closed line of two points is an open one.
func tidy(p geom.Path) geom.Path {
	same := func(i int) bool { return geom.Dist(p.Points[i-1], p.Points[i]) < geom.Tiny }
	for i := 1; i < len(p.Points); i++ {
		if !same(i) {
			continue
		}
		q := geom.Path{Closed: p.Closed, Points: slices.Clone(p.Points[:i])}
		if p.Corners != nil {
			q.Corners = slices.Clone(p.Corners[:i])
		}
		for ; i < len(p.Points); i++ {
			if last := len(q.Points) - 1; same(i) {
				if q.Corners != nil {
					q.Corners[last] = q.Corners[last] || p.Corners[i]
				}
				continue
			}
			q.Points = append(q.Points, p.Points[i])
			if q.Corners != nil {
				q.Corners = append(q.Corners, p.Corners[i])
			}
		}
		p = q
	}
	p.Closed = p.Closed && len(p.Points) > 2
	return p
}

func finite(pts []orb.Point) bool {
	for _, p := range pts {
		if s := p[0] - p[0] + p[1] - p[1]; s != 0 { // NaN and infinities
			return false
		}
	}
	return true
}

func (j *job) has(role pattern.Role) bool {
	return slices.ContainsFunc(j.items, func(it Item) bool { return it.Role == role })
}

// outlineRole is the role of the lines that bound pieces.
func (j *job) outlineRole() pattern.Role {
	switch {
	case j.noRoles:
		return pattern.RoleNone
	case j.has(pattern.RoleCut):
		return pattern.RoleCut
	}
	return pattern.RoleSew
}

// chains joins the lines of a role, each group by itself, groups in order, the ungrouped last.
func (j *job) chains(role pattern.Role, mend bool) chained {
	byGroup := map[string][]strand{}
	for i := range j.items {
		it := &j.items[i]
		if it.Role != role || it.Notch != nil || it.called() {
			continue
		}
		if len(it.Path.Points) < 2 {
			continue
		}
		byGroup[it.Group] = append(byGroup[it.Group], strand{it.Path, it.Group, it.Where, it.Line})
	}
	var all chained
	for _, g := range append(slices.Clone(j.order), "") {
		lines := j.single(byGroup[g], role)
		if len(lines) == 0 {
			continue
		}
		c := chain(lines, mend)
		for i := range c.mends {
			c.mends[i].group = g
		}
		c.closed = j.single(c.closed, role) // drawn once in one go and once in parts
		all.closed, all.open = append(all.closed, c.closed...), append(all.open, c.open...)
		all.mends = append(all.mends, c.mends...)
		all.crowded = append(all.crowded, c.crowded...)
	}
	j.tellMends(all)
	return all
}

// maxMends is how many joints of one role are told one by one.
const maxMends = 100

func (j *job) tellMends(c chained) {
	if more := len(c.mends) - maxMends; more > 0 {
		f := pattern.NewFinding(pattern.RuleGapBridged,
			fmt.Sprintf("beyond %d gaps and overruns that are listed, %d more were mended", maxMends, more),
			"have the drawing program join its lines before saving")
		f.Severity = pattern.Warning
		j.add(f)
		c.mends = c.mends[:maxMends]
	}
	for _, m := range c.mends {
		f := pattern.NewFinding(pattern.RuleGapBridged,
			fmt.Sprintf("a gap of %s between two ends was bridged with a straight line", pattern.FineLength(m.size, j.told)),
			"draw the two lines to the same point")
		if !m.bridged {
			f = pattern.NewFinding(pattern.RuleOverlapTrimmed,
				fmt.Sprintf("two lines ran past each other by %s and were cut back to where they meet", pattern.FineLength(m.size, j.told)),
				"end both lines where they meet")
		}
		f.At, f.Line = pattern.Place(m.mid), m.line
		j.addIn(m.group, f)
	}
	for i, at := range c.crowded {
		if i == maxMends {
			break
		}
		f := pattern.NewFinding(pattern.RuleUnreadable,
			fmt.Sprintf("more than %d line ends meet at one place, so that no outline can be followed there", maxMeet),
			"draw each outline once, as one closed line")
		f.At = pattern.Place(at)
		j.add(f)
	}
}

// addAbout and addIn add a finding about a piece, or about one of a group's pieces.
func (j *job) addAbout(b *builder, f pattern.Finding) {
	j.about[len(j.findings)] = b
	j.add(f)
}

func (j *job) addIn(group string, f pattern.Finding) {
	j.within[len(j.findings)] = group
	j.add(f)
}

// placed fills in which piece a finding is about: as it was said, else by its place.
func (j *job) placed() []pattern.Finding {
	fs := j.all()
	for i := range fs {
		f := &fs[i]
		if f.At == nil || f.Rule == pattern.RuleLeftOut {
			continue
		}
		group := j.within[i]
		best := math.Inf(1)
		for k, b := range j.pieces {
			if j.about[i] == b {
				f.Index, f.Piece = k, b.Name
				break
			}
			if j.about[i] != nil || group != "" && b.group != group || !near(b.bound, *f.At) {
				continue
			}
			for _, line := range b.lines() {
				if n := line.Nearest(*f.At); n.Dist <= touchTol && n.Dist < best {
					best, f.Index, f.Piece = n.Dist, k, b.Name
				}
			}
		}
	}
	return fs
}

// lines are the outline and sew lines of a piece.
func (b *builder) lines() []geom.Path {
	var out []geom.Path
	if b.Cut != nil {
		out = append(out, *b.Cut)
	}
	return append(append(out, b.Sew...), b.Cutouts...)
}
