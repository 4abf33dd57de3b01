package lay

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Where rows are too long, shapes are laid into one another: still nothing overlaps, and margin, gap,
// grain and hand are kept, as a library for plane geometry sees it.
func TestShapesLieRight(t *testing.T) {
	nests := 0
	rapid.Check(t, func(t *rapid.T) {
		m := pattern.Material{Width: rapid.Float64Range(400, 900).Draw(t, "width"), Margin: 10, Gap: rapid.Float64Range(0, 8).Draw(t, "gap"),
			Cloth: true, FaceDown: rapid.Bool().Draw(t, "face down"), OneWay: rapid.Bool().Draw(t, "one way")}
		var ready []pattern.Ready
		for i := range rapid.IntRange(2, 6).Draw(t, "pieces") {
			w, h := rapid.Float64Range(60, 300).Draw(t, "w"), rapid.Float64Range(60, 300).Draw(t, "h")
			r := pattern.Ready{Name: fmt.Sprint(i), Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {w, 0}, {rapid.Float64Range(0, w).Draw(t, "x"), h}}}}
			ready = append(ready, withGrain(r, 0, 0, 100, 0))
		}
		rows, _ := Shelf(ready, m)
		m.Length = math.Max(rows.LengthUsed*rapid.Float64Range(0.6, 0.98).Draw(t, "share"), 330)
		l, found := Shelf(ready, m)
		if len(l.Placements) != len(ready) {
			t.Fatalf("%d placed of %d", len(l.Placements), len(ready))
		}
		if l.LengthUsed < rows.LengthUsed-1e-6 {
			nests++
			if len(found) != 0 || l.LengthUsed > m.Length+1e-6 {
				t.Fatalf("%v of %v, %+v", l.LengthUsed, m.Length, found)
			}
		}
		mustLieRight(t, l, ready)
		for _, p := range l.Placements {
			v := geom.Unit(p.Map.Vector(geom.Sub(ready[p.Ready].Grain.B, ready[p.Ready].Grain.A)))
			if math.Abs(v[1]) > 1e-9 || m.OneWay && v[0] < 0 {
				t.Fatalf("the grain points to %v", v)
			}
			if p.Mirrored != m.FaceDown {
				t.Fatalf("mirrored %v", p.Mirrored)
			}
		}
	})
	if nests == 0 {
		t.Error("no lay needed shapes")
	}
}

// A strip on the true bias may be turned by a quarter: its threads cross it alike either way.
func TestBiasStripsTurn(t *testing.T) {
	strip := withGrain(rect("STRIP", 500, 30), 0, 0, 100, 100)
	other := withGrain(rect("OTHER", 500, 30), 0, 0, 100, -100)
	block := withGrain(rect("BLOCK", 300, 300), 0, 0, 100, 0)
	m := pattern.Material{Width: 700, Length: 700, Cloth: true}
	l, found := Shelf([]pattern.Ready{block, strip, other}, m)
	if len(found) != 0 || len(l.Placements) != 3 || l.LengthUsed > 700 {
		t.Errorf("%v, %+v", l.LengthUsed, found)
	}
	if onBias(&block) || !onBias(&strip) || !onBias(&other) {
		t.Error("what lies on the bias is not told")
	}
}

// What does not fit names the pieces that go together.
func TestDivide(t *testing.T) {
	ready := []pattern.Ready{rect("A", 400, 400), rect("B", 300, 300), rect("C", 300, 300)}
	_, found := Shelf(ready, pattern.Material{Width: 420, Length: 720})
	if len(found) != 1 || !strings.Contains(found[0].Mend, "A, B fit together, so say pieces: [A, B] in a ticket") {
		t.Errorf("%+v", found)
	}
}

func BenchmarkShapes(b *testing.B) {
	strip := withGrain(rect("STRIP", 570, 32), 0, 0, 100, 100)
	front, back := withGrain(rect("FRONT", 790, 680), 0, 0, 0, 100), withGrain(rect("BACK", 620, 670), 0, 0, 0, 100)
	for b.Loop() {
		Shelf([]pattern.Ready{front, back, strip, strip}, pattern.Material{Width: 1000, Length: 1600, Margin: 15, Gap: 8, Cloth: true})
	}
}

