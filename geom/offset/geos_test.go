//go:build geos

package offset

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-geos"

	"tracewheel/geom"
)

// bodice is a bodice front of 290 by 650 mm with a concave armhole and neck, drawn with n vertices
// at even distances; scallops gives it a hem of half circles 9 mm wide.
func bodice(n int, scallops bool) geom.Path {
	fine := []orb.Point{{0, 0}}
	if scallops {
		for x := 0.0; x < 288; x += 9 {
			fine = geom.FlattenArc(fine, orb.Point{x + 4.5, 0}, orb.Point{-4.5, 0}, orb.Point{0, -6}, 0, math.Pi, 1e-5)
		}
		fine = append(fine, orb.Point{290, 0})
	} else {
		fine = geom.FlattenCubic(fine, orb.Point{0, 0}, orb.Point{100, -12}, orb.Point{200, -12}, orb.Point{290, 0}, 1e-6)
	}
	fine = append(fine, orb.Point{280, 420})
	fine = geom.FlattenCubic(fine, orb.Point{280, 420}, orb.Point{210, 430}, orb.Point{215, 520}, orb.Point{240, 610}, 1e-6)
	fine = append(fine, orb.Point{90, 650})
	fine = geom.FlattenCubic(fine, orb.Point{90, 650}, orb.Point{85, 590}, orb.Point{60, 560}, orb.Point{0, 560}, 1e-6)
	dense := geom.Path{Points: fine, Closed: true}.Ruler()
	out := geom.Path{Closed: true}
	for i := range n {
		p, _ := dense.At(dense.Length() * float64(i) / float64(n))
		out.Points = append(out.Points, p)
	}
	return out
}

func geosPolygon(ctx *geos.Context, p geom.Path) *geos.Geom {
	ring := make([][]float64, 0, len(p.Points)+1)
	for _, q := range append(p.Points[:len(p.Points):len(p.Points)], p.Points[0]) {
		ring = append(ring, []float64{q[0], q[1]})
	}
	return ctx.NewPolygon([][][]float64{ring})
}

// BenchmarkOffsetBesideGEOS times both in turn in one process and prints the medians and their ratio; below 1 ours is
// faster. GEOS's time leaves out making its polygon and reading its result back.
func BenchmarkOffsetBesideGEOS(b *testing.B) {
	ctx := geos.NewContext()
	for _, scallops := range []bool{false, true} {
		for _, n := range []int{50, 500, 5000, 50000} {
			for _, d := range []float64{10, -10} {
				name := fmt.Sprintf("scallops=%v/n=%d/d=%g", scallops, n, d)
				b.Run(name, func(b *testing.B) {
					p := bodice(n, scallops)
					theirs := geosPolygon(ctx, p)
					ours, beside := make([]float64, b.N), make([]float64, b.N)
					for k := range b.N {
						t0 := time.Now()
						if _, err := uniform(p, d, 5); err != nil {
							b.Fatal(err)
						}
						t1 := time.Now()
						theirs.BufferWithStyle(d, 16, geos.BufCapStyleRound, geos.BufJoinStyleMitre, 5)
						ours[k] = float64(t1.Sub(t0).Nanoseconds()) / 1000
						beside[k] = float64(time.Since(t1).Nanoseconds()) / 1000
					}
					slices.Sort(ours)
					slices.Sort(beside)
					b.ReportMetric(ours[b.N/2], "µs-ours")
					b.ReportMetric(beside[b.N/2], "µs-geos")
					b.ReportMetric(ours[b.N/2]/beside[b.N/2], "ratio")
					b.ReportMetric(0, "ns/op")
				})
			}
		}
	}
}

// TestOffsetBesideGEOS compares areas. GEOS thins its input by up to 1 % of the distance on the
// closing side, so only to that.
func TestOffsetBesideGEOS(t *testing.T) {
	ctx := geos.NewContext()
	for _, n := range []int{50, 500, 5000} {
		for _, d := range []float64{10, -10} {
			for _, scallops := range []bool{false, true} {
				p := bodice(n, scallops)
				rings, err := uniform(p, d, 5)
				if err != nil {
					t.Fatal(err)
				}
				var area float64
				for _, r := range rings {
					area += r.Path.SignedArea()
				}
				want := geosPolygon(ctx, p).BufferWithStyle(d, 16, geos.BufCapStyleRound, geos.BufJoinStyleMitre, 5).Area()
				if math.Abs(area-want) > 2e-4*want {
					t.Errorf("%d points, %g mm, scallops %v: area %.4f, GEOS %.4f", n, d, scallops, area, want)
				}
			}
		}
	}
}
