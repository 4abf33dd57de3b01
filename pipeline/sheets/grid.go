package sheets

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// grid divides a plane, mm, y up, into sheets that overlap. Sheet (0, 0) has its upper left corner at the origin;
// columns count to the right, rows down.
type grid struct {
	wide, high float64 // of the frame of one sheet
	overlap    float64
}

// cell is a sheet's place.
type cell struct{ col, row int }

// step is how far the next sheet lies to the right, and down.
func (g grid) step() (x, y float64) { return g.wide - g.overlap, g.high - g.overlap }

// box is the frame of a sheet.
func (g grid) box(c cell) orb.Bound {
	sx, sy := g.step()
	x, y := float64(c.col)*sx, -float64(c.row)*sy
	return orb.Bound{Min: orb.Point{x, y - g.high}, Max: orb.Point{x + g.wide, y}}
}

// cells are those whose frames meet a box.
func (g grid) cells(b orb.Bound) []cell {
	sx, sy := g.step()
	var out []cell
	for row := max(0, int(math.Ceil((-b.Max[1]-g.high)/sy))); float64(row)*sy <= -b.Min[1]; row++ {
		for col := max(0, int(math.Ceil((b.Min[0]-g.wide)/sx))); float64(col)*sx <= b.Max[0]; col++ {
			out = append(out, cell{col, row})
		}
	}
	return out
}

// inkLine is a line as it is drawn on the plane, already divided into its dashes.
type inkLine struct {
	kind  look.Kind
	paths []geom.Path
	layer int // of its size, 0 for none
}

// word is a line of letters, and how wide it may be, mm.
type word struct {
	pattern.Word
	wide  float64
	layer int
}

// laid is a piece at its place on the plane.
type laid struct {
	ready   int // index into the shapes
	place   geom.Affine
	outline geom.Path
	lines   []inkLine
	words   []word
	box     orb.Bound // of all ink
	home    *cell     // the sheet on which it lies whole, nil where it is divided
	on      []cell    // the sheets that show it
}

// newLaid moves a piece to its place, with the lines as they are drawn.
func newLaid(ready []shape, i int, place geom.Affine) laid {
	return piece(ready, i, place, func(k look.Kind, p geom.Path) []geom.Path {
		var out []geom.Path
		for _, q := range look.Lines(k, p.Apply(place)) {
			out = append(out, look.Of(k).Strokes(q)...)
		}
		return out
	})
}

// rough is a piece in its own frame, with lines as coarse as the search for a place allows.
func rough(ready []shape, i int) laid {
	return piece(ready, i, geom.Identity, func(k look.Kind, p geom.Path) []geom.Path {
		lines := look.Lines(k, p)
		for i := range lines {
			lines[i] = lines[i].Thin(0.5)
		}
		return lines
	})
}

func piece(ready []shape, i int, place geom.Affine, drawn func(look.Kind, geom.Path) []geom.Path) laid {
	s := &ready[i]
	l := laid{ready: i, place: place, outline: s.Outline.Apply(place), box: emptyBox()}
	for n, m := range s.members {
		l.add(m, n == 0, drawn)
	}
	return l
}

// add collects the lines of a piece, or of one of several sizes, and the words of the first size.
func (l *laid) add(m member, first bool, drawn func(look.Kind, geom.Path) []geom.Path) {
	line := func(k look.Kind, p geom.Path) {
		if len(p.Points) == 0 || m.layer > 0 && !nested[k] && !(first && k == look.Grain) {
			return
		}
		ln := inkLine{k, drawn(k, p.Apply(m.align)), m.layer}
		for _, q := range ln.paths {
			l.box = l.box.Union(q.Bound())
		}
		l.lines = append(l.lines, ln)
	}
	write := func(w word) { l.words, l.box = append(l.words, w), l.box.Union(w.box().Bound()) }
	put := l.place.After(m.align)
	for _, p := range m.piece.CutLines() {
		line(look.Cut, p)
		if m.layer > 0 {
			for _, w := range sizeWords(p.Apply(put), m.piece.Size, m.layer) {
				write(w)
			}
		}
	}
	var last *pattern.Word
	for _, ln := range m.piece.Lines {
		w := ln.Word
		if w == nil {
			line(look.KindOf(ln.Role, ln.Label), ln.Path)
			continue
		}
		if w == last || !first {
			continue
		}
		last = w
		write(word{pattern.Word{Text: w.Text, At: put.Apply(w.At), Along: put.Vector(w.Along), Height: w.Height}, strokeWidth(w), 0})
	}
}

func emptyBox() orb.Bound {
	return orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
}

// moved is the piece brought to another place.
func (l laid) moved(t geom.Affine) laid {
	l.place, l.outline = t.After(l.place), l.outline.Apply(t)
	lines, words := l.lines, l.words
	l.lines, l.words, l.box = make([]inkLine, 0, len(lines)), make([]word, 0, len(words)), emptyBox()
	for _, ln := range lines {
		moved := inkLine{kind: ln.kind, layer: ln.layer}
		for _, p := range ln.paths {
			p = p.Apply(t)
			moved.paths, l.box = append(moved.paths, p), l.box.Union(p.Bound())
		}
		l.lines = append(l.lines, moved)
	}
	for _, w := range words {
		w.At, w.Along = t.Apply(w.At), t.Vector(w.Along)
		l.words, l.box = append(l.words, w), l.box.Union(w.box().Bound())
	}
	return l
}

