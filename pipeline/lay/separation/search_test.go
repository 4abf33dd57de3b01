package separation

import (
	"context"
	"errors"
	"testing"

	"github.com/paulmach/orb"
)

func box(w, h float64) []orb.Point { return []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}} }

func TestBadInput(t *testing.T) {
	good := Item{Outline: box(10, 20), Turns: []float64{0}}
	with := func(change func(it *Item)) Item { it := good; change(&it); return it }
	for name, it := range map[string]Item{
		"no outline": with(func(it *Item) { it.Outline = nil }),
		"no area":    with(func(it *Item) { it.Outline = []orb.Point{{0, 0}, {1, 1}, {2, 2}} }),
		"no turn":    with(func(it *Item) { it.Turns = nil }),
		"no edge":    with(func(it *Item) { it.Turns, it.Edge = []float64{90}, Either }),
	} {
		_, err := Search(context.Background(), Strip{Width: 100}, []Item{good, it}, Options{Steps: 1})
		var bad *BadItem
		if !errors.As(err, &bad) || bad.Item != 1 {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, s := range []Strip{{}, {Width: -1}, {Width: 10, Gap: -1}, {Width: 10, Avoid: [][]orb.Point{{{0, 0}}}}} {
		if _, err := Search(context.Background(), s, []Item{good}, Options{Steps: 1}); err == nil {
			t.Errorf("%+v is taken", s)
		}
	}
	_, err := Search(context.Background(), Strip{Width: 15}, []Item{with(func(it *Item) { it.Turns = []float64{0, 90} }), good}, Options{Steps: 1})
	var wide *TooWide
	if !errors.As(err, &wide) || wide.Item != 1 || wide.Least != 20 {
		t.Errorf("too wide: %v", err)
	}
}
