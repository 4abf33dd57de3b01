package picture

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// TestReadTellsTheScale: with the scale that is read, a square of 100 mm that a general XML reader finds in the
// picture is as long and as high as it was drawn.
func TestReadTellsTheScale(t *testing.T) {
	square := geom.Path{Closed: true, Points: []orb.Point{{20, 30}, {120, 30}, {120, 130}, {20, 130}}}
	svg := Device(View{Width: 600, Length: 900, Strokes: true, Layers: []Layer{{Kind: look.Cut, Paths: []geom.Path{square}}}}, Options{}).SVG()
	s := Read(svg)
	if s.Wide != 1000 || s.High <= 0 || s.Scale <= 0 || s.ScaleTo != 0 {
		t.Fatalf("read %+v", s)
	}
	b := orb.MultiPoint(pathOf(t, svg, "cut")).Bound()
	for _, side := range []float64{b.Max[0] - b.Min[0], b.Max[1] - b.Min[1]} {
		if got := side / s.Scale; math.Abs(got-100) > 0.05 {
			t.Errorf("a side of the square is %.3f mm", got)
		}
	}
}

// pathOf are the points of the first path of a class, found by an XML reader.
func pathOf(t *testing.T, svg []byte, class string) (out []orb.Point) {
	t.Helper()
	for dec := xml.NewDecoder(strings.NewReader(string(svg))); ; {
		token, err := dec.Token()
		if err == io.EOF {
			t.Fatalf("no path of class %s", class)
		} else if err != nil {
			t.Fatal(err)
		}
		e, is := token.(xml.StartElement)
		if !is || e.Name.Local != "path" {
			continue
		}
		at := map[string]string{}
		for _, a := range e.Attr {
			at[a.Name.Local] = a.Value
		}
		if at["class"] != class {
			continue
		}
		for _, p := range strings.FieldsFunc(at["d"], func(r rune) bool { return strings.ContainsRune("MLZ", r) }) {
			x, y, _ := strings.Cut(p, " ")
			out = append(out, orb.Point{number([]byte(x)), number([]byte(y))})
		}
		return out
	}
}

// TestReadStrokes: each stroke is read with its own number, whatever ink it shares with its neighbours; dots and
// strokes without points count as well.
func TestReadStrokes(t *testing.T) {
	line := func(points ...orb.Point) geom.Path { return geom.Path{Points: points} }
	layers := []Layer{
		{Kind: look.Sew, Paths: []geom.Path{line(orb.Point{0, 0}, orb.Point{10, 0})}},
		{Kind: look.Sew, Paths: []geom.Path{line(orb.Point{0, 10}, orb.Point{10, 10})}},
		{Kind: look.Sew, Paths: []geom.Path{{}}},
		{Kind: look.Sew, Paths: []geom.Path{line(orb.Point{0, 20}, orb.Point{10, 20})}},
		{Kind: look.Drill, Paths: []geom.Path{line(orb.Point{50, 50})}},
		{Kind: look.Cut, Paths: []geom.Path{line(orb.Point{0, 30}, orb.Point{10, 30}, orb.Point{10, 40})}},
	}
	s := Read(Device(View{Width: 100, Length: 100, Strokes: true, Layers: layers, Words: []Words{{Text: "1", Height: 5}}}, Options{}).SVG())
	var got []int
	for _, d := range s.Strokes {
		got = append(got, strings.Count(d, "M")*10+strings.Count(d, "L"))
	}
	want := []int{11, 11, 0, 11, 57, 12} // a dot is a polygon of 48 points
	if len(got) != len(want) {
		t.Fatalf("%d strokes: %v", len(got), s.Strokes)
	}
	for i, w := range want {
		if got[i] != w {
			t.Errorf("stroke %d is %q", i+1, s.Strokes[i])
		}
	}
}

// TestReadPiecesAndFindings: a piece is read with its number and name, including special characters, and a finding
// with the place of its ring; in a picture with small grey pieces the scale holds above them only.
func TestReadPiecesAndFindings(t *testing.T) {
	box := func(x float64) geom.Path {
		return geom.Path{Closed: true, Points: []orb.Point{{x, 0}, {x + 50, 0}, {x + 50, 50}, {x, 50}}}
	}
	strokes := []devices.Stroke{{Path: box(0), Piece: 0, Name: `left "<&> front`}, {Path: box(100), Piece: 1, Name: "back"}}
	s := Read(Device(View{Width: 200, Length: 200, Strokes: true, Pieces: NumberedPieces(strokes)}, Options{}).SVG())
	if len(s.Pieces) != 2 || s.Pieces[0].Number != 1 || s.Pieces[0].Name != `left "<&> front` || s.Pieces[1].Number != 2 || strings.Count(s.Pieces[1].D, "L") < 3 {
		t.Errorf("pieces %+v", s.Pieces)
	}
	good, bad := box(0), box(0)
	p := &pattern.Pattern{Pieces: []pattern.Piece{{Name: "good", Cut: &good}, {Name: "bad", Cut: &bad}}}
	at := orb.Point{25, 25}
	c := Pattern(p, []pattern.Finding{{Index: 1, Severity: pattern.Error, At: &at}}, Options{FaultsLarge: true})
	s = Read(c.SVG())
	ring, is := s.Findings[1]
	if !is || s.ScaleTo <= ring[1] || s.ScaleTo >= s.High || s.Scale <= 0 {
		t.Errorf("findings %v, scale %g to %g of %g", s.Findings, s.Scale, s.ScaleTo, s.High)
	}
}
