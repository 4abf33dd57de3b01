package separation

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/lay/exact"
)

// oriented is an outline in one of its turns, about its item's origin.
type oriented struct {
	turn     float64
	cos, sin float64
	outline  []orb.Point
	holes    [][]orb.Point
	box      orb.Bound
	y0, y1   float64 // range of its origin across the strip
}

// piece is an item with its orientations.
type piece struct {
	kind  int // items with equal outlines and turns are of one kind and share their orientations
	faces []oriented
	may   []int // the faces it may take: they fit across the strip, in a group for every piece of it
	group int
	area  float64
}

// pieces are all items of a search, prepared.
type pieces struct {
	strip Strip
	items []Item
	list  []piece
	kinds int
}

// rotation gives cosine and sine; quarter turns are exact.
func rotation(deg float64) (cos, sin float64) {
	switch math.Mod(math.Mod(deg, 360)+360, 360) {
	case 0:
		return 1, 0
	case 90:
		return 0, 1
	case 180:
		return -1, 0
	case 270:
		return 0, -1
	}
	s, c := math.Sincos(deg * math.Pi / 180)
	return c, s
}

func newPieces(s Strip, items []Item) (*pieces, error) {
	if err := checkStrip(s); err != nil {
		return nil, err
	}
	items = slices.Clone(items)
	ps := &pieces{strip: s, items: items}
	turnsOf := map[int]int{}
	for i, it := range items {
		if why := fault(it); why != "" {
			return nil, &BadItem{Item: i, Why: why}
		}
		it.Holes = holesInside(it)
		items[i] = it
		if it.Group > 0 {
			if n, ok := turnsOf[it.Group]; ok && n != len(it.Turns) {
				return nil, &BadItem{Item: i, Why: "the pieces of its group do not have equally many turns"}
			}
			turnsOf[it.Group] = len(it.Turns)
		}
		p := piece{kind: -1, group: it.Group, area: netArea(it)}
		for j := range i {
			if sameKind(items[j], it) {
				p.kind, p.faces = ps.list[j].kind, ps.list[j].faces
				break
			}
		}
		if p.kind < 0 {
			faces, least := facesOf(s, it)
			if len(faces) == 0 {
				return nil, &TooWide{Item: i, Least: least}
			}
			p.kind, p.faces = ps.kinds, faces
			ps.kinds++
		}
		for f := range p.faces {
			if p.faces[f].y0 <= p.faces[f].y1 {
				p.may = append(p.may, f)
			}
		}
		ps.list = append(ps.list, p)
	}
	for i, p := range ps.list {
		if p.group == 0 {
			continue
		}
		may := slices.DeleteFunc(slices.Clone(p.may), func(f int) bool {
			return slices.ContainsFunc(ps.list, func(o piece) bool { return o.group == p.group && !slices.Contains(o.may, f) })
		})
		if len(may) == 0 {
			return nil, &BadItem{Item: i, Why: "no turn fits across the strip for every piece of its group"}
		}
		defer func() { ps.list[i].may = may }()
	}
	return ps, nil
}

func fault(it Item) string {
	if len(it.Outline) < 3 {
		return "it has no outline"
	}
	for _, ring := range append([][]orb.Point{it.Outline}, it.Holes...) {
		for _, q := range ring {
			if v := q[0] + q[1]; math.IsNaN(v) || math.IsInf(v, 0) {
				return "its outline has a point that is no number"
			}
		}
	}
	if !(geom.Path{Points: it.Outline, Closed: true}.Area() > 0) {
		return "its outline has no area"
	}
	if len(it.Turns) == 0 {
		return "no turn is allowed"
	}
	for _, t := range it.Turns {
		if math.IsNaN(t) || math.IsInf(t, 0) {
			return "a turn is no number"
		}
	}
	if it.Edge != None && !slices.ContainsFunc(it.Turns, func(t float64) bool { return edgeTurn(it.Edge, t) }) {
		return "no allowed turn keeps its side on the strip's edge"
	}
	return ""
}

// holesInside are the usable holes: each with an area, inside the outline and apart from those before it.
func holesInside(it Item) (out [][]orb.Point) {
	outline := geom.Path{Points: it.Outline, Closed: true}
	var kept []geom.Path
	for _, h := range it.Holes {
		p := geom.Path{Points: h, Closed: true}
		if len(h) < 3 || !(p.Area() > 0) || !outline.Contains(h[0]) || len(geom.Crossings(outline, p)) > 0 || p.SelfCrossings(1) != nil {
			continue
		}
		if slices.ContainsFunc(kept, func(k geom.Path) bool {
			return k.Contains(h[0]) || p.Contains(k.Points[0]) || len(geom.Crossings(k, p)) > 0
		}) {
			continue
		}
		kept, out = append(kept, p), append(out, h)
	}
	return out
}

// edgeTurn reports whether a turn keeps an item's side on its edge of the strip.
func edgeTurn(e Edge, turn float64) bool {
	cos, _ := rotation(turn)
	return e == None || cos == 1 || (e == Either && cos == -1)
}

