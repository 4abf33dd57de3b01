package prepare_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// oddPath is anything that a line can be: nothing, one point, doubled points, open, closed, crossing.
func oddPath(t *rapid.T) geom.Path {
	coord := rapid.OneOf(rapid.Float64Range(-300, 300), rapid.SampledFrom([]float64{0, 100, -100, 2000}))
	p := geom.Path{Closed: rapid.Bool().Draw(t, "closed")}
	for range rapid.IntRange(0, 9).Draw(t, "points") {
		p.Points = append(p.Points, orb.Point{coord.Draw(t, "x"), coord.Draw(t, "y")})
	}
	if rapid.Bool().Draw(t, "corners") {
		for range p.Points {
			p.Corners = append(p.Corners, rapid.Bool().Draw(t, "corner"))
		}
	}
	return p
}

func oddPiece(t *rapid.T) pattern.Piece {
	place := func(name string) orb.Point {
		c := rapid.Float64Range(-350, 350)
		return orb.Point{c.Draw(t, name), c.Draw(t, name)}
	}
	p := pattern.Piece{
		Name: rapid.String().Draw(t, "name"), Named: rapid.Bool().Draw(t, "named"), Quantity: rapid.IntRange(-1, 4).Draw(t, "quantity"),
		Pair: rapid.Bool().Draw(t, "pair"), CutSaid: rapid.Bool().Draw(t, "said"),
	}
	if rapid.Bool().Draw(t, "cut") {
		c := oddPath(t)
		p.Cut = &c
	}
	for range rapid.IntRange(0, 3).Draw(t, "sew") {
		p.Sew = append(p.Sew, oddPath(t))
	}
	for range rapid.IntRange(0, 3).Draw(t, "edges") {
		w := rapid.Float64Range(-5, 40).Draw(t, "width")
		p.Edges = append(p.Edges, pattern.Edge{Name: rapid.SampledFrom([]string{"", "side", "hem"}).Draw(t, "edge"), First: rapid.IntRange(-1, 9).Draw(t, "first"),
			Allowance: &pattern.Width{From: w, To: w}, Fold: rapid.Bool().Draw(t, "on fold"), Corner: offset.CornerKind(rapid.IntRange(0, 6).Draw(t, "kind"))})
	}
	if rapid.Bool().Draw(t, "stated") {
		w := rapid.Float64Range(-20, 60).Draw(t, "allowance")
		p.Allowance = &w
	}
	if rapid.Bool().Draw(t, "fold") {
		p.Fold = &pattern.Segment{A: place("fold"), B: place("fold")}
	}
	if rapid.Bool().Draw(t, "grain") {
		p.Grain = &pattern.Segment{A: place("grain"), B: place("grain")}
	}
	kinds := []pattern.NotchKind{"", pattern.NotchNick, pattern.NotchV, pattern.NotchT, pattern.NotchCastle, pattern.NotchCheck, pattern.NotchU, pattern.NotchPen}
	for range rapid.IntRange(0, 3).Draw(t, "notches") {
		p.Notches = append(p.Notches, pattern.Notch{At: place("notch"), Kind: rapid.SampledFrom(kinds).Draw(t, "notch kind"),
			Depth: rapid.Float64Range(-1, 20).Draw(t, "depth"), Width: rapid.Float64Range(-1, 20).Draw(t, "mouth"), OnSew: rapid.Bool().Draw(t, "on sew")})
	}
	for range rapid.IntRange(0, 2).Draw(t, "marks") {
		p.Marks = append(p.Marks, pattern.Mark{Role: pattern.RoleMark, Path: oddPath(t)})
		p.Cutouts = append(p.Cutouts, oddPath(t))
		p.Labels = append(p.Labels, pattern.Label{At: place("label"), Text: rapid.String().Draw(t, "text")})
		p.Drills = append(p.Drills, pattern.Drill{At: place("drill"), Diameter: rapid.Float64Range(-1, 9).Draw(t, "diameter")})
	}
	return p
}

// Whatever a reader hands over, the rooms answer with findings or a plain error, and what they do
// make is whole: closed outlines that do not cross themselves, every number finite.
func TestOddPiecesAreAnswered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := &pattern.Pattern{Pieces: []pattern.Piece{oddPiece(t), oddPiece(t)}}
		d.Seams = []pattern.Seam{{A: []pattern.EdgeRef{{Piece: d.Pieces[0].Name, Edge: "side"}}, B: []pattern.EdgeRef{{Piece: d.Pieces[1].Name, Edge: "hem"}}}}
		lim := check.Limits{Width: 900, Length: 1500, Cuts: rapid.Bool().Draw(t, "cuts"), BladeOffset: 0.5, Cloth: rapid.Bool().Draw(t, "cloth")}
		for _, f := range check.Run(d, lim, nil) {
			if f.At != nil && !finite(*f.At) {
				t.Fatalf("%s is nowhere", f.Rule)
			}
		}
		for i := range d.Pieces {
			check.Measure(&d.Pieces[i])
			one := &pattern.Pattern{Pieces: d.Pieces[i : i+1]}
			res, err := prepare.Run(one, pattern.Ticket{Allowance: "10mm"}, prepare.Options{Cuts: lim.Cuts})
			if err != nil {
				continue
			}
			mustBeWhole(t, res.Ready)
			l, _ := lay.OnMachine(t.Context(), res.Ready, pattern.Material{Width: 900, Margin: 5, Gap: 3, Cloth: lim.Cloth}, lay.Options{Steps: 1})
			lay.NewSheet(l, res.Ready)
		}
	})
}

func mustBeWhole(t *rapid.T, ready []pattern.Ready) {
	for _, r := range ready {
		if !r.Outline.Closed || r.Outline.SignedArea() <= 0 || len(r.EdgeOf) != r.Outline.Segments() || len(r.Outline.Corners) != len(r.Outline.Points) {
			t.Fatalf("outline %+v, edges %q", r.Outline, r.EdgeOf)
		}
		for _, l := range append([]pattern.Line{{Path: r.Outline}}, r.Lines...) {
			for _, p := range l.Path.Points {
				if !finite(p) {
					t.Fatalf("a line of role %q is nowhere", l.Role)
				}
			}
			if l.Path.Corners != nil && len(l.Path.Corners) != len(l.Path.Points) {
				t.Fatalf("a line of role %q has %d points and %d corners", l.Role, len(l.Path.Points), len(l.Path.Corners))
			}
		}
	}
}

func finite(p orb.Point) bool {
	return !math.IsNaN(p[0]+p[1]) && !math.IsInf(p[0]+p[1], 0)
}
