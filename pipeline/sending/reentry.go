package sending

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/talk"
	"tracewheel/geom"
	"tracewheel/pipeline/ledger"
)

// unknownPlanner is how many lines before the last one sent are searched where the size of a controller's buffer is
// not known. It is more than any small controller's planner holds (from memory).
const unknownPlanner = 200

// heldIn finds where in a line-by-line program a machine was held, among the blocks that it may not have carried out.
// It gives the stroke to go on with, and the place in it where the tool was down, nil where the stroke is to be made
// from its start. left is false where nothing is left to be made.
func heldIn(p devices.Program, prof devices.Profile, place *talk.Place, sure talk.Mark, sent int) (stroke int, held *ledger.Place, left bool) {
	from := sent - unknownPlanner
	if sure.Known {
		from = sure.Block + 1
	}
	at := max(from, 0)
	if place != nil && !place.Machine {
		moves := gcode.Read(p.Bytes(), gcode.OptionsFor(prof)).Moves
		if i := moveAt(moves, *place, at, sent); i >= 0 {
			at = moves[i].Line - 1
			if min(moves[i].FromZ, moves[i].ToZ) <= 0 {
				held = whenHeld(moves, i, *place, prof.Blade.Offset)
			}
		}
	}
	for b := at; b < len(p.Blocks); b++ {
		if s := p.Blocks[b].Stroke; s >= 0 {
			if b != at {
				held = nil // the machine was held between two strokes
			}
			if held != nil {
				held.Stroke = s
			}
			return s, held, true
		}
	}
	return 0, nil, false
}

// madeBefore gives the last block that a machine of lines, stopped for good at a place, has surely carried out: the
// block of the move before the one that it was in, -1 where that is the first. A line between the two that moves
// nothing may still wait, and more may be made. known is false where it cannot be told.
func madeBefore(p devices.Program, prof devices.Profile, place talk.Place, from int, o talk.Outcome) (block int, known bool) {
	if place.Machine {
		return -1, false
	}
	if o.Sure.Known {
		from = max(from, o.Sure.Block+1)
	}
	moves := gcode.Read(p.Bytes(), gcode.OptionsFor(prof)).Moves
	switch i := moveAt(moves, place, from, o.Sent); {
	case i < 0:
		return -1, false
	case i == 0:
		return -1, true
	default:
		return moves[i-1].Line - 1, true
	}
}

// beside is how far a machine may stand from the move that it is in, mm: it rounds corners off, and its report is
// rounded.
const beside = 0.5

// moveAt gives the first of a program's moves, of lines from to sent, that passes near a place, -1 where none does.
// The first is taken, not the nearest, because the place may also lie on a later move; what comes before the first is
// surely made. The blocks of such a program are its lines.
func moveAt(moves []devices.Move, place talk.Place, from, sent int) int {
	return slices.IndexFunc(moves, func(m devices.Move) bool {
		return m.Line > from && m.Line-1 <= sent && offMove(m, place) <= beside
	})
}

// whenHeld gives the place of a blade that was held in a move, with its heading. On a move straight down or up it
// points as in the move after or before.
func whenHeld(moves []devices.Move, i int, place talk.Place, offset float64) *ledger.Place {
	m := moves[i]
	held := &ledger.Place{At: orb.Point{place.X, place.Y}, Above: m.ToZ < m.FromZ && place.Z > 0}
	step := 1
	if m.ToZ > m.FromZ {
		step = -1
	}
	for straightDown(m) {
		if i += step; i < 0 || i >= len(moves) {
			return held
		}
		m = moves[i]
	}
	if m.Arc && math.Abs(m.Radius()-offset) < 0.01 {
		held.At, held.Tip = m.Centre, true
	} else {
		held.Dir = direction(m, held.At)
	}
	return held
}

func straightDown(m devices.Move) bool { return !m.Arc && geom.Dist(m.From, m.To) < geom.Tiny }

// offMove is the distance of a place from a move, mm.
func offMove(m devices.Move, at talk.Place) float64 {
	q := orb.Point{at.X, at.Y}
	if !m.Arc {
		return offLine([3]float64{m.From[0], m.From[1], m.FromZ}, [3]float64{m.To[0], m.To[1], m.ToZ}, [3]float64{at.X, at.Y, at.Z})
	}
	u, v := geom.Sub(m.From, m.Centre), geom.Sub(q, m.Centre)
	turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	if m.Sweep < 0 {
		turn = -turn
	}
	if turn < 0 {
		turn += 2 * math.Pi
	}
	flat := math.Abs(geom.Dist(q, m.Centre) - m.Radius())
	if turn > math.Abs(m.Sweep) {
		flat = min(geom.Dist(q, m.From), geom.Dist(q, m.To))
		turn = 0
	}
	z := m.FromZ
	if m.Sweep != 0 {
		z += (m.ToZ - m.FromZ) * turn / math.Abs(m.Sweep)
	}
	return math.Hypot(flat, at.Z-z)
}

func offLine(a, b, q [3]float64) float64 {
	var along, whole, off float64
	for k := range a {
		along += (q[k] - a[k]) * (b[k] - a[k])
		whole += (b[k] - a[k]) * (b[k] - a[k])
	}
	t := 0.0
	if whole > 0 {
		t = max(0, min(1, along/whole))
	}
	for k := range a {
		e := q[k] - a[k] - t*(b[k]-a[k])
		off += e * e
	}
	return math.Sqrt(off)
}

// direction is the direction in which a pivot was going at a place of a move.
func direction(m devices.Move, at orb.Point) orb.Point {
	if !m.Arc {
		return geom.Unit(geom.Sub(m.To, m.From))
	}
	t := geom.Left(geom.Unit(geom.Sub(at, m.Centre)))
	if m.Sweep < 0 {
		t = geom.Mul(t, -1)
	}
	return t
}
