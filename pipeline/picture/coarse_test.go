package picture

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestCoarse: an SVG with fewer points deviates from the full one by no more than was allowed.
func TestCoarse(t *testing.T) {
	var wave geom.Path
	for i := range 2000 {
		a := 2 * math.Pi * float64(i) / 2000
		wave.Points = append(wave.Points, orb.Point{(100 + 10*math.Sin(5*a)) * math.Cos(a), (100 + 10*math.Sin(5*a)) * math.Sin(a)})
	}
	wave.Closed = true
	p := &pattern.Pattern{Pieces: []pattern.Piece{{Name: "wave", Cut: &wave}}}
	read := func(coarse float64) geom.Path {
		d := regexp.MustCompile(`class="cut"[^>]* d="([^"]*)"`).FindSubmatch(Pattern(p, nil, Options{Coarse: coarse}).SVG())
		if d == nil {
			t.Fatal("no cut line")
		}
		out := geom.Path{Closed: true}
		for _, m := range regexp.MustCompile(`[ML]([-0-9.]+) ([-0-9.]+)`).FindAllStringSubmatch(string(d[1]), -1) {
			x, errX := strconv.ParseFloat(m[1], 64)
			y, errY := strconv.ParseFloat(m[2], 64)
			if errX != nil || errY != nil {
				t.Fatal(m)
			}
			out.Points = append(out.Points, orb.Point{x, y})
		}
		return out
	}
	fine, few := read(0), read(0.1)
	if len(few.Points) > len(fine.Points)/4 {
		t.Errorf("%d of %d points are left", len(few.Points), len(fine.Points))
	}
	for _, q := range fine.Points {
		if d := few.Nearest(q).Dist; d > 0.1+0.01 { // plus the rounding to a hundredth
			t.Fatalf("%v lies %.3f beside", q, d)
		}
	}
}
