package prepare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// sheet is a whole piece with its lines, before it is copied. Letters are added to each copy, since they stay readable
// on a mirrored one.
type sheet struct {
	outline geom.Path
	edgeOf  []string
	lines   []pattern.Line
	uncut   []pattern.Line // lines for a pen, where there is none
	labels  []pattern.Label
	grain   *pattern.Segment
	inner   geom.Path // letters must stay within
	// fold and second are set for a half or quarter on folds, nil for a whole piece.
	fold, second *pattern.Segment
	// onFold is the fold of an opened-out piece.
	onFold *pattern.Segment
	width  string // of the allowance, in words; "" unknown
	// left counts the marks that the device does not make.
	left []tally
}

// within is the line that letters must stay in: the greatest closed sew line inside the cut line, else the cut line.
func within(outline geom.Path, sew []geom.Path) geom.Path {
	inner, most := outline, 0.0
	for _, s := range sew {
		if a := s.Area(); s.Closed && a > most {
			inner, most = s, a
		}
	}
	if most >= outline.Area() {
		return outline // there is no allowance, or the sew line is drawn outside
	}
	return inner
}

// dress adds lines to a whole piece: those that a knife cuts, and for a pen all others.
func (m *maker) dress(w whole) sheet {
	b := newBench(w, m.opt)
	sh := sheet{outline: w.outline, edgeOf: w.edgeOf, grain: m.piece.Grain, onFold: w.fold, inner: w.outline, width: m.widthWords(w)}
	sh.inner = within(w.outline, w.sew)
	pen := penSheet{sheet: &sh, draws: m.opt.pen()}
	for _, c := range w.cutouts {
		sh.lines = append(sh.lines, pattern.Line{Role: pattern.RoleCutout, Path: withCorners(c), Cut: true})
	}
	m.notchStrokes(b, &pen)
	for _, s := range w.sew {
		pen.line("sew line", pattern.RoleSew, withCorners(s))
	}
	for _, mk := range w.marks {
		if mk.Role == pattern.RoleQuality || mk.Role == pattern.RoleIgnore {
			continue // lines only for comparison
		}
		pen.mark(mk)
	}
	for _, d := range w.drills {
		pen.drill(d)
	}
	for _, f := range w.folds {
		pen.line("fold line", pattern.RoleFold, f)
	}
	pen.grain(m.piece.Grain, m.opt.OneWay)
	if pen.draws {
		sh.labels = w.labels
	}
	sh.left = pen.left
	return sh
}

func (m *maker) notchStrokes(b *bench, pen *penSheet) {
	for _, n := range b.notches {
		st, ok := b.seat(n)
		if !ok {
			m.note(pattern.RuleMarksNotMade,
				fmt.Sprintf("the notch at %s lies more than %s from the piece and is not made", m.place(n.At), m.length(pattern.NotchReach)),
				"move it onto the cut line")
			continue
		}
		strokes, cut := b.notchLines(n, st)
		if !cut {
			pen.lines("pen notch", pattern.RoleNotch, strokes)
			continue
		}
		for _, s := range strokes {
			pen.sheet.lines = append(pen.sheet.lines, pattern.Line{Role: pattern.RoleNotch, Path: s, Cut: true})
		}
	}
}

// penSheet collects what only a pen can draw; without a pen it counts the marks for the card, and keeps the lines for
// pictures.
type penSheet struct {
	sheet *sheet
	draws bool
	left  []tally
}

// tally is the number of marks of a kind that are not made.
type tally struct {
	what  string
	count int
}

// drawn is where the lines are kept.
func (p *penSheet) drawn() *[]pattern.Line {
	if p.draws {
		return &p.sheet.lines
	}
	return &p.sheet.uncut
}

// skip counts a mark that is not made; kinds keep their order.
func (p *penSheet) skip(what string) {
	for i := range p.left {
		if p.left[i].what == what {
			p.left[i].count++
			return
		}
	}
	p.left = append(p.left, tally{what: what, count: 1})
}

