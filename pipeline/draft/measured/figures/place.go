package figures

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Cloth is a cloth on which the pieces lie, lengths in the figures' unit, as its tape is read.
type Cloth struct {
	Name  string `json:"name"`
	Width string `json:"width"`
	Usual bool   `json:"usual_width,omitempty"` // nobody says how wide it lies
	Fold  string `json:"fold"`
	Laid  string `json:"laid"` // what the pieces take of its length
	Buy   string `json:"buy"`  // what is to be bought, as a shop says it
	// First is the first lay that is found, which a search may better.
	First bool `json:"first_lay,omitempty"`
}

// ClothWords say how the cloth lies while it is chalked.
func (f *Figures) ClothWords(c Cloth) string {
	out := fmt.Sprintf("%s, %s wide, %s; %s of its length is laid, to buy %s", c.Name, c.Width, c.Fold, c.Laid, c.Buy)
	if c.First {
		out += " by this lay, the first that is found: `tracewheel lay` searches longer and may find a shorter one"
	}
	out += ". It lies right side up, its cut end at your left"
	if c.Usual {
		out += ". Nobody says how wide this cloth is, so a usual width is taken: measure yours before you chalk"
	}
	return out
}

// Place is where a piece begins on its cloth, of one copy or of two that are cut at once from two layers.
type Place struct {
	Cloth  string `json:"cloth"`
	Copies []int  `json:"copies"`
	// Point is the place at which the outline begins: so far from the cut end, and so far from Edge, a fold or a selvedge.
	Point      string  `json:"point"`
	FromCutEnd string  `json:"from_cut_end"`
	Edge       string  `json:"edge"`
	FromEdge   string  `json:"from_edge"`
	X          float64 `json:"x"` // the same unrounded
	Y          float64 `json:"y"`
	// Down and Across say which way the two measures of the list run on the cloth.
	Down   string `json:"down"`
	Across string `json:"across"`
	// Turned is a piece whose grain points to the cut end, Over one that lies as the picture's mirror image. Opened is a
	// half that lies in one layer, where its other half is chalked too.
	Turned bool `json:"turned_round,omitempty"`
	Over   bool `json:"other_way_up,omitempty"`
	Opened bool `json:"opened_out,omitempty"`
	// Twice is a quarter, on cloth that is folded twice: FoldAt is how far from the cut end the fold across the cloth lies,
	// FoldUp, of a quarter in one layer, how far from Edge the fold along it.
	Twice  bool   `json:"on_two_folds,omitempty"`
	FoldAt string `json:"second_fold_from_cut_end,omitempty"`
	FoldUp string `json:"first_fold_from_edge,omitempty"`

	first float64     // where it begins to take of the cloth's length, mm
	on    geom.Affine // from the piece as it was drawn to the cloth, mm
	seen  orb.Bound   // the cloth that a person sees who chalks it
}

// Words say the place in a sentence; of is how many copies the piece has.
func (p Place) Words(of int) string {
	out := ""
	switch {
	case len(p.Copies) > 1 && of > len(p.Copies):
		out = fmt.Sprintf("copies %d and %d, from two layers at once: ", p.Copies[0], p.Copies[1])
	case len(p.Copies) > 1:
		out = "both copies, from two layers at once: "
	case of > 1:
		out = fmt.Sprintf("copy %d: ", p.Copies[0])
	}
	out += fmt.Sprintf("%s lies %s from the cut end and %s from %s; down runs %s, across %s", p.Point, p.FromCutEnd, p.FromEdge, p.Edge, p.Down, p.Across)
	if p.Turned {
		out += "; turned round"
	}
	if p.Over {
		out += "; the other way up: the mirror image of the picture"
	}
	switch {
	case p.Twice && p.Opened:
		out += fmt.Sprintf("; in one layer: fold the cloth along its length %s from %s, then across %s from the cut end, and chalk the quarter; or chalk the other three quarters beyond the fold lines too", p.FoldUp, p.Edge, p.FoldAt)
	case p.Twice:
		out += fmt.Sprintf("; fold the cloth once more, across, %s from the cut end, and chalk the quarter: four layers are cut at once", p.FoldAt)
	case p.Opened:
		out += "; in one layer: chalk its other half beyond the fold line too"
	}
	return out
}

