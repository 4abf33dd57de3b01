package hpgl

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/geom/letters"
)

// garment makes a lay of n pieces such as a workshop plots: curved outlines flattened as finely as the readers do,
// notches, a grain line and lettering.
func garment(n int) []devices.Stroke {
	var out []devices.Stroke
	for i := range n {
		at := orb.Point{150 + 260*float64(i/2), 150 + 300*float64(i%2)}
		r := 60 + 15*float64(i%4)
		add := func(role string, closed bool, pts ...orb.Point) {
			s := pen(role, i, closed, pts...)
			s.Path = s.Path.Apply(geom.Translate(at[0], at[1]))
			out = append(out, s)
		}
		for k := range 6 {
			a := float64(k)
			p := orb.Point{r * math.Cos(a), 1.5 * r * math.Sin(a)}
			add("notch", false, p, geom.Mul(p, 0.93))
		}
		add("grain", false, orb.Point{-40, 0}, orb.Point{40, 0})
		lines, _ := letters.Strokes("BACK BODICE 2 OF 4", 6)
		for _, l := range lines {
			add("text", l.Closed, l.Points...)
		}
		add("cut", true, geom.FlattenArc([]orb.Point{{r, 0}}, orb.Point{}, orb.Point{r, 0}, orb.Point{0, 1.5 * r}, 0, 2*math.Pi-0.01, geom.FlattenTol)...)
	}
	return out
}

// The target: encoded HP-GL/2 takes at most 35 % of the bytes of plain PD for the same drawing at the same resolution.
func TestEncodedShare(t *testing.T) {
	strokes := garment(12)
	p := rollPlotter()
	encoded := mustEncode(t, strokes, p).Len()
	p.Plot.SevenBit = true
	seven := mustEncode(t, strokes, p).Len()
	p.Plot.Encoded, p.Plot.SevenBit = false, false
	plain := mustEncode(t, strokes, p).Len()
	share := 100 * float64(encoded) / float64(plain)
	t.Logf("plain %d bytes, encoded %d (%.1f %%), for seven bits %d (%.1f %%)", plain, encoded, share, seven, 100*float64(seven)/float64(plain))
	if share > 35 {
		t.Errorf("encoded takes %.1f %% of plain", share)
	}
}

func BenchmarkEncode(b *testing.B) {
	strokes := garment(30)
	for _, c := range []struct {
		name    string
		encoded bool
	}{{"encoded", true}, {"plain", false}} {
		p := rollPlotter()
		p.Plot.Encoded = c.encoded
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				n = mustEncode(b, strokes, p).Len()
			}
			b.ReportMetric(float64(n), "bytes/plot")
		})
	}
}
