package offset

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// cells is a set of unit squares on a board, the slow and exact model of outlines on whole
// millimetres: with mitred right angles, an allowance of k whole millimetres is the board grown by
// k squares in all eight directions. Everything that touches, coincides or closes up exactly
// happens here all the time.
type cells [36][36]bool

func (c *cells) at(x, y int) bool {
	return x >= 0 && y >= 0 && x < len(c) && y < len(c) && c[x][y]
}

func (c *cells) grown(k int) (g cells, area int) {
	for x := range g {
		for y := range g {
			for dx := -k; dx <= k && !g[x][y]; dx++ {
				for dy := -k; dy <= k && !g[x][y]; dy++ {
					g[x][y] = c.at(x+dx, y+dy)
				}
			}
			if g[x][y] {
				area++
			}
		}
	}
	return g, area
}

func (c *cells) shrunk(k int) (g cells, area int) {
	for x := range g {
		for y := range g {
			g[x][y] = true
			for dx := -k; dx <= k && g[x][y]; dx++ {
				for dy := -k; dy <= k && g[x][y]; dy++ {
					g[x][y] = c.at(x+dx, y+dy)
				}
			}
			if g[x][y] {
				area++
			}
		}
	}
	return g, area
}

// sides counts the unit edges between a square in and one out: the perimeter.
func (c *cells) sides() (n int) {
	for x := range c {
		for y := range c {
			if !c[x][y] {
				continue
			}
			for _, d := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				if !c.at(x+d[0], y+d[1]) {
					n++
				}
			}
		}
	}
	return n
}

// blob grows a random set of squares that keeps one simple outline.
func blob(rng *rand.Rand, size int) (c cells) {
	c[18][18] = true
	for n := 1; n < size; {
		x, y := 9+rng.IntN(18), 9+rng.IntN(18)
		if !c[x][y] && c.mayAdd(x, y) {
			c[x][y] = true
			n++
		}
	}
	return c
}

// mayAdd tells whether the squares round (x, y) that are taken form one unbroken arc that begins
// and ends with a side neighbour: then the outline stays one simple ring.
func (c *cells) mayAdd(x, y int) bool {
	round := [][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}}
	changes, sides := 0, 0
	for i, d := range round {
		e := round[(i+1)%8]
		in, next := c.at(x+d[0], y+d[1]), c.at(x+e[0], y+e[1])
		if in != next {
			changes++
		}
		if in && i%2 == 0 {
			sides++
		}
		lone := in && i%2 == 1 && !c.at(x+round[i-1][0], y+round[i-1][1]) && !next
		if lone {
			return false
		}
	}
	return changes == 2 && sides > 0
}

// outline walks the boundary with the squares on the left, as unit steps.
func (c *cells) outline() geom.Path {
	var x, y int
	for x = 0; x < len(c); x++ {
		found := false
		for y = 0; y < len(c); y++ {
			if c[x][y] {
				found = true
				break
			}
		}
		if found {
			break
		}
	}
	// (x, y) is the lowest corner of the leftmost column; the first step goes right.
	p := geom.Path{Closed: true}
	px, py, dx, dy := x, y, 1, 0
	for {
		p.Points = append(p.Points, orb.Point{float64(px), float64(py)})
		px, py = px+dx, py+dy
		if px == x && py == y {
			return p
		}
		// Squares ahead to the left and to the right of the way.
		left, right := c.ahead(px, py, dx, dy)
		switch {
		case right:
			dx, dy = dy, -dx
		case !left:
			dx, dy = -dy, dx
		}
	}
}

// ahead are the squares beyond a grid point in a direction, left and right of it.
func (c *cells) ahead(px, py, dx, dy int) (left, right bool) {
	square := func(sx, sy int) bool { // the square whose centre lies at half steps sx, sy
		return c.at(px+(sx-1)/2, py+(sy-1)/2)
	}
	return square(dx-dy, dy+dx), square(dx+dy, dy-dx)
}

func TestOffsetOnWholeMillimetres(t *testing.T) {
	seed := uint64(5)
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 6))
	for n := range 150 {
		board := blob(rng, 5+rng.IntN(120))
		p := board.outline()
		count := 0
		for x := range board {
			for y := range board {
				if board[x][y] {
					count++
				}
			}
		}
		if math.Abs(p.SignedArea()-float64(count)) > 1e-9 {
			t.Fatalf("outline %d: area %g of %d squares", n, p.SignedArea(), count)
		}
		for _, d := range []int{1, 2, 3, -1, -2} {
			want, area := board.grown(d)
			if d < 0 {
				want, area = board.shrunk(-d)
			}
			rings, err := uniform(p, float64(d), 5)
			if err != nil {
				t.Errorf("outline %d by %d: %v", n, d, err)
				continue
			}
			var got, round float64
			for _, r := range rings {
				got += r.Path.SignedArea()
				round += r.Path.Length()
				if r.Hole != (r.Path.SignedArea() < 0) {
					t.Errorf("outline %d by %d: a hole that is none, or the other way", n, d)
				}
			}
			if math.Abs(got-float64(area)) > 1e-4 || math.Abs(round-float64(want.sides())) > 1e-4 {
				t.Errorf("outline %d by %d: area %.6f, perimeter %.6f; want %d, %d", n, d, got, round, area, want.sides())
			}
		}
	}
}