// Lay tells of each piece of the ready ones where it lies on a cloth, and puts the pieces in the order in which they lie
// from the cut end. Cloths follow one another as they are told.
func (f *Figures) Lay(c Cloth, l *pattern.Lay, ready []pattern.Ready) {
	u := tapeUnits[f.Unit]
	c.Width, c.Laid, c.Fold = u.say(l.Material.Width/u.mm), u.say(math.Ceil((l.LengthUsed-0.001)/u.mm*u.parts)/u.parts), l.Fold.Words()
	f.Cloths = append(f.Cloths, c)
	s := spread{l: l, ready: ready, cloth: c.Name, unit: u}
	for k, p := range l.Placements {
		r := &ready[p.Ready]
		for i := range f.Pieces { // of one that is told in halves, both
			q := &f.Pieces[i]
			if cmp.Or(q.Half, q.Name) != r.Name || q.drawn.Size != r.Size {
				continue
			}
			if place, ok := s.place(k, q); ok {
				q.Places = append(q.Places, place)
				q.swingOnCloth(place)
			}
		}
	}
	for i := range f.Pieces {
		slices.SortStableFunc(f.Pieces[i].Places, f.before)
	}
	slices.SortStableFunc(f.Pieces, func(a, b PieceFigures) int {
		if len(a.Places) == 0 || len(b.Places) == 0 {
			return cmp.Compare(len(b.Places), len(a.Places))
		}
		return f.before(a.Places[0], b.Places[0])
	})
}

// before orders places by their cloths, and on each from the cut end.
func (f *Figures) before(a, b Place) int {
	at := func(p Place) int {
		return slices.IndexFunc(f.Cloths, func(c Cloth) bool { return c.Name == p.Cloth })
	}
	return cmp.Or(cmp.Compare(at(a), at(b)), cmp.Compare(a.first, b.first), cmp.Compare(a.Y, b.Y))
}

// spread is a lay as a person stands before it: of folded cloth the layer that lies uppermost.
type spread struct {
	l     *pattern.Lay
	ready []pattern.Ready
	cloth string
	unit  tapeUnit
}

// edge is a line along the cloth from which a measure across it is taken, with the cloth that is seen on its one side.
type edge struct {
	name string
	y    float64
	side float64 // 1 where the seen cloth lies beyond it, -1 where it lies before it
}

// place tells where the k-th placement begins; false of a copy that is cut from the lower layer, with another one.
func (s spread) place(k int, pc *PieceFigures) (Place, bool) {
	p := s.l.Placements[k]
	r := &s.ready[p.Ready]
	box := r.Outline.Apply(p.Map).Bound()
	m := p.Map
	if r.Place != (geom.Affine{}) {
		m = m.After(r.Place)
	}
	if pc.Mirrored {
		mirror := geom.Affine{A: -1, D: 1}
		if fold := pc.drawn.FoldLine(); pc.Half != "" && fold != nil { // the other half of a piece that is opened out
			mirror = geom.MirrorLine(fold.A, fold.B)
		}
		m = m.After(mirror)
	}
	line := pc.drawn.EdgeLine()
	if line == nil || len(pc.Marking.Outline) == 0 {
		return Place{}, false
	}
	start, middle := m.Apply(line.Points[0]), m.Apply(line.Bound().Center())
	from := edge{"the near selvedge", 0, 1}
	out := Place{Cloth: s.cloth, Copies: []int{r.Copy}, Twice: pc.Twice, first: box.Min[0]}
	if fold, half, ok := s.foldOf(box); ok {
		from = fold
		seen := (middle[1]-fold.y)*fold.side > 0
		switch {
		case half && !seen:
			m = geom.Affine{A: 1, D: -1, F: 2 * fold.y}.After(m)
			start = m.Apply(line.Points[0])
		case !half && !seen:
			return Place{}, false
		case !half:
			out.Copies = append(out.Copies, s.below(k, fold)...)
			slices.Sort(out.Copies)
		}
	} else {
		out.Opened = pc.OnFold
		if s.l.Fold == pattern.FoldPart && box.Max[0] <= s.l.Opened+tiny {
			from = edge{"the far selvedge", s.l.Material.Width, -1} // the near one is turned under
		}
	}
	out.on, out.seen = m, s.seenFrom(from)
	mm := s.unit.mm
	out.X, out.Y = start[0]/mm, (start[1]-from.y)*from.side/mm
	out.Point, out.Edge = pc.begins(), from.name
	out.FromCutEnd, out.FromEdge = s.unit.say(out.X), s.unit.say(out.Y)
	out.Down, out.Across = from.way(m.Vector(orb.Point{0, -1})), from.way(m.Vector(orb.Point{1, 0}))
	if second := pc.drawn.Second; pc.Twice && second != nil {
		out.FoldAt = s.unit.say(m.Apply(second.A)[0] / mm)
		if out.Opened {
			out.FoldUp = s.unit.say((m.Apply(pc.drawn.Fold.A)[1] - from.y) * from.side / mm)
		}
	}
	out.Over = m.Det() < 0
	if g := pc.drawn.Grain; g != nil {
		out.Turned = m.Vector(geom.Sub(g.B, g.A))[0] < -geom.Tiny
	}
	return out, true
}

