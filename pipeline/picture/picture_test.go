package picture

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

func sampleDraft() (*pattern.Pattern, []pattern.Finding) {
	box := func(x0, y0, x1, y1 float64) geom.Path {
		return geom.Path{Points: []orb.Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, Closed: true}
	}
	cut, sew := box(0, 0, 300, 400), box(15, 25, 285, 385)
	cut2 := box(0, 0, 200, 150)
	p := &pattern.Pattern{Style: "Fish-quay top", Pieces: []pattern.Piece{
		{Name: "FRONT", Named: true, Size: "12", Quantity: 2, Pair: true, Cut: &cut, Sew: []geom.Path{sew},
			Notches: []pattern.Notch{{At: orb.Point{300, 200}, Depth: 8}, {At: orb.Point{0, 200}, Depth: 5}},
			Grain:   &pattern.Segment{A: orb.Point{150, 60}, B: orb.Point{150, 340}},
			Drills:  []pattern.Drill{{At: orb.Point{100, 100}}}},
		{Name: "POCKET", Named: true, Quantity: 1, Cut: &cut2, Fold: &pattern.Segment{A: orb.Point{0, 0}, B: orb.Point{0, 150}}},
	}}
	f := pattern.NewFinding(pattern.RuleNotchDeep, "too deep", "shorten it")
	f.Index, f.Piece, f.At, f.Stretch = 0, "FRONT", &orb.Point{300, 200}, []orb.Point{{300, 150}, {300, 260}}
	return p, []pattern.Finding{f}
}

func TestPatternPicture(t *testing.T) {
	p, fs := sampleDraft()
	c := Pattern(p, fs, Options{FaultsLarge: true})
	png, err := c.PNG(1000)
	if err != nil {
		t.Fatal(err)
	}
	text := string(c.SVG())
	for _, class := range []string{"cut", "sew", "notch", "grain", "fold", "drill", "fault", "scale"} {
		if !strings.Contains(text, fmt.Sprintf("class=%q", class)) {
			t.Errorf("the picture shows no %s", class)
		}
	}
	if !bytes.HasPrefix(png, []byte("\x89PNG")) || c.Height < 100 || c.Height > 1500 {
		t.Errorf("%d bytes, %g high", len(png), c.Height)
	}
	if dir := os.Getenv("PICTURES"); dir != "" {
		_ = os.WriteFile(dir+"/pattern.png", png, 0o644)
		_ = os.WriteFile(dir+"/pattern.svg", c.SVG(), 0o644)
	}
}

// TestFoldIsNotCut: no cut line is drawn along the fold of the cloth, where a person would cut the piece in two.
func TestFoldIsNotCut(t *testing.T) {
	p, _ := sampleDraft()
	p.Pieces = p.Pieces[1:] // its fold is its left side
	c := Pattern(p, nil, Options{})
	for _, s := range c.shapes {
		if s.class != "cut" {
			continue
		}
		left := s.lines[0].points[0][0]
		for _, l := range s.lines {
			for _, q := range l.points {
				left = min(left, q[0])
			}
		}
		for _, l := range s.lines {
			for i := range len(l.points) {
				if a, b := l.points[i], l.points[(i+1)%len(l.points)]; (i+1 < len(l.points) || l.closed) && a[0] == left && b[0] == left {
					t.Errorf("cut from %v to %v, along the fold", a, b)
				}
			}
		}
		return
	}
	t.Error("nothing is cut")
}

// TestNumbersOfOnePlace: findings of one place keep their numbers apart.
func TestNumbersOfOnePlace(t *testing.T) {
	p, fs := sampleDraft()
	fs[0].Stretch = nil
	discs := func(fs []pattern.Finding) map[orb.Point]bool {
		at := map[orb.Point]bool{}
		for _, s := range Pattern(p, fs, Options{}).shapes {
			if s.class == "fault" && s.fill {
				at[geom.Path{Points: s.lines[0].points}.Bound().Center()] = true
			}
		}
		return at
	}
	if n := len(discs(append(fs, fs[0], fs[0]))); n != 3 {
		t.Errorf("%d numbers can be told apart, not 3", n)
	}
}

// TestTitleIsWellFormed: XML 1.0 (section 2.2, production Char) does not allow most control characters, not even
// escaped, and a file's name may hold them.
func TestTitleIsWellFormed(t *testing.T) {
	c := Device(View{Title: "a\x1b[31m\x03\n\u8896 <&> on roll-plotter", Width: 100, Length: 100}, Options{})
	dec := xml.NewDecoder(bytes.NewReader(c.SVG()))
	for {
		if _, err := dec.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

// TestLegendTellsTheTruth: the legend names the kinds of line in the picture, and no others. Lines that are read back
// from a machine's file are named by their pen alone.
func TestLegendTellsTheTruth(t *testing.T) {
	p, fs := sampleDraft()
	p.Pieces[0].Marks = []pattern.Mark{
		{Role: pattern.RoleMark, Label: "slit", Path: geom.Path{Points: []orb.Point{{150, 15}, {150, 100}}}},
		{Role: pattern.RoleMark, Label: "outer fold", Path: geom.Path{Points: []orb.Point{{60, 15}, {60, 300}}}},
	}
	c := Pattern(p, fs, Options{})
	want := []string{"cut line", "slit", "sew line", "notch", "fold", "pleat: folded here", "grain", "drill mark"}
	if !slices.Equal(c.Lines, want) {
		t.Errorf("the legend says %q, want %q", c.Lines, want)
	}
	if text := string(c.SVG()); !strings.Contains(text, "<desc>lines: cut line, slit, sew line,") {
		t.Error("the SVG does not describe its lines")
	}
	line := []geom.Path{{Points: []orb.Point{{0, 0}, {90, 0}}}}
	c = Device(View{Layers: []Layer{{Kind: look.FirstPen, Paths: line}}}, Options{})
	if want := []string{"drawn by pen 1"}; !slices.Equal(c.Lines, want) {
		t.Errorf("the legend of a plot says %q, want %q", c.Lines, want)
	}
}
