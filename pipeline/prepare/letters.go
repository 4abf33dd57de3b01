package prepare

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/pattern"
)

const (
	// leastLetters is the smallest height of letters that is readable on a plotted piece, in mm.
	leastLetters = 3.0
	// lineStep is the line spacing, in heights.
	lineStep = 1.6
	// clear is the distance between letters and any line, in mm.
	clear = 2.0
	// looks is the number of places tried in each direction.
	looks = 17
)

// letter writes a copy's heading on it: along the grain, else along its longer side, inside the sew line, clear of the
// grain line and, if possible, of marks. A piece that is too small gets smaller letters, or has them beside it, which
// is reported.
func (m *maker) letter(r *pattern.Ready, inner geom.Path, sh sheet, place geom.Affine) {
	m.ownLabels(r, sh, place)
	lines := m.heading(r, sh)
	spaces := []*labelSpace{newLabelSpace(r, inner, reading(r.Grain))}
	if along := longer(inner); math.Abs(along-reading(r.Grain)) > 1e-6 {
		spaces = append(spaces, newLabelSpace(r, inner, along))
	}
	d, h := m.write(r, spaces, lines)
	if d != nil && m.opt.Net {
		large(r, d, h)
	}
	switch {
	case d != nil && h < smallLetters && r.Copy == 1:
		m.note(pattern.RuleLettersShrunk, fmt.Sprintf("the piece is small, so its letters are %s high", m.length(math.Round(h))), "no action needed if they can be read")
	case d == nil && !m.opt.Cuts:
		besideOutline(r, lines)
		if r.Copy == 1 {
			m.note(pattern.RuleLettersShrunk, "the piece is too small for its letters, which stand beside it", "cut them out with it, or pin them to it")
		}
	case d == nil && r.Copy == 1: // beside the piece is waste
		m.note(pattern.RuleLettersShrunk, "the piece is too small for its letters and bears none",
			"mark it by hand: "+lines[0])
	}
	if d == nil {
		d = spaces[0]
	}
	nameLines(r, d)
}

// netWords are written large on a piece that is cut along its sew line.
const netWords = "NO SEAM ALLOWANCE"

// large writes in a space of a piece that there is no allowance, as large as fits, up to three times the heading's
// height.
func large(r *pattern.Ready, d *labelSpace, heading float64) {
	for h := 3 * heading; h > heading; h-- {
		for _, lines := range [][]string{{netWords}, strings.Fields(netWords)} {
			b := newBlock(lines, h)
			if at, ok := d.spot(b.width, b.height, true); ok {
				b.write(r, d.out(at, b))
				return
			}
		}
	}
}

// smallLetters is the height in mm below which the letters' size is reported.
const smallLetters = 5.0

// write puts the heading on the piece, as high as fits, and gives the space and the height; nil where it does not fit.
// It avoids every mark unless the letters would become small.
func (m *maker) write(r *pattern.Ready, spaces []*labelSpace, lines []string) (*labelSpace, float64) {
	for _, soft := range []bool{true, false} {
		least := leastLetters
		if soft {
			least = min(smallLetters, m.opt.letterHeight())
		}
		for h := m.opt.letterHeight(); h >= least; h-- {
			for _, d := range spaces {
				for _, form := range forms(lines) {
					b := newBlock(form, h)
					if at, ok := d.spot(b.width, b.height, soft); ok {
						b.write(r, d.out(at, b))
						return d, h
					}
				}
			}
		}
	}
	return nil, 0
}

// longer is the direction of the longer side of a piece's box.
func longer(p geom.Path) float64 {
	if w, h := span(p.Bound()); h > w {
		return math.Pi / 2
	}
	return 0
}

// forms are the ways to break the heading: line by line, two to a line, and all in one for a strap.
func forms(lines []string) [][]string {
	out := [][]string{lines}
	if len(lines) > 2 {
		var paired []string
		for i := 0; i < len(lines); i += 2 {
			paired = append(paired, strings.Join(lines[i:min(i+2, len(lines))], "   "))
		}
		out = append(out, paired)
	}
	return append(out, []string{strings.Join(lines, "   ")})
}