// foldOf is the fold on which a piece lies in two layers, by the box that it takes of the cloth opened out; half where it
// lies across it.
func (s spread) foldOf(box orb.Bound) (fold edge, half, ok bool) {
	if s.l.Fold == pattern.FoldNone || box.Max[0] > s.l.Opened+0.1 {
		return fold, false, false
	}
	folds := s.l.FoldLines()
	y := box.Center()[1]
	near := edge{"the fold", folds[0], 1}
	if len(folds) > 1 {
		near.name = "the near fold"
		if y > s.l.Material.Width/2 {
			near = edge{"the far fold", folds[1], -1}
		}
	}
	half = box.Min[1] < near.y-0.1 && box.Max[1] > near.y+0.1
	return near, half, half || s.l.Fold != pattern.FoldPart
}

// seenFrom is the cloth that is seen from a fold or a selvedge on.
func (s spread) seenFrom(from edge) orb.Bound {
	out := orb.Bound{Max: orb.Point{s.l.LengthUsed, s.l.Material.Width}}
	folds := s.l.FoldLines()
	switch {
	case from.name == "the near selvedge" || len(folds) == 0:
	case len(folds) == 1:
		out.Min[1] = folds[0]
	case from.side > 0:
		out.Min[1], out.Max[1] = from.y, s.l.Material.Width/2
	default:
		out.Min[1], out.Max[1] = s.l.Material.Width/2, from.y
	}
	return out
}

// swingOnCloth tells each arc from the straight line whose centre lies off the cloth where a copy lies: there is nothing to hold
// the tape on.
func (p *PieceFigures) swingOnCloth(at Place) {
	const edge = 5.0 // mm: a tape is held on the edge itself
	m := p.Marking
	box := p.drawn.EdgeLine().Bound()
	for i := range m.Outline {
		r := &m.Outline[i]
		if r.Swing == nil {
			continue
		}
		mm := m.scale * m.unit.mm
		c := at.on.Apply(orb.Point{box.Min[0] + r.Swing.X*mm, box.Max[1] - r.Swing.Y*mm})
		if !at.seen.Pad(edge).Contains(c) {
			r.Swing, r.Offsets = nil, r.beside
		}
	}
}

// below are the copies that are cut with the k-th placement from the layer under it.
func (s spread) below(k int, fold edge) (copies []int) {
	box := func(p pattern.Placement, m geom.Affine) orb.Bound {
		return s.ready[p.Ready].Outline.Apply(m.After(p.Map)).Bound()
	}
	one := box(s.l.Placements[k], geom.Affine{A: 1, D: -1, F: 2 * fold.y})
	for i, p := range s.l.Placements {
		if s.ready[p.Ready].Index != s.ready[s.l.Placements[k].Ready].Index {
			continue
		}
		if b := box(p, geom.Affine{A: 1, D: 1}); geom.Dist(b.Min, one.Min) < 0.1 && geom.Dist(b.Max, one.Max) < 0.1 && i != k {
			copies = append(copies, s.ready[p.Ready].Copy)
		}
	}
	return copies
}

// way says a direction on the cloth.
func (e edge) way(v orb.Point) string {
	along, over := "away from the cut end", "away from "+e.name
	if v[0] < 0 {
		along = "towards the cut end"
	}
	if v[1]*e.side < 0 {
		over = "towards " + e.name
	}
	switch deg := math.Atan2(math.Abs(v[1]), math.Abs(v[0])) * 180 / math.Pi; {
	case deg < 0.05:
		return along
	case deg > 89.95:
		return over
	default:
		return fmt.Sprintf("aslant, %.3g degrees from the length, %s and %s", deg, along, over)
	}
}

// begins names the place at which the outline begins.
func (p PieceFigures) begins() string {
	first := p.Marking.Outline[0]
	return cmp.Or(first.Point, "the beginning of the "+first.Edge)
}

// Copies is how many copies the lays have of the piece.
func (p PieceFigures) Copies() int {
	n := 0
	for _, q := range p.Places {
		n += len(q.Copies)
	}
	return n
}