// Two hundred pieces that do not all lie on a table took 40 s. The rows looked at are counted, so that
// the work ends; what is laid by then still lies right.
func TestNestingEnds(t *testing.T) {
	var ready []pattern.Ready
	for i := range 200 {
		ready = append(ready, rect(fmt.Sprint(i), 120+float64(i%7)*10, 90+float64(i%11)*5))
	}
	m := pattern.Material{Width: 1000, Length: 1600, Margin: 15, Gap: 8, Cloth: true}
	var items []item
	for i := range ready {
		items = append(items, item{index: i, turns: fitting(turnsOf(&ready[i], m), m.Length-2*m.Margin, m.Width-2*m.Margin)})
	}
	before := len(nest(ready, items, m, 0))
	few, many := nest(ready, items, m, 100_000), nest(ready, items, m, mostRows)
	if before != 0 || len(few) == 0 || len(few) >= len(many) {
		t.Fatalf("%d laid without a row, %d with few, %d with all", before, len(few), len(many))
	}
	l := pattern.Lay{Material: m}
	for _, n := range few {
		l.Placements = append(l.Placements, place(n.spot, m.Margin+n.x, m))
		l.LengthUsed = math.Max(l.LengthUsed, n.x+n.turn.deep()+2*m.Margin)
	}
	mustLieRight(t, l, ready)
}

// A grown mask covers each square that lies within the gap of one of the mask's, and no other.
func TestGrown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		long, wide := rapid.IntRange(1, 9).Draw(t, "long"), rapid.IntRange(1, 140).Draw(t, "wide")
		gap := rapid.IntRange(0, 5).Draw(t, "gap")
		m := newMask(long, wide)
		want := map[[2]int]bool{}
		for range rapid.IntRange(1, 12).Draw(t, "squares") {
			i, k := rapid.IntRange(0, long-1).Draw(t, "i"), rapid.IntRange(0, wide-1).Draw(t, "k")
			m.set(i, k)
			for a := -gap; a <= gap; a++ {
				for b := -gap; b <= gap; b++ {
					want[[2]int{i + a, k + b}] = true
				}
			}
		}
		at, to := [2]int{rapid.IntRange(-3, 6).Draw(t, "at"), rapid.IntRange(-70, 70).Draw(t, "to")}, newMask(12, 130)
		to.take(m.grown(gap), at[0], at[1], gap)
		for i := range to.long {
			for k := range len(to.bits[i]) * 64 {
				got := to.bits[i][k/64]&(1<<(k%64)) != 0
				if wants := k < to.wide && want[[2]int{i - at[0], k - at[1]}]; got != wants {
					t.Fatalf("square %d, %d taken %v, want %v", i, k, got, wants)
				}
			}
		}
	})
}

// The place that is found across the width is the first at which no square of the piece lies on a taken
// one: as trying each place finds it.
func TestAcross(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		squares := func(name string, long, wide, most int) mask {
			m := newMask(long, wide)
			for range rapid.IntRange(0, most).Draw(t, name) {
				m.set(rapid.IntRange(0, long-1).Draw(t, "i"), rapid.IntRange(0, wide-1).Draw(t, "k"))
			}
			return m
		}
		taken := squares("taken", 6, rapid.IntRange(1, 150).Draw(t, "wide"), 40)
		o := squares("piece", rapid.IntRange(1, 4).Draw(t, "long"), rapid.IntRange(1, 90).Draw(t, "across"), 20)
		o.runs = o.rows()
		at, left := rapid.IntRange(0, 2).Draw(t, "at"), mostRows
		s := search{fromFar: rapid.Bool().Draw(t, "from far"), hug: rapid.Bool().Draw(t, "hug")}
		want := -1
		for b := 0; b+o.wide <= taken.wide && want < 0 && (b == 0 || !s.hug); b++ {
			k := b
			if s.fromFar {
				k = taken.wide - o.wide - b
			}
			want = k
			for i := range o.long {
				for c := range o.wide {
					if to := k + c; o.bits[i][c/64]>>(c%64)&1 == 1 && taken.bits[at+i][to/64]>>(to%64)&1 == 1 {
						want = -1
					}
				}
			}
		}
		if got, _ := s.across(taken, o, at, rapid.IntRange(0, o.long-1).Draw(t, "row"), &left); got != want {
			t.Fatalf("%d, want %d", got, want)
		}
	})
}
