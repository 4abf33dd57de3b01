package offset

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// BenchmarkOffset shows how the time grows with the vertices of a lobed outline; the same beside
// GEOS is behind the build tag geos.
func BenchmarkOffset(b *testing.B) {
	for _, n := range []int{50, 500, 5000, 50000} {
		p := geom.Path{Closed: true}
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := 150 + 20*math.Cos(7*2*math.Pi*float64(i)/float64(n))
			p.Points = append(p.Points, orb.Point{r * c, 2 * r * s})
		}
		for _, d := range []float64{10, -10} {
			b.Run(fmt.Sprintf("n=%d/d=%g", n, d), func(b *testing.B) {
				b.ReportAllocs()
				for range b.N {
					if _, err := uniform(p, d, 5); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/vertex")
			})
		}
	}
}
