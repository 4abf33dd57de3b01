package lay

import (
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestBeds: seven rectangles of 400 by 500 mm on cloth 1000 mm wide and a bed of 1000 mm with 10 mm spare: four fill a
// bed, in two rows of two, so that seven need two beds, the second with three, 800 mm long; by hand, pieces along
// their grain. OnMachine finds a lay for each bed. A piece longer than the bed has none.
func TestBeds(t *testing.T) {
	piece := func(long, wide float64) pattern.Ready {
		return pattern.Ready{Name: "piece", Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {long, 0}, {long, wide}, {0, wide}}},
			Grain: &pattern.Segment{A: orb.Point{10, 10}, B: orb.Point{long - 10, 10}}}
	}
	var ready []pattern.Ready
	for range 7 {
		ready = append(ready, piece(400, 500))
	}
	m := pattern.Material{Width: 1000, Length: 1000, Cloth: true, Nap: pattern.NapNone}
	beds, long := Beds(t.Context(), ready, m, 10, Options{Seed: 1})
	if len(beds) != 2 || !slices.Equal(beds[0], []int{0, 1, 2, 3}) || !slices.Equal(beds[1], []int{4, 5, 6}) || long < 1600-1 || long > 1600+1 {
		t.Errorf("%v, %v mm", beds, long)
	}
	for _, bed := range beds {
		if _, found := OnMachine(t.Context(), ready[bed[0]:bed[len(bed)-1]+1], m, Options{Seed: 1}); len(found) > 0 {
			t.Errorf("%v: %v", bed, found)
		}
	}
	if beds, _ := Beds(t.Context(), append(ready, piece(1001, 100)), m, 10, Options{Seed: 1}); beds != nil {
		t.Errorf("a piece longer than the bed: %v", beds)
	}
	if beds, _ := Beds(t.Context(), []pattern.Ready{piece(995, 100), piece(995, 900), piece(100, 100)}, m, 10, Options{Seed: 1}); len(beds) != 2 {
		t.Errorf("pieces nearly as long as the bed: %v", beds)
	}
}

// TestBedsAreFilled: on cloth 1000 mm wide and a bed of 1000 mm each of four panels of 600 by 900 mm needs a bed, and
// leaves 300 by 900 mm beside it, enough for two pockets of 250 by 400 mm: eight pockets, which come last, need no bed
// of their own (by hand).
func TestBedsAreFilled(t *testing.T) {
	var ready []pattern.Ready
	add := func(index int, long, wide float64) {
		ready = append(ready, pattern.Ready{Index: index, Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {long, 0}, {long, wide}, {0, wide}}},
			Grain: &pattern.Segment{A: orb.Point{10, 10}, B: orb.Point{long - 10, 10}}})
	}
	for range 4 {
		add(0, 600, 900)
	}
	for range 8 {
		add(1, 250, 400)
	}
	m := pattern.Material{Width: 1000, Length: 1000, Cloth: true, Nap: pattern.NapNone}
	beds, _ := Beds(t.Context(), ready, m, 10, Options{Seed: 1})
	var all []int
	for _, bed := range beds {
		var on []pattern.Ready
		for _, i := range bed {
			on = append(on, ready[i])
		}
		if _, found := OnMachine(t.Context(), on, m, Options{Seed: 1}); len(found) > 0 || !slices.IsSorted(bed) {
			t.Errorf("%v: %v", bed, found)
		}
		all = append(all, bed...)
	}
	if slices.Sort(all); len(beds) != 4 || len(all) != len(ready) || len(slices.Compact(all)) != len(ready) {
		t.Errorf("%v", beds)
	}
}
