package prepare

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// TestHalfOnTheFold: drawn once, a piece on the fold is its half - 1928.433 cm2 of the smock's front (trade
// check value 50; demo garment 1, body A, sewn lines) - and its cut line one open stroke from one end of the
// fold to the other, the end points to the hundredth of a mm on the drawn fold.
func TestHalfOnTheFold(t *testing.T) {
	p := smock()
	fold := *p.FoldLine()
	p.Quantity = 1
	res, err := Run(&pattern.Pattern{Pieces: []pattern.Piece{p}}, pattern.Ticket{Allowance: "0mm"}, Options{Once: true})
	if err != nil || len(res.Ready) != 1 {
		t.Fatalf("%d pieces, %v", len(res.Ready), err)
	}
	r := res.Ready[0]
	if a := r.Outline.Area() / 100; math.Abs(a-1928.433) > 0.1 {
		t.Errorf("the half is %v cm2, want 1928.433", a)
	}
	cut := r.CutLines()
	if len(cut) != 1 || cut[0].Closed {
		t.Fatalf("%d cut lines, want one open one", len(cut))
	}
	u := geom.Unit(geom.Sub(fold.B, fold.A))
	ends := []orb.Point{cut[0].Points[0], cut[0].Points[len(cut[0].Points)-1]}
	var along []float64
	for _, e := range ends {
		if d := math.Abs(geom.Cross(u, geom.Sub(e, fold.A))); d > 0.01 {
			t.Errorf("the end %v lies %.3f mm off the fold", e, d)
		}
		along = append(along, geom.Dot(u, geom.Sub(e, fold.A)))
	}
	slices.Sort(along)
	if long := geom.Dist(fold.A, fold.B); math.Abs(along[0]) > 0.01 || math.Abs(along[1]-long) > 0.01 {
		t.Errorf("the ends lie at %v along a fold of %.2f mm", along, long)
	}
	// What the half bears lies on its side of the fold; the bracket's two heads touch it.
	side := newSide(fold.A, fold.B, r.Outline)
	brackets := 0
	for _, l := range r.Lines {
		if l.Word != nil {
			continue
		}
		if look.KindOf(l.Role, l.Label) == look.OnFold {
			brackets++
		}
		for _, q := range l.Path.Points {
			if side.depth(q) < -0.01 {
				t.Errorf("the %s %q reaches over the fold, to %v", l.Role, l.Label, q)
				break
			}
		}
	}
	if brackets != 3 {
		t.Errorf("%d strokes say that it is laid on the fold, want a bracket and its two heads", brackets)
	}
}

// TestOnceForAllCopies: a pair of which three are asked for is drawn once and says six; on every copy there
// are six, three of them mirrored.
func TestOnceForAllCopies(t *testing.T) {
	p := smock()
	p.Fold, p.Quantity, p.Pair = nil, 2, true
	for i := range p.Edges {
		p.Edges[i].Fold = false
	}
	pat := &pattern.Pattern{Pieces: []pattern.Piece{p}}
	for _, c := range []struct {
		once         bool
		n, mirrored  int
		words, count string
	}{{true, 1, 0, "cut 6, 3 pairs", "piece 1 of 1"}, {false, 6, 3, "cut 6, 3 pairs", "piece 6 of 6"}} {
		res, err := Run(pat, pattern.Ticket{Allowance: "10mm", Copies: 3}, Options{Once: c.once})
		if err != nil {
			t.Fatal(err)
		}
		turned := 0
		for _, r := range res.Ready {
			if r.Mirrored {
				turned++
			}
		}
		if len(res.Ready) != c.n || turned != c.mirrored {
			t.Fatalf("once %v: %d pieces, %d mirrored, want %d and %d", c.once, len(res.Ready), turned, c.n, c.mirrored)
		}
		r := res.Ready[len(res.Ready)-1]
		var said []string
		for _, l := range r.Lines {
			if l.Word != nil && !slices.Contains(said, l.Word.Text) {
				said = append(said, l.Word.Text)
			}
		}
		all := strings.Join(said, " | ")
		for _, w := range []string{c.words, c.count} {
			if !strings.Contains(all, w) {
				t.Errorf("once %v: the piece does not say %q: %s", c.once, w, all)
			}
		}
	}
}

// TestSideOfALine holds the stretches on one side against arithmetic: of a circle the part above a chord.
func TestSideOfALine(t *testing.T) {
	c := circle(orb.Point{0, 0}, 100)
	s := side{orb.Point{0, 50}, orb.Point{0, 1}}
	got := s.of(c)
	if len(got) != 1 || got[0].Closed {
		t.Fatalf("%d stretches", len(got))
	}
	if want := 100 * 2 * math.Pi / 3; math.Abs(got[0].Length()-want) > 0.01 {
		t.Errorf("the arc over the chord at half the radius is %.3f long, want %.3f", got[0].Length(), want)
	}
	if n := len(s.of(geom.Path{Points: []orb.Point{{0, 0}, {0, 80}, {20, 80}, {20, 0}, {40, 0}, {40, 60}}})); n != 2 {
		t.Errorf("a line that crosses three times leaves %d stretches, want 2", n)
	}
}
