package prepare

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

func width(w float64) *pattern.Width { return &pattern.Width{From: w, To: w} }

// Half-circle waist of 72 cm, allowance 1.5 cm inward: cut radius 21.418 cm, cut arc 67.288 cm, shorter
// than the seam (trade check value 31, computed).
func TestWaistOfAHalfCircle(t *testing.T) {
	const r = 720 / math.Pi
	sew := geom.Path{Closed: true, Points: []orb.Point{{r + 600, 0}}}
	sew.Points = geom.FlattenArc(sew.Points, orb.Point{}, orb.Point{r + 600, 0}, orb.Point{0, r + 600}, 0, math.Pi, geom.FlattenTol/10)
	second := len(sew.Points)
	sew.Points = append(sew.Points, orb.Point{-r, 0})
	sew.Points = geom.FlattenArc(sew.Points, orb.Point{}, orb.Point{-r, 0}, orb.Point{0, r}, 0, math.Pi, geom.FlattenTol/10)
	last := len(sew.Points) - 1
	for i := range sew.Points {
		sew.Corners = append(sew.Corners, i == 0 || i == second-1 || i == second || i == last)
	}
	p := sewn(func(p *pattern.Piece) {
		p.Sew, p.Grain = []geom.Path{sew}, nil
		p.Edges = []pattern.Edge{{Name: "hem", First: 0, Allowance: width(20)}, {Name: "centre back", First: second - 1, Allowance: width(0)},
			{Name: "waist", First: second, Allowance: width(15)}, {Name: "centre front", First: last, Allowance: width(0)}}
	})
	ready := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	var arc float64
	for i, name := range ready.EdgeOf {
		if name != "waist" {
			continue
		}
		a, b := ready.Outline.Segment(i)
		arc += geom.Dist(a, b)
		if d := geom.Norm(a); math.Abs(d-214.183) > 0.01 {
			t.Fatalf("cut radius %v mm, want 214.18", d)
		}
	}
	if math.Abs(arc-672.88) > 0.05 {
		t.Errorf("cut arc %v mm, want 672.88", arc)
	}
}

// Flare of 3 cm in 39, hem of 3 cm, mirrored: the corner lies 0.231 cm inside the hem corner; the plain
// extension would lie as far outside (trade check value 32, computed).
func TestHemOfAFlaredPiece(t *testing.T) {
	for kind, want := range map[offset.CornerKind]float64{offset.Mirrored: 170 - 2.31, offset.Mitred: 170 + 2.31} {
		p := sewn(func(p *pattern.Piece) {
			p.Sew = []geom.Path{*closed("0,0 170,0 140,390 0,390")}
			p.Edges = []pattern.Edge{{Name: "hem", First: 0, Allowance: width(30)}, {Name: "side", First: 1, Allowance: width(0), Corner: kind},
				{Name: "waist", First: 2, Allowance: width(0)}, {Name: "centre", First: 3, Allowance: width(0)}}
		})
		far := math.Inf(-1)
		for _, q := range mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0].Outline.Points {
			if math.Abs(q[1]+30) < 1e-6 {
				far = math.Max(far, q[0])
			}
		}
		if math.Abs(far-want) > 0.01 {
			t.Errorf("corner kind %d: the hem's cut edge ends at %v, want %v", kind, far, want)
		}
	}
}
