package dxf

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// thirtyPieces is an interchange draft of 30 pieces with 20,000 vertices in all: cut and sew line of
// 333 each, with grain, notches and a drill mark.
func thirtyPieces() []byte {
	const pieces, vertices = 30, 333
	var blocks, inserts strings.Builder
	for k := range pieces {
		fmt.Fprintf(&blocks, "0 BLOCK 2 P%d 10 0 20 0 0 TEXT 8 1 10 0 20 0 40 5 1 PIECE_NAME:_PIECE_%d 0 TEXT 8 1 10 0 20 0 40 5 1 QUANTITY:_2 ", k, k)
		for _, line := range []struct {
			layer string
			grow  float64
		}{{"1", 10}, {"14", 0}} {
			fmt.Fprintf(&blocks, "0 POLYLINE 8 %s 66 1 70 1 ", line.layer)
			for i := range vertices {
				a := 2 * math.Pi * float64(i) / vertices
				r := 200 + 40*math.Cos(3*a) + line.grow
				fmt.Fprintf(&blocks, "0 VERTEX 8 %s 10 %.6f 20 %.6f ", line.layer, r*math.Cos(a), r*math.Sin(a))
			}
			blocks.WriteString("0 SEQEND ")
		}
		blocks.WriteString("0 LINE 8 7 10 0 20 -100 11 0 21 100 0 POINT 8 13 10 30 20 30 0 POINT 8 4 10 250 20 0 30 0 39 4 50 180 0 ENDBLK ")
		fmt.Fprintf(&inserts, "0 INSERT 8 1 2 P%d 10 0 20 0 ", k)
	}
	return doc(blocks.String(), "0 TEXT 8 1 10 0 20 0 40 5 1 UNITS:_METRIC "+inserts.String())
}

func BenchmarkRead(b *testing.B) {
	data := thirtyPieces()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		p, err := Read(data, "x.dxf", Options{})
		if err != nil || len(p.Pieces) != 30 {
			b.Fatal(err, len(p.Pieces))
		}
	}
}

// BenchmarkScan is a bare walk over the tags of the same bytes, each coordinate read.
func BenchmarkScan(b *testing.B) {
	data := thirtyPieces()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		s, err := open(data, DefaultLimits)
		if err != nil {
			b.Fatal(err)
		}
		for {
			t, more, err := s.next()
			if err != nil {
				b.Fatal(err)
			}
			if !more {
				break
			}
			if t.code >= 10 && t.code < 60 {
				s.number(t)
			}
		}
	}
}
