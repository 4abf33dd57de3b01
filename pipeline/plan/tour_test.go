package plan

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/devices/needs"
	"tracewheel/geom"
)

func roundLength(points []orb.Point, order []int) float64 {
	var sum float64
	for i, a := range order {
		sum += geom.Dist(points[a], points[order[(i+1)%len(order)]])
	}
	return sum
}

func visitsAll(order []int, n int) bool {
	sorted := slices.Clone(order)
	slices.Sort(sorted)
	for i, v := range sorted {
		if i != v {
			return false
		}
	}
	return len(order) == n
}

// berlin52 and kroA100 of TSPLIB (Reinelt 1991), with their best known tours and unrounded lengths. 2 % is the target.
func TestTourAgainstTSPLIB(t *testing.T) {
	for _, name := range []string{"tsp-berlin52.json", "tsp-kroA100.json"} {
		t.Run(name, func(t *testing.T) {
			var set struct {
				Points  []orb.Point `json:"points"`
				Optimal []int       `json:"optimal_tour"`
			}
			if err := json.Unmarshal(needs.Data(t, "reference", name), &set); err != nil {
				t.Fatal(err)
			}
			best := roundLength(set.Points, set.Optimal)
			order := closedTour(set.Points, 0)
			if !visitsAll(order, len(set.Points)) {
				t.Fatalf("not a round: %v", order)
			}
			got := roundLength(set.Points, order)
			t.Logf("%.1f, the best is %.1f: %.2f %% over", got, best, 100*(got/best-1))
			if got > 1.02*best || got < best*(1-1e-9) {
				t.Errorf("%.1f, the best is %.1f", got, best)
			}
		})
	}
}

// On small sets the shortest way is found by trying all orders.
func TestPathAgainstAllOrders(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(rt, "n")
		coord := rapid.Float64Range(0, 100)
		pt := func() orb.Point { return orb.Point{coord.Draw(rt, "x"), coord.Draw(rt, "y")} }
		var items [][2]orb.Point
		for range n {
			a := pt()
			b := a
			if rapid.Bool().Draw(rt, "open") {
				b = pt()
			}
			items = append(items, [2]orb.Point{a, b})
		}
		start := pt()
		got := wayLength(items, start, path(items, start, 200, false))
		if best := allOrders(items, start, nil); got > best+1e-6 {
			rt.Fatalf("%.3f, the best is %.3f", got, best)
		}
	})
}

func wayLength(items [][2]orb.Point, at orb.Point, visits []visit) float64 {
	var sum float64
	for _, v := range visits {
		in, out := items[v.item][0], items[v.item][1]
		if v.turned {
			in, out = out, in
		}
		sum += geom.Dist(at, in)
		at = out
	}
	return sum
}

func allOrders(items [][2]orb.Point, start orb.Point, done []visit) float64 {
	if len(done) == len(items) {
		return wayLength(items, start, done)
	}
	best := math.Inf(1)
	for i := range items {
		if slices.ContainsFunc(done, func(v visit) bool { return v.item == i }) {
			continue
		}
		for _, turned := range []bool{false, true} {
			best = math.Min(best, allOrders(items, start, append(done, visit{i, turned})))
		}
	}
	return best
}

// Whatever is done to a tour, the positions stay consistent and the predicted gain is the true one.
func TestMovesKeepTheirWord(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(rt, "n")
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		var ends []orb.Point
		order, flip := make([]int32, n), make([]bool, n)
		for i := range n {
			a := orb.Point{math.Round(rnd.Float64() * 20), math.Round(rnd.Float64() * 20)}
			b := a
			if rnd.IntN(2) == 0 {
				b = orb.Point{rnd.Float64() * 20, rnd.Float64() * 20}
			}
			ends, order[i] = append(ends, a, b), int32(i)
		}
		free := int32(-1)
		if rnd.IntN(2) == 0 {
			free = 0
		}
		tr := newTour(ends, free, order, flip)
		for p := range int32(n) {
			tr.push(p)
		}
		before := tr.length()
		gain := tr.settle()
		after := tr.length()
		if math.Abs(before-gain-after) > 1e-6 {
			rt.Fatalf("%.6f less %.6f is not %.6f", before, gain, after)
		}
		tr.kick(50, 7)
		if l := tr.length(); l > after+1e-6 {
			rt.Fatalf("kicks made %.6f of %.6f", l, after)
		}
		seen := make([]bool, n)
		for p, item := range tr.order {
			if seen[item] || tr.pos[item] != int32(p) {
				rt.Fatalf("item %d at position %d is out of place", item, p)
			}
			seen[item] = true
		}
	})
}

func TestTourIsRepeatable(t *testing.T) {
	points := scattered(300, 3)
	a, b := closedTour(points, 0), closedTour(points, 0)
	if !slices.Equal(a, b) {
		t.Error("the same points gave another round")
	}
	if closedTour(nil, 0) != nil || len(closedTour(points[:1], 0)) != 1 || len(closedTour([]orb.Point{{1, 1}, {1, 1}, {1, 1}}, 0)) != 3 {
		t.Error("rounds through nothing, one point, or one place thrice")
	}
}

func scattered(n int, seed uint64) []orb.Point {
	rnd := rand.New(rand.NewPCG(seed, 0))
	out := make([]orb.Point, n)
	for i := range out {
		out[i] = orb.Point{rnd.Float64() * 3000, rnd.Float64() * 900}
	}
	return out
}

// 2,000 stops, compared with a run twenty times as long.
func TestTourAgainstALongRun(t *testing.T) {
	points := scattered(2000, 11)
	long := roundLength(points, closedTour(points, 200))
	usual := roundLength(points, closedTour(points, 0))
	t.Logf("usual %.0f mm, long run %.0f mm: %.2f %% over", usual, long, 100*(usual/long-1))
	if usual > 1.05*long {
		t.Errorf("the usual run is %.1f %% over a long one", 100*(usual/long-1))
	}
}

func BenchmarkTour2000(b *testing.B) {
	points := scattered(2000, 11)
	for b.Loop() {
		closedTour(points, 0)
	}
}

// closedTour is a short closed tour through points, as the order of visits; effort is Options.Effort.
func closedTour(points []orb.Point, effort int) []int {
	if len(points) == 0 {
		return nil
	}
	ends := make([]orb.Point, 0, 2*len(points))
	for _, p := range points {
		ends = append(ends, p, p)
	}
	order, flip := greedy(ends, points[0], -1)
	t := newTour(ends, -1, order, flip)
	t.descend()
	t.kick(kicksFor(t.n, effort), seed)
	out := make([]int, t.n)
	for i, item := range t.order {
		out[i] = int(item)
	}
	return out
}

// length is the length of the whole tour.
func (t *tour) length() float64 {
	var sum float64
	for p := range int32(t.n) {
		sum += t.dist(t.outEnd(p), t.inEnd(t.next(p)))
	}
	return sum
}
