package check

import (
	"fmt"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

// garment is a piece of about so many vertices, half of them on its sew line, half on its cut line
// 12 mm outside: a curved hem, a straight side, a hollow armhole and neck.
func garment(vertices int) pattern.Piece {
	sew := geom.Path{Closed: true}
	n := (vertices/2 - 3) / 3
	curve := func(a, h, b orb.Point) {
		for i := range n + 1 {
			t := float64(i) / float64(n)
			sew.Points = append(sew.Points, geom.Lerp(geom.Lerp(a, h, t), geom.Lerp(h, b, t), t))
			sew.Corners = append(sew.Corners, i == 0 || i == n)
		}
	}
	curve(orb.Point{0, 0}, orb.Point{150, -20}, orb.Point{300, 0})
	curve(orb.Point{300, 380}, orb.Point{210, 400}, orb.Point{220, 560})
	curve(orb.Point{90, 590}, orb.Point{80, 520}, orb.Point{0, 510})
	rings, err := offset.Build(sew, []offset.Edge{{From: 12, To: 12}}, 3)
	if err != nil {
		panic(err)
	}
	return panel(func(p *pattern.Piece) {
		p.Sew, p.Cut = []geom.Path{sew}, &rings[0].Path
		p.Grain = &pattern.Segment{A: orb.Point{150, 60}, B: orb.Point{150, 400}}
		for k := range 6 {
			at, _ := p.Cut.At(200 + 280*float64(k))
			p.Notches = append(p.Notches, pattern.Notch{At: at, Kind: pattern.NotchNick, Depth: 4})
		}
	})
}

func BenchmarkCheck30PiecesOf20000Vertices(b *testing.B) {
	d, n := draftOf(), 0
	for k := range 30 {
		p := garment(680)
		p.Name = fmt.Sprint("PIECE ", k)
		n += len(p.Sew[0].Points) + len(p.Cut.Points)
		d.Pieces = append(d.Pieces, p)
	}
	if n < 19000 || n > 21000 {
		b.Fatalf("%d vertices", n)
	}
	if found := Run(d, Limits{}, nil); pattern.Worst(found) == pattern.Error {
		b.Fatal(said(found))
	}
	for b.Loop() {
		Run(d, Limits{Width: 1500, Cuts: true, BladeOffset: 0.5}, nil)
	}
}
