// Package exact checks whether a lay is sound. It takes the placed cut lines themselves, uses geom's crossings and
// distances, and shares no code with the search, so that an error of the search's simplified outlines is found before
// cloth is cut.
package exact

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Deepest is how far in mm two pieces may violate the gap in a sound lay. It is the tolerance with which readers
// replace curves by chords (geom.FlattenTol).
const Deepest = geom.FlattenTol

// Piece is a placed piece in mm, x along the strip and y across it. A ring does not repeat its first point.
type Piece struct {
	Outline []orb.Point
	Holes   [][]orb.Point // inside the outline; other pieces may lie in them
}

// Strip is the material: x from 0 to Length, y from 0 to Width, in mm.
type Strip struct {
	Width  float64
	Length float64       // 0: unlimited
	Gap    float64       // least distance between two pieces
	Avoid  [][]orb.Point // zones that no piece may enter; no gap to them is needed
}

// B of a fault that is not between two pieces.
const (
	Outside = -1 // the piece crosses the strip's edge
	InZone  = -2 // the piece enters a zone to avoid
	NoShape = -3 // the piece has no outline to check
)

// Fault is one fault of a lay.
type Fault struct {
	A, B int       // indexes of two pieces, or of a piece and Outside, InZone or NoShape
	By   float64   // by how much in mm, at least
	At   orb.Point // where
}

func (f Fault) String() string {
	at := fmt.Sprintf("by %.3f mm at x %.2f, y %.2f", f.By, f.At[0], f.At[1])
	switch f.B {
	case Outside:
		return fmt.Sprintf("piece %d reaches over the edge %s", f.A, at)
	case InZone:
		return fmt.Sprintf("piece %d reaches into a zone to avoid %s", f.A, at)
	case NoShape:
		return fmt.Sprintf("piece %d has no outline", f.A)
	}
	return fmt.Sprintf("pieces %d and %d are too near each other %s", f.A, f.B, at)
}

// Check lists the faults of a lay, at most one for each pair. Without faults every piece is inside the strip and
// outside the zones, and all keep the gap, each within Deepest.
func Check(s Strip, pieces []Piece) []Fault {
	var faults []Fault
	shapes := make([]*shape, len(pieces))
	for i, p := range pieces {
		sh, ok := newShape(p)
		if !ok {
			faults = append(faults, Fault{A: i, B: NoShape})
			continue
		}
		shapes[i] = sh
		if by, at := over(s, p.Outline); by > Deepest {
			faults = append(faults, Fault{A: i, B: Outside, By: by, At: at})
		}
	}
	var zones []*shape
	for _, z := range s.Avoid {
		if sh, ok := newShape(Piece{Outline: z}); ok {
			zones = append(zones, sh)
		}
	}
	for i, a := range shapes {
		for _, z := range zones {
			if a == nil {
				break
			}
			if by, at := a.tooNear(z, 0); by > 0 {
				faults = append(faults, Fault{A: i, B: InZone, By: by, At: at})
				break
			}
		}
	}
	order := make([]int, 0, len(pieces))
	for i, a := range shapes {
		if a != nil {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(shapes[i].box.Min[0], shapes[j].box.Min[0]) })
	for k, i := range order {
		for _, j := range order[k+1:] {
			if shapes[j].box.Min[0] > shapes[i].box.Max[0]+s.Gap {
				break
			}
			if by, at := shapes[i].tooNear(shapes[j], s.Gap); by > 0 {
				faults = append(faults, Fault{A: min(i, j), B: max(i, j), By: by, At: at})
			}
		}
	}
	return faults
}

// over is how far an outline crosses the strip's edge, and where.
func over(s Strip, outline []orb.Point) (by float64, at orb.Point) {
	length := cmp.Or(s.Length, math.Inf(1))
	for _, p := range outline {
		if d := max(-p[0], -p[1], p[0]-length, p[1]-s.Width); d > by {
			by, at = d, p
		}
	}
	return by, at
}
