package separation

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices/needs"
)

// set is an open irregular strip-packing set: trousers (Oliveira, Gomes and Ferreira 2000), dagli (Ratanapan and
// Dagli 1997), mao (Bounsaythip and Maouche 1997), from the ESICUP data repository, CC0 1.0.
type set struct {
	Name  string
	Width float64 `json:"strip_width"`
	Area  float64 `json:"total_area"`
	Items []struct {
		Demand  int
		Turns   []float64 `json:"allowed_rotations"`
		Polygon []orb.Point
	}
}

func readSet(tb testing.TB, name string) (Strip, []Item, float64) {
	tb.Helper()
	var s set
	if err := json.Unmarshal(needs.Data(tb, "nesting", name+".json"), &s); err != nil {
		tb.Fatal(err)
	}
	var items []Item
	for _, it := range s.Items {
		for range it.Demand {
			items = append(items, Item{Outline: it.Polygon, Turns: it.Turns})
		}
	}
	return Strip{Width: s.Width}, items, s.Area
}

func BenchmarkFirst(b *testing.B) {
	for _, name := range []string{"trousers", "dagli", "mao"} {
		b.Run(name, func(b *testing.B) {
			s, items, area := readSet(b, name)
			var lay Layout
			for b.Loop() {
				ps, err := newPieces(s, items)
				if err != nil {
					b.Fatal(err)
				}
				if lay, _, err = firstPlaces(ps); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(100*area/(s.Width*lay.Length), "%dense")
		})
	}
}

func benchItems(n int, repeat int) (Strip, []Item) {
	var items []Item
	for i := range n {
		k := float64(i % repeat)
		w, h := 100+k*7, 60+float64((i*37)%repeat)*5
		items = append(items, Item{Turns: []float64{0, 180}, Outline: []orb.Point{{0, 0}, {w, 0}, {w * 0.9, h}, {w / 2, h / 2}, {w / 8, h}}})
	}
	return Strip{Width: 1500, Gap: 2}, items
}

func BenchmarkFirstMany(b *testing.B) {
	for _, n := range []int{125, 250, 500, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s, items := benchItems(n, 50)
			for b.Loop() {
				ps, err := newPieces(s, items)
				if err != nil {
					b.Fatal(err)
				}
				if _, _, err = firstPlaces(ps); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
