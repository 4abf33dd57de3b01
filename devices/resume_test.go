package devices

import (
	"testing"
)

// A program of two strokes: the first in two blocks, the second ready to go on at.
func program() Program {
	return Program{Prelude: 1, Blocks: []Block{
		{Bytes: []byte("IN;"), Stroke: -1},
		{Bytes: []byte("SP1;"), Stroke: -1},
		{Bytes: []byte("PU0,0;PD1,1;"), Stroke: 0, Down: true, Setup: []byte("SP1;"), DrawnMM: 1, Seconds: 2},
		{Bytes: []byte("PD2,2;PU;"), Stroke: 0, EndsStroke: true, DrawnMM: 1, Seconds: 2},
		{Bytes: []byte("PU5,5;PD6,6;PU;"), Stroke: 1, EndsStroke: true, Setup: []byte("SP1;"), DrawnMM: 3, Seconds: 4},
	}}
}

func TestProgramGoesOn(t *testing.T) {
	for b, want := range []struct {
		bytes string
		at    int
		mm    float64
	}{
		{"IN;SP1;PU0,0;PD1,1;PD2,2;PU;PU5,5;PD6,6;PU;", 0, 0},
		{"IN;SP1;PU0,0;PD1,1;PD2,2;PU;PU5,5;PD6,6;PU;", 0, 0},
		{"IN;SP1;PU0,0;PD1,1;PD2,2;PU;PU5,5;PD6,6;PU;", 2, 5},
		{"IN;SP1;PU0,0;PD1,1;PD2,2;PU;PU5,5;PD6,6;PU;", 2, 5}, // within the first stroke: back to its start
		{"IN;SP1;PU5,5;PD6,6;PU;", 4, 3},
	} {
		p := program()
		rest, at := p.From(b)
		if got := string(rest.Bytes()); got != want.bytes || at != want.at || rest.DrawnMM != want.mm {
			t.Errorf("from block %d: %q at %d with %g mm, want %+v", b, got, at, rest.DrawnMM, want)
		}
		if string(p.Bytes()) != string(program().Bytes()) {
			t.Errorf("from block %d: the program itself was changed", b)
		}
	}
	if rest, at := program().From(99); at != 0 || len(rest.Blocks) != 5 {
		t.Errorf("from a block that is none: at %d, %d blocks", at, len(rest.Blocks))
	}
}
