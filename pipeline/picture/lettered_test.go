package picture

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/pattern"
)

// TestNamesLieOnTheirPieces: the name of a ring lies on the ring and not in its opening, where another piece may lie;
// the name of a slanted narrow piece lies within it. Both are checked by points along the letters' box.
func TestNamesLieOnTheirPieces(t *testing.T) {
	ring := func(pts ...orb.Point) geom.Path { return geom.Path{Points: pts, Closed: true} }
	holed := pattern.Ready{Name: "neck facing", Outline: ring(orb.Point{0, 0}, orb.Point{300, 0}, orb.Point{300, 300}, orb.Point{0, 300}),
		Lines: []pattern.Line{{Role: pattern.RoleCutout, Path: ring(orb.Point{60, 60}, orb.Point{240, 60}, orb.Point{240, 240}, orb.Point{60, 240})}}}
	slanted := pattern.Ready{Name: "long strap", Outline: ring(orb.Point{0, 0}, orb.Point{30, 0}, orb.Point{430, 400}, orb.Point{400, 400})}
	for _, r := range []pattern.Ready{holed, slanted} {
		for _, at := range []geom.Affine{geom.Identity, geom.Rotate(math.Pi / 2), geom.Rotate(math.Pi), geom.Affine{A: -1, D: 1}} {
			w := lettered(&r, at)
			poly := orb.Polygon{r.Outline.Apply(at).Ring()}
			for _, c := range r.Cutouts() {
				poly = append(poly, c.Apply(at).Ring())
			}
			long, s, c := letters.Width(r.Name, w.Height), math.Sin(w.Turn), math.Cos(w.Turn)
			for i := range 21 {
				x := long * (float64(i)/20 - 0.5)
				for _, y := range []float64{-0.3 * w.Height, 0, w.Height} {
					if p := (orb.Point{w.At[0] + c*x - s*y, w.At[1] + s*x + c*y}); !planar.PolygonContains(poly, p) {
						t.Fatalf("%s: %.1f mm high at %v, turned %.2f: %v lies outside", r.Name, w.Height, w.At, w.Turn, p)
					}
				}
			}
			if w.Height < 8 {
				t.Errorf("%s: %.1f mm high", r.Name, w.Height)
			}
		}
	}
}

// TestLettersAreCounted: the height of a name depends on its number of letters, not of bytes.
func TestLettersAreCounted(t *testing.T) {
	outline := geom.Path{Points: []orb.Point{{0, 0}, {90, 0}, {90, 60}, {0, 60}}, Closed: true}
	of := func(name string) float64 {
		r := pattern.Ready{Name: name, Outline: outline}
		return lettered(&r, geom.Identity).Height
	}
	if plain, marked := of("Armel vorne"), of("Ärmel völlö"); plain != marked || plain >= 20 {
		t.Errorf("%g mm and %g mm", plain, marked)
	}
}
