package dxf

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/pattern"
)

// FuzzRead: whatever the bytes, reading ends with either an error or a pattern in which every
// coordinate is finite and within a kilometre, and every closed outline has three points or more.
func FuzzRead(f *testing.F) {
	for _, glob := range []string{"../../../testdata/dxf/*.dxf", "../../../testdata/drafts/satchel-bulge.dxf"} {
		paths, err := filepath.Glob(glob)
		if err != nil {
			f.Fatal(err)
		}
		for _, p := range paths {
			data, err := os.ReadFile(p)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Add(doc("", square))
	f.Add(doc("0 BLOCK 2 P 10 1 20 1 0 LWPOLYLINE 8 1 70 1 10 0 20 0 42 1 10 50 20 0 10 50 20 50 0 POINT 8 4 10 9 20 0 30 1 39 4 50 90 0 ENDBLK",
		"0 INSERT 2 P 10 5 20 5 41 2 42 -1 50 30 70 2 71 2 44 99 45 99"))
	f.Add(doc("", "0 SPLINE 8 cut 70 4 71 2 40 0 40 0 40 0 40 1 40 1 40 1 10 0 20 0 10 9 20 9 10 18 20 0 41 1 41 .7 41 1 0 ELLIPSE 8 cut 10 0 20 0 11 5 21 5 40 .5 41 0 42 3"))
	small := Limits{Bytes: 1 << 20, Tags: 200_000, Entities: 2000, Cells: 100, Points: 200_000}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(data, "fuzz.dxf", Options{Limits: small})
		if err != nil {
			if p != nil {
				t.Fatal("both a pattern and an error")
			}
			return
		}
		for i := range p.Pieces {
			sound(t, &p.Pieces[i])
		}
	})
}

func sound(t *testing.T, p *pattern.Piece) {
	t.Helper()
	lines := append(p.Sew[:len(p.Sew):len(p.Sew)], p.Cutouts...)
	if p.Cut != nil {
		lines = append(lines, *p.Cut)
	}
	for _, m := range p.Marks {
		lines = append(lines, m.Path)
	}
	for _, l := range lines {
		if l.Closed && len(l.Points) < 3 {
			t.Fatalf("a closed line of %d points", len(l.Points))
		}
		for _, pt := range l.Points {
			if !(math.Abs(pt[0]) <= maxCoord && math.Abs(pt[1]) <= maxCoord) {
				t.Fatalf("a point at %v", pt)
			}
		}
		if l.Corners != nil && len(l.Corners) != len(l.Points) {
			t.Fatalf("%d corners for %d points", len(l.Corners), len(l.Points))
		}
	}
	for _, n := range p.Notches {
		if s := n.At[0] + n.At[1] + n.Depth + n.Width + n.AngleDeg; s-s != 0 {
			t.Fatalf("a notch %+v", n)
		}
	}
}
