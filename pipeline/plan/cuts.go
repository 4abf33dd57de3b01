package plan

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Costs of a bad start of a cut, in mm of travel. A blade leaves a trace where it starts and ends: at a corner, where
// it stops anyway, the trace is not seen; beside a notch it tears the cloth left between the two.
const (
	smoothCost = 200.0
	notchCost  = 1000.0
	notchNear  = 10.0 // mm
)

// orderCuts orders what the knife cuts. A piece that is cut free moves, so nothing is cut in it afterwards: the lines
// within a piece come before its outline, and a piece in another one's cut-out comes before all of that other piece.
// Small pieces come before large ones, in steps of a factor of four in area, since the cloth round them still holds;
// within a step the travel is short.
func orderCuts(pieces []cutPiece, start orb.Point, effort int) []devices.Stroke {
	var all run
	at := start
	for _, c := range byPrecedence(pieces, start, effort) {
		for _, inner := range byDepth(c.inner) {
			r := run{strokes: inner, costs: startCosts(inner, nil)}
			at = r.arrange(at, effort)
			all.strokes, all.costs = append(all.strokes, r.strokes...), append(all.costs, r.costs...)
		}
		outline := []devices.Stroke{c.outline}
		all.strokes = append(all.strokes, c.outline)
		all.costs = append(all.costs, startCosts(outline, c.inner)...)
		_, at = ends(c.outline)
	}
	all.enter(start)
	return all.strokes
}

// byPrecedence orders pieces: small before large, and a piece that lies within another before that other.
func byPrecedence(pieces []cutPiece, at orb.Point, effort int) []cutPiece {
	within := nested(pieces)
	steps := areaSteps(pieces)
	order := make([]int, 0, len(pieces))
	for step := 0; len(order) < len(pieces); step++ {
		var r run
		var members []int
		for i, c := range pieces {
			if steps[i] == step {
				s := c.outline
				s.Piece = i // the index in pieces, to find it again
				r.strokes, members = append(r.strokes, s), append(members, i)
			}
		}
		if len(members) == 0 {
			continue
		}
		r.costs = startCosts(r.strokes, nil)
		at = r.arrange(at, effort)
		for _, s := range r.strokes {
			order = append(order, s.Piece)
		}
	}
	out, done := make([]cutPiece, 0, len(pieces)), make([]bool, len(pieces))
	var take func(i int)
	take = func(i int) {
		if done[i] {
			return
		}
		done[i] = true
		for _, inside := range within[i] {
			take(inside)
		}
		out = append(out, pieces[i])
	}
	for _, i := range order {
		take(i)
	}
	return out
}

// areaSteps sorts pieces into steps of a factor of four in area, from 0.
func areaSteps(pieces []cutPiece) []int {
	out := make([]int, len(pieces))
	least := math.Inf(1)
	for _, c := range pieces {
		least = math.Min(least, c.outline.Path.Area())
	}
	least = math.Max(least, 1)
	for i, c := range pieces {
		out[i] = max(0, int(math.Floor(math.Log(math.Max(c.outline.Path.Area(), 1)/least)/math.Log(4)+1e-9)))
	}
	return out
}

// nested lists for each piece the pieces that lie within its outline.
func nested(pieces []cutPiece) [][]int {
	out := make([][]int, len(pieces))
	for i := range pieces {
		for j := range pieces {
			if i != j && encloses(pieces[i].outline.Path, pieces[j].outline.Path) {
				out[i] = append(out[i], j)
			}
		}
	}
	return out
}

// encloses reports whether a closed line contains another one. The lines must not cross.
func encloses(outer, inner geom.Path) bool {
	if !outer.Closed || len(inner.Points) == 0 {
		return false
	}
	a, b := outer.Bound(), inner.Bound()
	if !a.Contains(b.Min) || !a.Contains(b.Max) || inner.Closed && inner.Area() >= outer.Area() {
		return false
	}
	for _, q := range inner.Points { // one point on the line would prove nothing
		if !outer.Contains(q) {
			return false
		}
	}
	return true
}

// byDepth groups the lines within a piece: lines in a cut-out before the cut-out, the innermost first.
func byDepth(strokes []devices.Stroke) [][]devices.Stroke {
	var levels [][]devices.Stroke
	for i, s := range strokes {
		depth := 0
		for j, o := range strokes {
			if i != j && encloses(o.Path, s.Path) {
				depth++
			}
		}
		for len(levels) <= depth {
			levels = append(levels, nil)
		}
		levels[depth] = append(levels[depth], s)
	}
	slices.Reverse(levels)
	return levels
}

// startCosts gives for each closed stroke the cost of a start at each of its vertices. near are the lines that a start
// should keep away from.
func startCosts(strokes, near []devices.Stroke) [][]float64 {
	out := make([][]float64, len(strokes))
	for i, s := range strokes {
		if !s.Path.Closed {
			continue
		}
		out[i] = make([]float64, len(s.Path.Points))
		for v, p := range s.Path.Points {
			if !s.Path.Corner(v) {
				out[i][v] = smoothCost
			}
			for _, o := range near {
				a, b := ends(o)
				if math.Min(geom.Dist(a, p), geom.Dist(b, p)) < notchNear {
					out[i][v] += notchCost
					break
				}
			}
		}
	}
	return out
}
