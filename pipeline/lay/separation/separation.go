// Package separation lays outlines of any shape on a strip so that little of it is wasted. It takes items with
// their turns and gives the shortest sound lay found so far: every lay that leaves it has passed the test of
// pipeline/lay/exact. Lengths are mm, x runs along the strip and y across it, angles are degrees counter-clockwise.
package separation

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The search relaxes and repairs: the length is fixed a little too short, pieces may overlap, and the overlap is
// worked down piece by piece, with pairs that stay in conflict growing heavier, until none is left; then the length
// is fixed shorter again.
//
// It begins with the first lay, whose openings are in use, and an opening is free room in its fields too. A piece may leave one
// for any other place without conflict, but only a shorter lay replaces the best, so that costs no length. Places looked at in
// openings on purpose made six sets of 44 small pieces among plates with holes no shorter by more than a tenth of a percent (measured once): none are.

// Edge says whether an item's own straight side must lie on an edge of the strip, as a piece on the fold does.
type Edge int

// Bottom and Either speak of the side at the item's lowest y, Top of the one at its highest, both as the item is
// given. At turn 0 that side lies on the strip's edge at y = 0 (Top: at y = Width). An Either item that is turned by
// 180 degrees lies on the edge at y = Width; no other turn can keep its side on an edge, and none is tried.
const (
	None Edge = iota
	Bottom
	Top
	Either
)

// Item is one piece to be laid.
type Item struct {
	Outline []orb.Point   // the closed cut line; the first point is not repeated
	Holes   [][]orb.Point // other pieces may lie in them; what is not inside the outline, or in another one, is none
	Turns   []float64     // the turns that are allowed, at least one
	// Group is 0, or the number of the pieces that are turned alike: all of them take the turn of the same place in
	// their Turns, which are then equally many.
	Group int
	Edge  Edge
}

// Strip is what the items lie on.
type Strip struct {
	Width  float64
	Length float64       // 0: endless. Else the search ends as soon as a lay is no longer than this.
	Gap    float64       // least distance between two items; none is asked of edges and zones
	Avoid  [][]orb.Point // zones that no item may reach into
}

// Options say how long and how the search goes on.
type Options struct {
	Seed  uint64
	Steps int // 0: until ctx ends. Else the same Steps and Seed give the same lay, with any number of cores.
	Cores int // 0: all
	// Busy tells that the computer has something more urgent to do: the search pauses meanwhile, and its time goes
	// on. It is asked often, from several goroutines; nil for never.
	Busy func() bool
	// Progress is told of each lay that is shorter than those before, from one goroutine at a time; it may be nil.
	Progress func(Layout)
}

// Placement says where an item lies: it is turned about its origin, then moved by At.
type Placement struct {
	Item int
	Turn float64
	At   orb.Point
}

// Layout is a sound lay: one placement for each item, in their order.
type Layout struct {
	Placements []Placement
	Length     float64 // from x = 0 to the right end of the last item; above Strip.Length the items do not fit
}

// TooWide is the error for an item that the strip cannot hold.
type TooWide struct {
	Item  int
	Least float64 // the width in mm that would do
}

func (e *TooWide) Error() string {
	return fmt.Sprintf("item %d does not fit across the strip: it needs a width of at least %v mm", e.Item, geom.Rounded(e.Least, 1))
}

// BadItem is the error for an item that cannot be laid on any strip.
type BadItem struct {
	Item int
	Why  string
}

func (e *BadItem) Error() string { return fmt.Sprintf("item %d cannot be laid: %s", e.Item, e.Why) }

// Search gives a sound lay at once to Progress and a shorter one whenever it finds it, and returns the shortest. It
// ends with ctx, which is no error, or after Steps. No items give an empty lay.
func Search(ctx context.Context, s Strip, items []Item, o Options) (Layout, error) {
	pieces, err := newPieces(s, items)
	if err != nil || len(items) == 0 {
		return Layout{}, err
	}
	best, places, err := firstPlaces(pieces)
	if err != nil {
		return Layout{}, err
	}
	if o.Progress != nil {
		o.Progress(best)
	}
	if ctx.Err() != nil || best.Length <= pieces.leastLength() {
		return best, nil
	}
	began := time.Now()
	b := newBoard(ctx, pieces, o, func() time.Duration { return time.Since(began) })
	if lay, ok := pieces.layout(b.search(best, places, o.Seed)); ok && lay.Length < best.Length {
		best = lay
	}
	return best, nil
}

func checkStrip(s Strip) error {
	for _, v := range []float64{s.Width, s.Length, s.Gap} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			return fmt.Errorf("the strip's width, length and gap must be numbers of 0 or more, not %g", v)
		}
	}
	if s.Width == 0 {
		return errors.New("the strip has no width")
	}
	for k, z := range s.Avoid {
		if p := (geom.Path{Points: z, Closed: true}); len(z) < 3 || !(p.Area() > 0) {
			return fmt.Errorf("zone %d to avoid has no area", k)
		}
	}
	return nil
}
