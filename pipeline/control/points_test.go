package control

import (
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// program writes one as text: "p" is a prelude block, "a0" the only block of stroke 0 of piece a,
// "a0-" a block that does not end its stroke, "t" one that belongs to no stroke.
func program(text string) devices.Program {
	var p devices.Program
	strokes := map[string]bool{}
	for _, word := range strings.Fields(text) {
		b := devices.Block{Bytes: []byte(word), Stroke: -1, Piece: -1}
		switch {
		case word == "p":
			p.Prelude++
		case word != "t":
			b.Piece = int(word[0] - 'a')
			b.Stroke = int(word[1] - '0')
			b.EndsStroke = !strings.HasSuffix(word, "-")
			b.Down = !b.EndsStroke
			strokes[word[:2]] = true
		}
		p.Blocks = append(p.Blocks, b)
	}
	p.Strokes = len(strokes)
	return p
}

// TestFromPieceTakesBack: a person who sees that a piece is not made after all takes back what was called
// sure of it; who names a later one adds nothing to what is called sure.
func TestFromPieceTakesBack(t *testing.T) {
	for _, c := range []struct{ piece, sure, stroke int }{{2, 3, 1}, {3, 4, 2}} {
		d := served(t)
		d.Serve([]Device{{Name: "roll-plotter"}})
		id := made(t, d, program("p p a0 a1 b2 b3 c4"))
		if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "unplugged", Bytes: 3, Sure: 4, Stroke: 2}); err != nil {
			t.Fatal(err)
		}
		if err := d.Resume(t.Context(), id, places.FromPiece(c.piece), NotShifted); err != nil {
			t.Fatal(err)
		}
		if j := d.state(t, id); j.State != ledger.Processing || j.Send.Sure != c.sure || j.Send.Stroke != c.stroke {
			t.Errorf("from piece %d on: %+v", c.piece, j.Send)
		}
	}
}

// TestNoSuchPiece: the answer to a piece that a job does not have, or before which nothing is made, lists those
// from which the job can go on.
func TestNoSuchPiece(t *testing.T) {
	p := program("p a0 a1 b2")
	p.Names = []string{"front", "back"}
	for n, want := range map[int]string{0: "has no piece 0; in the order", 1: "left out before piece 1; in the order", 3: "has no piece 3"} {
		_, err := pieceOf(p, 8, n)
		if !IsRefusal(err) || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "go on from: 2 (back)") {
			t.Errorf("piece %d: %v", n, err)
		}
	}
}