// within is all ink of the piece in a box.
func (l *laid) within(box orb.Bound) []geom.Path {
	var out []geom.Path
	if !l.box.Intersects(box) {
		return nil
	}
	for _, ln := range l.lines {
		for _, p := range ln.paths {
			out = append(out, within(p, box)...)
		}
	}
	for i := range l.words {
		out = append(out, within(l.words[i].box(), box)...)
	}
	return out
}

// box is the outline of a word.
func (w word) box() geom.Path {
	up := geom.Left(w.Along)
	long := geom.Mul(w.Along, w.wide)
	low := geom.Add(w.At, geom.Mul(up, -0.3*w.Height))
	high := geom.Add(w.At, geom.Mul(up, 1.1*w.Height))
	return geom.Path{Closed: true, Points: []orb.Point{low, geom.Add(low, long), geom.Add(high, long), high}}
}

// share finds the sheets of a lay: which sheets show which piece, and which are joined. A piece with a home is shown
// there, and on a joined neighbour that would cover it. Any other piece is shown on every sheet that it reaches; a
// sheet is left out where all its ink is on others too.
func (g grid) share(pieces []laid) (sheets []cell, joins []join) {
	ink := map[cell][]int{} // indexes of the divided pieces on each sheet
	used := map[cell]bool{}
	for i := range pieces {
		p := &pieces[i]
		if p.home != nil {
			used[*p.home] = true
			continue
		}
		for _, c := range g.cells(p.box) {
			if len(p.within(g.box(c))) > 0 {
				ink[c] = append(ink[c], i)
			}
		}
	}
	for _, c := range slices.Backward(sortedCells(ink)) { // from the last back, so that no row is begun for ink that the row before shows too
		if !used[c] && g.covered(pieces, ink, c) {
			delete(ink, c)
		}
	}
	for c := range ink {
		used[c] = true
	}
	sheets = sortedCells(used)
	joins = g.join(pieces, ink, sheets)
	for i := range pieces {
		p := &pieces[i]
		p.on = nil
		for _, c := range sheets {
			switch {
			case p.home == nil && slices.Contains(ink[c], i), p.home != nil && *p.home == c,
				p.home != nil && joined(joins, *p.home, c) && len(p.within(g.box(c))) > 0:
				p.on = append(p.on, c)
			}
		}
	}
	return sheets, joins
}

// covered reports whether all ink on a sheet is on its neighbours too.
func (g grid) covered(pieces []laid, ink map[cell][]int, c cell) bool {
	box := g.box(c)
	for _, i := range ink[c] {
		left := pieces[i].within(box)
		for _, n := range around(c) {
			if slices.Contains(ink[n], i) {
				left = outside(left, g.box(n))
			}
		}
		if len(left) > 0 {
			return false
		}
	}
	return true
}

// around are the eight places beside one.
func around(c cell) []cell {
	var out []cell
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if dr != 0 || dc != 0 {
				out = append(out, cell{c.col + dc, c.row + dr})
			}
		}
	}
	return out
}

func sortedCells[V any](of map[cell]V) []cell {
	return slices.SortedFunc(maps.Keys(of), func(a, b cell) int { return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.col, b.col)) })
}

// join is a side at which two sheets are taped together: b lies to the right of a, or below it. Number counts from 1.
type join struct {
	a, b   cell
	number int
}

func (j join) below() bool { return j.b.row > j.a.row }

// join finds the sides across which a piece runs.
func (g grid) join(pieces []laid, ink map[cell][]int, sheets []cell) []join {
	var out []join
	for _, a := range sheets {
		for _, b := range []cell{{a.col + 1, a.row}, {a.col, a.row + 1}} {
			if !slices.Contains(sheets, b) {
				continue
			}
			strip, _ := meet(g.box(a), g.box(b))
			if slices.ContainsFunc(pieces, func(p laid) bool {
				return p.home == nil && p.box.Intersects(strip) && (p.outline.Contains(strip.Center()) || len(p.within(strip)) > 0)
			}) {
				out = append(out, join{a, b, len(out) + 1})
			}
		}
	}
	return out
}

// meet is the intersection of two boxes.
func meet(a, b orb.Bound) (orb.Bound, bool) {
	for k := range 2 {
		a.Min[k], a.Max[k] = math.Max(a.Min[k], b.Min[k]), math.Min(a.Max[k], b.Max[k])
	}
	return a, a.Min[0] <= a.Max[0] && a.Min[1] <= a.Max[1]
}

func joined(joins []join, a, b cell) bool {
	return slices.ContainsFunc(joins, func(j join) bool { return j.a == a && j.b == b || j.a == b && j.b == a })
}

// strokeWidth is how wide a word is in the single strokes that a plotter draws, mm.
func strokeWidth(w *pattern.Word) float64 {
	_, width := letters.Strokes(w.Text, w.Height)
	return width
}
