package separation

import (
	"math"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb"
)

// table gives the field of two faces. Faces are numbered through all kinds; fields are made on demand, and one serves
// both orders of a pair and all turns with the same difference.
type table struct {
	faces []face
	first []int // of each kind: its first face
	pairs []atomic.Pointer[pair]
	gap   float64
	parts [][][]orb.Point // of each kind: its convex parts, simplified

	mu     sync.Mutex
	fields map[fieldKey]*made
	bytes  int
	room   int  // bytes that fields may take
	narrow bool // the fields of all pairs would take more
	grid   int  // cells along the longer side of a field
}

// fieldRoom is the memory that fields may take; beyond it all are dropped and made again on demand.
const fieldRoom = 160 << 20

// Cells along the longer side of a field: with few kinds, and with many.
const (
	gridFew  = 40
	gridMany = 24
	manyKind = 60
)

// face is an orientation of a kind, or a zone to avoid.
type face struct {
	kind int
	turn float64
	cos  float64
	sin  float64
	box  orb.Bound
	zone bool
	y0   float64
	y1   float64
}

type fieldKey struct {
	a, b int // kinds
	turn float64
}

type made struct {
	once  sync.Once
	field *field
}

// pair is a field and the map of a place into it: the place of b's origin relative to a's, turned and perhaps seen
// from the other side.
type pair struct {
	field    *field
	cos, sin float64
}

// depth is the depth of the conflict of b with a, with b's origin at x, y relative to a's.
func (p *pair) depth(x, y float64) float64 {
	return p.field.depth(p.cos*x-p.sin*y, p.sin*x+p.cos*y)
}

// rough is the same for the middle of the place's cell.
func (p *pair) rough(x, y float64) float64 {
	return p.field.rough(p.cos*x-p.sin*y, p.sin*x+p.cos*y)
}

// near is the same with the direction of b's shortest way out of a.
func (p *pair) near(x, y float64) (depth, nx, ny float64, ok bool) {
	depth, nx, ny, ok = p.field.near(p.cos*x-p.sin*y, p.sin*x+p.cos*y)
	return depth, p.cos*nx + p.sin*ny, p.cos*ny - p.sin*nx, ok
}

func newTable(ps *pieces) *table {
	t := &table{gap: ps.strip.Gap, fields: map[fieldKey]*made{}, first: make([]int, ps.kinds)}
	t.parts = make([][][]orb.Point, 0, ps.kinds)
	seen := 0
	for i, p := range ps.list {
		if p.kind < seen {
			continue
		}
		seen++
		t.first[p.kind] = len(t.faces)
		for _, f := range p.faces {
			t.faces = append(t.faces, face{kind: p.kind, turn: f.turn, cos: f.cos, sin: f.sin, box: f.box, y0: f.y0, y1: f.y1})
		}
		it := ps.items[i]
		t.parts = append(t.parts, convexParts(thinned(it.Outline), thinnedHoles(it.Holes)))
	}
	for _, z := range ps.strip.Avoid {
		t.faces = append(t.faces, face{kind: len(t.parts), cos: 1, box: orb.Ring(z).Bound(), zone: true})
		t.parts = append(t.parts, convexParts(z, nil))
	}
	t.room, t.grid = fieldRoom, gridFew
	if len(t.parts) > manyKind {
		t.grid = gridMany
	}
	t.narrow = len(t.faces)*len(t.parts)/2*t.grid*t.grid*10 > t.room
	t.pairs = make([]atomic.Pointer[pair], len(t.faces)*len(t.faces))
	return t
}

// of is the pair of two faces.
func (t *table) of(a, b int) *pair {
	at := &t.pairs[a*len(t.faces)+b]
	if p := at.Load(); p != nil {
		return p
	}
	p := t.make(a, b)
	at.Store(p)
	return p
}

func (t *table) make(a, b int) *pair {
	fa, fb := &t.faces[a], &t.faces[b]
	sign := 1.0
	if fa.kind > fb.kind {
		fa, fb, sign = fb, fa, -1
	}
	key := fieldKey{fa.kind, fb.kind, math.Mod(fb.turn-fa.turn+720, 360)}
	t.mu.Lock()
	m := t.fields[key]
	if m == nil {
		m = &made{}
		t.fields[key] = m
	}
	t.mu.Unlock()
	m.once.Do(func() {
		gap := t.gap
		if fa.zone || fb.zone {
			gap = 0
		}
		m.field = newField(t.parts[fa.kind], turnedParts(t.parts[fb.kind], key.turn), gap, t.grid)
		t.keep(m.field.bytes())
	})
	return &pair{field: m.field, cos: sign * fa.cos, sin: -sign * fa.sin}
}

// keep counts a new field's memory and drops all fields when it is used up. A lane that is using one keeps it until
// its move is done.
func (t *table) keep(bytes int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.bytes += bytes; t.bytes < t.room {
		return
	}
	t.bytes = 0
	clear(t.fields)
	for k := range t.pairs {
		t.pairs[k].Store(nil)
	}
}

func turnedParts(parts [][]orb.Point, deg float64) [][]orb.Point {
	cos, sin := rotation(deg)
	out := make([][]orb.Point, len(parts))
	for i, p := range parts {
		for _, q := range p {
			out[i] = append(out[i], orb.Point{cos*q[0] - sin*q[1], sin*q[0] + cos*q[1]})
		}
	}
	return out
}