// ownLabels writes the draft's own labels at their places, except the piece's name, which is in the heading.
func (m *maker) ownLabels(r *pattern.Ready, sh sheet, place geom.Affine) {
	for _, l := range sh.labels {
		if l.Text == "" || l.Text == m.piece.Name {
			continue
		}
		h := labelHeight(l)
		strokes, width := letters.Strokes(l.Text, h)
		turn := geom.Rotate(l.AngleDeg * math.Pi / 180)
		at := place.Apply(l.At)
		if place.Det() < 0 { // readable, so it ends where its mirror image would begin
			reading := turn.Vector(orb.Point{1, 0})
			if geom.Dot(place.Vector(reading), reading) < 0 {
				at = geom.Sub(at, geom.Mul(reading, width))
			}
		}
		put := geom.Translate(at[0], at[1]).After(turn)
		text{l.Text, orb.Point{}, strokes}.write(r, h, put, orb.Point{width / 2, h / 2})
	}
}

// labelHeight is the height of a label's letters, mm.
func labelHeight(l pattern.Label) float64 {
	if l.Height <= 0 {
		return 5
	}
	return l.Height
}

// block is several lines of letters, its lower left corner at (0, 0).
type block struct {
	lines         []text
	letter        float64 // height of capitals
	width, height float64
}

// text is a line of letters from the left end of its baseline.
type text struct {
	words   string
	at      orb.Point
	strokes []geom.Path
}

func newBlock(lines []string, h float64) block {
	b := block{letter: h, height: h * (1 + lineStep*float64(len(lines)-1))}
	for i, words := range lines {
		strokes, width := letters.Strokes(words, h)
		at := orb.Point{0, b.height - h - lineStep*h*float64(i)}
		for k := range strokes {
			strokes[k] = strokes[k].Apply(geom.Translate(at[0], at[1]))
		}
		b.lines = append(b.lines, text{words, at, strokes})
		b.width = math.Max(b.width, width)
	}
	return b
}

// write puts a block on a piece.
func (b block) write(r *pattern.Ready, put geom.Affine) {
	for _, t := range b.lines {
		t.write(r, b.letter, put, orb.Point{b.width / 2, b.height / 2})
	}
}

// write puts the strokes of a line on a piece; middle is the middle of its block. The strokes share the words, for a
// device that letters by itself.
func (t text) write(r *pattern.Ready, height float64, put geom.Affine, middle orb.Point) {
	word := &pattern.Word{Text: t.words, At: put.Apply(t.at), Along: put.Vector(orb.Point{1, 0}), Height: height, Middle: put.Apply(middle)}
	for _, s := range t.strokes {
		r.Lines = append(r.Lines, pattern.Line{Role: pattern.RoleText, Path: s.Apply(put), Word: word})
	}
}

// labelSpace finds space for letters on a piece, with the letters along x.
type labelSpace struct {
	turn    geom.Affine // to the space's frame
	back    geom.Affine
	edge    []geom.Path // lines that letters must not touch
	soft    []geom.Path // lines that letters avoid if possible
	inner   geom.Path
	holes   []geom.Path // openings, in which letters would be lost
	box     orb.Bound
	near    orb.Point // the best place for letters
	written []orb.Bound
}

// thinTo is the tolerance to which lines are simplified for the search; clear is larger.
const thinTo = 0.3

func newLabelSpace(r *pattern.Ready, inner geom.Path, angle float64) *labelSpace {
	d := &labelSpace{turn: geom.Rotate(-angle), back: geom.Rotate(angle)}
	d.inner = coarse(inner).Apply(d.turn)
	d.edge = []geom.Path{d.inner}
	for _, l := range r.Lines {
		if l.Role == pattern.RoleCutout && l.Path.Closed {
			d.holes = append(d.holes, coarse(l.Path).Apply(d.turn))
		}
		switch l.Role {
		case pattern.RoleCutout, pattern.RoleNotch, pattern.RoleFold, pattern.RoleGrain:
			d.edge = append(d.edge, coarse(l.Path).Apply(d.turn))
		case pattern.RoleSew: // inner already, or an open seam beside it
		default:
			d.soft = append(d.soft, coarse(l.Path).Apply(d.turn))
		}
	}
	d.box = d.inner.Bound()
	d.near = d.box.Center()
	if r.Grain != nil {
		d.near = d.in(geom.Lerp(r.Grain.A, r.Grain.B, 0.5))
	}
	return d
}

