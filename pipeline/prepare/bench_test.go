package prepare

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// benchDraft is a draft of so many garment-like pieces, of about so many vertices each on the sew line
// alone: straight sides, a curved hem, a hollow armhole and neck.
func benchDraft(pieces, vertices int) *pattern.Pattern {
	d := &pattern.Pattern{Style: "HARBOUR PLAY"}
	for k := range pieces {
		sew := geom.Path{Closed: true}
		add := func(corner bool, pts ...orb.Point) {
			for i, q := range pts {
				sew.Points, sew.Corners = append(sew.Points, q), append(sew.Corners, corner && i == 0)
			}
		}
		curve := func(n int, a, h, b orb.Point) {
			for i := range n {
				t := float64(i) / float64(n)
				p, q := geom.Lerp(a, h, t), geom.Lerp(h, b, t)
				add(i == 0, geom.Lerp(p, q, t))
			}
		}
		n := (vertices - 2) / 3
		w := 250 + 10*float64(k%7)
		curve(n, orb.Point{0, 0}, orb.Point{w / 2, -20}, orb.Point{w, 0})
		add(true, orb.Point{w, 0})
		curve(n, orb.Point{w, 380}, orb.Point{w - 90, 400}, orb.Point{w - 80, 560})
		add(true, orb.Point{w - 80, 560})
		curve(n, orb.Point{90, 590}, orb.Point{80, 520}, orb.Point{0, 510})
		add(true, orb.Point{0, 510})
		width := 12.0
		d.Pieces = append(d.Pieces, pattern.Piece{
			Name: fmt.Sprintf("PIECE %d", k+1), Named: true, Quantity: 1, Sew: []geom.Path{sew}, Allowance: &width,
			Grain:   &pattern.Segment{A: orb.Point{w / 2, 60}, B: orb.Point{w / 2, 400}},
			Notches: []pattern.Notch{{At: orb.Point{w, 200}, Kind: pattern.NotchNick, Depth: 4, OnSew: true}, {At: orb.Point{0, 250}, Kind: pattern.NotchV, OnSew: true}},
			Drills:  []pattern.Drill{{At: orb.Point{w / 3, 300}}},
		})
	}
	return d
}

func BenchmarkPrepare30PiecesOf20000Vertices(b *testing.B) {
	d := benchDraft(30, 667)
	n := 0
	for _, p := range d.Pieces {
		n += len(p.Sew[0].Points)
	}
	if math.Abs(float64(n)-20000) > 300 {
		b.Fatalf("%d vertices", n)
	}
	for b.Loop() {
		if _, err := Run(d, pattern.Ticket{}, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