func netArea(it Item) float64 {
	area := geom.Path{Points: it.Outline, Closed: true}.Area()
	for _, h := range it.Holes {
		area -= geom.Path{Points: h, Closed: true}.Area()
	}
	return area
}

func sameKind(a, b Item) bool {
	return a.Edge == b.Edge && (a.Group > 0) == (b.Group > 0) && slices.Equal(a.Turns, b.Turns) &&
		slices.Equal(a.Outline, b.Outline) && slices.EqualFunc(a.Holes, b.Holes, slices.Equal)
}

// facesOf gives the orientations that fit across the strip, or the least width for one. In a group, where Turns are
// matched by index, a turn that does not fit stays, with y1 below y0.
func facesOf(s Strip, it Item) (faces []oriented, least float64) {
	least = math.Inf(1)
	fits := 0
	for _, t := range it.Turns {
		f := turned(it, t)
		height := f.box.Max[1] - f.box.Min[1]
		ok := edgeTurn(it.Edge, t)
		if ok {
			least = min(least, height)
		}
		ok = ok && height <= s.Width+slack
		f.y0, f.y1 = -f.box.Min[1], s.Width-f.box.Max[1]
		switch {
		case !ok:
			f.y0, f.y1 = 1, 0
		case (it.Edge == Top) != (it.Edge == Either && f.cos == -1):
			f.y0 = f.y1
		case it.Edge != None:
			f.y1 = f.y0
		case f.y1 < f.y0:
			f.y1 = f.y0
		}
		if ok {
			fits++
		}
		if ok || it.Group > 0 {
			faces = append(faces, f)
		}
	}
	if fits == 0 {
		return nil, least
	}
	return faces, least
}

// slack is how far in mm simplified outlines may deviate: a tenth of what the exact test allows.
const slack = exact.Deepest / 10

func turned(it Item, deg float64) oriented {
	f := oriented{turn: deg}
	f.cos, f.sin = rotation(deg)
	turn := func(ring []orb.Point) []orb.Point {
		out := make([]orb.Point, len(ring))
		for i, q := range ring {
			out[i] = orb.Point{f.cos*q[0] - f.sin*q[1], f.sin*q[0] + f.cos*q[1]}
		}
		return out
	}
	f.outline = turn(it.Outline)
	for _, h := range it.Holes {
		f.holes = append(f.holes, turn(h))
	}
	f.box = geom.Path{Points: f.outline, Closed: true}.Bound()
	return f
}

// at moves an orientation to its place.
func (f *oriented) at(p orb.Point) exact.Piece {
	move := func(ring []orb.Point) []orb.Point {
		out := make([]orb.Point, len(ring))
		for i, q := range ring {
			out[i] = geom.Add(q, p)
		}
		return out
	}
	out := exact.Piece{Outline: move(f.outline)}
	for _, h := range f.holes {
		out.Holes = append(out.Holes, move(h))
	}
	return out
}

// place is a piece's orientation and the place of its origin.
type place struct {
	face int
	at   orb.Point
}

// layout makes a lay of places and reports whether the exact test finds it sound.
func (ps *pieces) layout(places []place) (Layout, bool) {
	out := Layout{Placements: make([]Placement, len(places))}
	placed := make([]exact.Piece, len(places))
	turnOf := map[int]int{}
	for i, pl := range places {
		f := &ps.list[i].faces[pl.face]
		out.Placements[i] = Placement{Item: i, Turn: f.turn, At: pl.at}
		out.Length = max(out.Length, pl.at[0]+f.box.Max[0])
		placed[i] = f.at(pl.at)
		if g := ps.list[i].group; g > 0 {
			if was, ok := turnOf[g]; ok && was != pl.face {
				return out, false
			}
			turnOf[g] = pl.face
		}
		if pl.at[1] < f.y0-slack || pl.at[1] > f.y1+slack {
			return out, false
		}
	}
	s := ps.strip
	if out.Length > s.Length && out.Length <= s.Length+2*slack {
		out.Length = s.Length // it fits, up to rounding
	}
	return out, len(exact.Check(exact.Strip{Width: s.Width, Gap: s.Gap, Avoid: s.Avoid}, placed)) == 0
}

// groups lists the pieces of each group, in the order of its first piece.
func (ps *pieces) groups() [][]int {
	var out [][]int
	at := map[int]int{}
	for i, p := range ps.list {
		if p.group == 0 {
			continue
		}
		k, ok := at[p.group]
		if !ok {
			k = len(out)
			at[p.group] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], i)
	}
	return out
}

// leastLength is a lower bound of a lay's length: the longest piece, the area of all, or the length that is enough.
func (ps *pieces) leastLength() float64 {
	least, area := 0.0, 0.0
	for _, p := range ps.list {
		short := math.Inf(1)
		for _, f := range p.may {
			b := p.faces[f].box
			short = min(short, b.Max[0]-b.Min[0])
		}
		least = max(least, short)
		area += p.area
	}
	return max(least, area/ps.strip.Width, ps.strip.Length) + slack
}