// coarse simplifies a line, corners included, because letters only keep a distance from it.
func coarse(p geom.Path) geom.Path {
	return geom.Path{Points: p.Points, Corners: make([]bool, len(p.Points)), Closed: p.Closed}.Thin(thinTo)
}

// reading is the direction of letters: along the grain, never upside down.
func reading(g *pattern.Segment) float64 {
	if g == nil || geom.Dist(g.A, g.B) < geom.Tiny {
		return 0
	}
	v := geom.Sub(g.B, g.A)
	a := math.Atan2(v[1], v[0])
	const half = math.Pi / 2
	if a > half+1e-9 {
		a -= math.Pi
	} else if a <= -half+1e-9 {
		a += math.Pi
	}
	return a
}

func (d *labelSpace) in(p orb.Point) orb.Point { return d.turn.Apply(p) }

// out maps a block to the piece, its middle at c.
func (d *labelSpace) out(c orb.Point, b block) geom.Affine {
	d.written = append(d.written, boxAt(c, b.width, b.height))
	return d.back.After(geom.Translate(c[0]-b.width/2, c[1]-b.height/2))
}

func boxAt(c orb.Point, w, h float64) orb.Bound {
	return orb.Bound{Min: orb.Point{c[0] - w/2, c[1] - h/2}, Max: orb.Point{c[0] + w/2, c[1] + h/2}}
}

// spot finds the middle of a free place of a size, the nearest to the best place: clear of every mark with soft, else
// of the lines that matter.
func (d *labelSpace) spot(w, h float64, soft bool) (orb.Point, bool) {
	bw, bh := span(d.box)
	if w+2*clear > bw || h+2*clear > bh {
		return orb.Point{}, false
	}
	var places []orb.Point
	for i := range looks {
		for k := range looks {
			x := d.box.Min[0] + (bw-w)*float64(i)/(looks-1) + w/2
			y := d.box.Min[1] + (bh-h)*float64(k)/(looks-1) + h/2
			places = append(places, orb.Point{x, y})
		}
	}
	sort.SliceStable(places, func(i, j int) bool { return geom.Dist(places[i], d.near) < geom.Dist(places[j], d.near) })
	for _, c := range places {
		if d.free(c, w, h, soft) {
			return c, true
		}
	}
	return orb.Point{}, false
}

func span(b orb.Bound) (w, h float64) { return b.Max[0] - b.Min[0], b.Max[1] - b.Min[1] }

// free reports whether a box is inside the piece and clear of lines.
func (d *labelSpace) free(c orb.Point, w, h float64, soft bool) bool {
	box := boxAt(c, w+2*clear, h+2*clear)
	for _, b := range d.written {
		if b.Intersects(box) {
			return false
		}
	}
	if crossesAny(d.edge, box) || !d.inner.Contains(c) || slices.ContainsFunc(d.holes, func(h geom.Path) bool { return h.Contains(c) }) {
		return false
	}
	return !soft || !crossesAny(d.soft, box)
}

func crossesAny(lines []geom.Path, box orb.Bound) bool {
	for _, l := range lines {
		for i := range l.Segments() {
			a, b := l.Segment(i)
			if enters(a, b, box) {
				return true
			}
		}
	}
	return false
}

// enters reports whether a segment has a point in a box, by clipping it at the box's four lines.
func enters(a, b orb.Point, box orb.Bound) bool {
	t0, t1 := 0.0, 1.0
	for k := range 2 {
		d := b[k] - a[k]
		if d == 0 {
			if a[k] < box.Min[k] || a[k] > box.Max[k] {
				return false
			}
			continue
		}
		lo, hi := (box.Min[k]-a[k])/d, (box.Max[k]-a[k])/d
		t0, t1 = math.Max(t0, math.Min(lo, hi)), math.Min(t1, math.Max(lo, hi))
		if t0 > t1 {
			return false
		}
	}
	return true
}
