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
	// Small seeds: those of a drawing library carry ten times their substance in headers.
	for _, name := range []string{"cuff-mirrored.dxf", "inserts-binary-r12.dxf"} {
		data, err := os.ReadFile(filepath.Join("../../../testdata/dxf", name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add(doc("", "0 POLYLINE 8 sew 70 1 0 VERTEX 10 0 20 0 42 1 0 VERTEX 10 90 20 0 0 VERTEX 70 16 10 1 20 1 0 VERTEX 10 90 20 60 0 SEQEND 0 ARC 8 notch 10 0 20 0 40 3 50 10 51 90 210 0 220 0 230 -1"))
	f.Add(doc("", "0 SPLINE 8 cut 70 1 71 3 11 0 21 0 11 50 21 9 11 60 21 70 0 CIRCLE 8 drill 10 30 20 20 40 2 0 MTEXT 8 text 10 30 20 20 40 5 3 PIECE 1 _NAME:_{\\fA;B}\\P2 0 TEXT 8 1 10 0 20 0 40 5 1 QUANTITY:_2_pair"))
	f.Add(doc("0 BLOCK 2 A 10 0 20 0 0 LINE 8 0 10 0 20 0 11 9 21 9 0 ENDBLK 0 BLOCK 2 B 10 0 20 0 0 INSERT 2 A 8 0 10 5 20 5 50 30 0 ENDBLK", square+"0 INSERT 8 cut 2 B 10 0 20 0 41 -3 42 2"))
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