func (p *penSheet) line(what string, role pattern.Role, path geom.Path) {
	p.lines(what, role, []geom.Path{path})
}

// mark is an inner line under its own name; the tip of a dart, where its legs end, gets a ring.
func (p *penSheet) mark(mk pattern.Mark) {
	lines := p.drawn()
	from := len(*lines)
	p.line(cmp.Or(mk.Label, "inner line"), mk.Role, withCorners(mk.Path))
	for i := range (*lines)[from:] {
		(*lines)[from+i].Label = mk.Label
	}
	if n := len(mk.Path.Points); p.draws && look.KindOf(mk.Role, mk.Label) == look.Dart && n > 0 {
		ring := circle(mk.Path.Points[n-1], dartRing)
		same := func(l pattern.Line) bool {
			return l.Label == ringLabel && geom.Dist(l.Path.Points[0], ring.Points[0]) < geom.CloseTol
		}
		if !slices.ContainsFunc(p.sheet.lines, same) {
			p.sheet.lines = append(p.sheet.lines, pattern.Line{Role: pattern.RoleDrill, Label: ringLabel, Path: ring})
		}
	}
}

// dartRing is the radius of the ring round a dart's tip, mm.
const (
	dartRing  = 2.5
	ringLabel = "point of a dart"
)

// lines are the strokes of one mark.
func (p *penSheet) lines(what string, role pattern.Role, strokes []geom.Path) {
	if !p.draws {
		p.skip(what)
	}
	lines := p.drawn()
	for _, s := range strokes {
		if s.Segments() > 0 {
			*lines = append(*lines, pattern.Line{Role: role, Path: s})
		}
	}
}

// crossArm is half the size of the cross for a drill mark, in mm.
const crossArm = 3.0

// drill is drawn as a cross, in a circle of its diameter where one is known: a pen marks the place for an awl, and a
// drag knife cannot cut holes that small.
func (p *penSheet) drill(d pattern.Drill) {
	if !p.draws {
		p.skip("drill mark")
	}
	lines := p.drawn()
	for _, arm := range []orb.Point{{crossArm, 0}, {0, crossArm}} {
		*lines = append(*lines, pattern.Line{Role: pattern.RoleDrill, Path: sharp(geom.Sub(d.At, arm), geom.Add(d.At, arm))})
	}
	if d.Diameter > 0 {
		*lines = append(*lines, pattern.Line{Role: pattern.RoleDrill, Path: circle(d.At, d.Diameter/2), Diameter: d.Diameter})
	}
}

func circle(c orb.Point, r float64) geom.Path {
	p := geom.Path{Closed: true, Points: []orb.Point{{c[0] + r, c[1]}}}
	p.Points = geom.FlattenArc(p.Points, c, orb.Point{r, 0}, orb.Point{0, r}, 0, 2*math.Pi, geom.FlattenTol)
	p.Points = p.Points[:len(p.Points)-1] // the arc ends at its start
	p.Corners = make([]bool, len(p.Points))
	return p
}

// headArm is the length of the strokes of a grain line's arrow head, in mm.
const headArm = 8.0

// grain is a line with an arrow head at each end, for a piece that may point either way; on material with a nap it has
// one head.
func (p *penSheet) grain(g *pattern.Segment, oneWay bool) {
	if g == nil || geom.Dist(g.A, g.B) < geom.Tiny {
		return
	}
	strokes := []geom.Path{sharp(g.A, g.B), head(g.A, g.B)}
	if !oneWay {
		strokes = append(strokes, head(g.B, g.A))
	}
	p.lines("grain line", pattern.RoleGrain, strokes)
}

// head is the arrow head at b of a line from a.
func head(a, b orb.Point) geom.Path {
	back := geom.Mul(geom.Unit(geom.Sub(a, b)), math.Min(headArm, geom.Dist(a, b)/3))
	const lean = 25 * math.Pi / 180
	return sharp(geom.Add(b, geom.Rotate(lean).Vector(back)), b, geom.Add(b, geom.Rotate(-lean).Vector(back)))
}
