package separation

import (
	"context"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"
)

// TestManyKinds: 500 different pieces of 24 vertices each. Fields are dropped when they take too much memory, and the
// lay does not depend on it.
func TestManyKinds(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	items := make([]Item, 500)
	for i := range items {
		items[i] = Item{Outline: star(r, 24, 100), Turns: []float64{0, 180}}
	}
	s := Strip{Width: 1500}
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Second)
	defer stop()
	began := time.Now()
	lay, err := Search(ctx, s, items, Options{Progress: func(l Layout) { t.Logf("%.1f mm after %v", l.Length, time.Since(began)) }})
	if err != nil || len(lay.Placements) != 500 {
		t.Fatal(err, len(lay.Placements))
	}
	judge(t, s, items, lay, r)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	t.Logf("%d MB from the system", m.Sys>>20)
	if m.Sys > 500<<20 {
		t.Errorf("%d MB are taken for 500 pieces", m.Sys>>20)
	}
}

// TestFieldsAreDropped: a search with memory for a few fields only gives the same lay as one with memory for all.
func TestFieldsAreDropped(t *testing.T) {
	s, items := benchItems(24, 12)
	ps, err := newPieces(s, items)
	if err != nil {
		t.Fatal(err)
	}
	first, places, err := firstPlaces(ps)
	if err != nil {
		t.Fatal(err)
	}
	var lengths [2]float64
	for k, room := range []int{1 << 30, 2 << 20} {
		b := newBoard(context.Background(), ps, Options{Steps: 1500}, nil)
		b.table.room = room
		lay, ok := ps.layout(b.search(first, places, 1))
		if !ok {
			t.Fatal("unsound")
		}
		lengths[k] = lay.Length
	}
	if lengths[0] != lengths[1] {
		t.Errorf("lengths %v", lengths)
	}
}
