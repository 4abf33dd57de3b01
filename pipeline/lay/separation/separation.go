// Package separation lays outlines of any shape densely on a strip. It takes items with their turns and gives the
// shortest sound lay found so far, each checked with pipeline/lay/exact. Lengths are mm, x is along the strip and y
// across it, angles are degrees counter-clockwise.
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

// The search allows overlaps and repairs them: it sets the length a little too short, then moves single pieces to
// reduce the overlap, with growing weights for pairs that stay in conflict, until none overlap; then it shortens the
// length again.
//
// It begins with the first lay, in which openings are used, and openings are free space in its fields too. A piece may
// leave an opening for any place without conflict, but only a shorter lay replaces the best, so that costs no length.
// The search does not try places in openings on purpose: for six sets of 44 small pieces among plates with holes that
// shortened the lay by less than a tenth of a per cent (measured once).

// Edge says whether an item's own straight side must be on an edge of the strip, as that of a piece on the fold.
type Edge int

// For Bottom and Either it is the side at the item's lowest y, for Top that at its highest, both as the item is given.
// At turn 0 that side is on the strip's edge at y = 0 (Top: at y = Width). An Either item turned by 180 degrees is on
// the edge at y = Width; other turns cannot keep the side on an edge and are not tried.
const (
	None Edge = iota
	Bottom
	Top
	Either
)

// Item is one piece to be laid.
type Item struct {
	Outline []orb.Point   // the closed cut line; the first point is not repeated
	Holes   [][]orb.Point // other pieces may lie in them; parts outside the outline or in another hole do not count
	Turns   []float64     // the allowed turns, at least one
	// Group is 0, or the number of a group of pieces that are turned alike: they take the turn of the same index in
	// their Turns, which have the same length.
	Group int
	Edge  Edge
}

// Strip is the material for the items.
type Strip struct {
	Width  float64
	Length float64       // 0: unlimited. Else the search ends as soon as a lay is no longer than this.
	Gap    float64       // least distance between two items; not to edges and zones
	Avoid  [][]orb.Point // zones that no item may enter
}

// Options bound the search.
type Options struct {
	Seed  uint64
	Steps int // 0: until ctx ends. Else the same Steps and Seed give the same lay, with any number of cores.
	Cores int // 0: all
	// Busy tells that the computer has more urgent work: the search pauses meanwhile, while its time runs on. It is
	// called often, from several goroutines; nil for never.
	Busy func() bool
	// Progress is called with each lay that is shorter than those before, from one goroutine at a time; it may be nil.
	Progress func(Layout)
}

// Placement is an item's place: it is turned about its origin, then moved by At.
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

// TooWide is the error for an item that is too wide for the strip.
type TooWide struct {
	Item  int
	Least float64 // the width in mm that is enough
}

func (e *TooWide) Error() string {
	return fmt.Sprintf("item %d does not fit across the strip: it needs a width of at least %v mm", e.Item, geom.Rounded(e.Least, 1))
}

// BadItem is the error for an item that fits on no strip.
type BadItem struct {
	Item int
	Why  string
}

func (e *BadItem) Error() string { return fmt.Sprintf("item %d cannot be laid: %s", e.Item, e.Why) }

// Search gives a sound lay at once to Progress and each shorter one that it finds, and returns the shortest. It ends
// with ctx, which is not an error, or after Steps. Without items the lay is empty.
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
