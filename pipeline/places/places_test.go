package places

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
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

func TestPoints(t *testing.T) {
	for _, c := range []struct {
		name, program string
		sure          int
		held          int    // the stroke, -1 for none
		want          string // from=block ...
	}{
		{"nothing sure", "p p a0 a1 b2", -1, -1, "start=0"},
		{"only the prelude is sure", "p p a0 a1 b2", 1, -1, "start=0"},
		{"one stroke", "p p a0 a1 b2 b3", 2, -1, "start=0 stroke=3"},
		{"first piece whole", "p p a0 a1 b2 b3", 3, -1, "start=0 piece=4 stroke=4"},
		{"in the second piece", "p p a0 a1 b2 b3", 4, -1, "start=0 piece=4 stroke=5"},
		{"in the middle of a stroke goes back to its start", "p a0 a1- a1- a1", 2, -1, "start=0 stroke=2"},
		{"letters of both pieces first", "p a0 b1 a2 b3", 3, -1, "start=0 piece=2 stroke=4"},
		{"letters of both, then the first again", "p a0 b1 a2 b3 b4", 4, -1, "start=0 piece=2 stroke=5"},
		{"all is sure", "p a0 b1 t", 3, -1, "start=0"},
		{"beyond the end", "p a0", 9, -1, "start=0"},
		{"held in the first stroke", "p a0- a0- a0 b1", 0, 0, "start=0 place=1"},
		{"held in the first stroke, nothing sure", "p p t a0- a0 b1", -1, 0, "start=0 place=3"},
		{"held in the middle of a stroke", "p a0 a1- a1- a1", 2, 1, "start=0 stroke=2 place=2"},
		{"held before a stroke that is sure", "p a0- a0 b1- b1", 2, 0, "start=0 piece=3 stroke=3"},
		{"held beyond a stroke that is not sure", "p a0- a0 b1- b1", 1, 1, "start=0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ""
			for _, pt := range Points(program(c.program), c.sure, heldIn(c.held)) {
				got += " " + pt.From + "=" + string(rune('0'+pt.Block))
				if pt.Text == "" {
					t.Errorf("%s says nothing", pt.From)
				}
			}
			if strings.TrimSpace(got) != c.want {
				t.Errorf("offered are%s and not %s", got, c.want)
			}
		})
	}
}

func heldIn(stroke int) *ledger.Place {
	if stroke < 0 {
		return nil
	}
	return &ledger.Place{Stroke: stroke}
}

// TestPointsNeverSkip: whatever surely was drawn, no stroke that is not sure is left out by any
// point, which is the one fault that would spoil cloth unseen.
func TestPointsNeverSkip(t *testing.T) {
	p := program("p p a0 b1- b1 a2 c3 b4- b4- b4 c5 t a6 t")
	for sure := -1; sure < len(p.Blocks); sure++ {
		for _, pt := range slices.Concat(Points(p, sure, nil), Points(p, sure, heldIn(sure%7))) {
			for i := p.Prelude; i < pt.Block; i++ {
				if i > sure {
					t.Errorf("sure %d, from %s: block %d (%s) is skipped", sure, pt.From, i, p.Blocks[i].Bytes)
				}
			}
			if b := pt.Block; b > 0 && p.Blocks[b-1].Down {
				t.Errorf("sure %d, from %s: it begins in the middle of a stroke", sure, pt.From)
			}
		}
	}
}

// TestToStart: only pieces from which a job can go on are offered, and where there are none that is said.
func TestToStart(t *testing.T) {
	for text, want := range map[string]string{
		"p p a0 a1 b2 b3 c4":  "in the order of sending it can go on from: 2 (back), 3",
		"p c0 a1 b2 a3 b4 c5": noStart, // as of a pen that goes to the nearest line
	} {
		p := program(text)
		p.Names, p.Pieces = []string{"front", "back"}, 3
		if got := ToStart(p); got != want {
			t.Errorf("%s: %s", text, got)
		}
		if got := strings.Contains(Points(p, -1, nil)[0].Text, noStart); got != (want == noStart) {
			t.Errorf("%s: the start says so: %v", text, got)
		}
		for _, m := range SpansOf(p).Pieces(Far{Block: -1, Sure: -1, Sent: -1}) {
			if _, err := At(p, m.Number); m.Start != (err == nil) {
				t.Errorf("%s: piece %d is offered: %v, and %v", text, m.Number, m.Start, err)
			}
		}
	}
}

// TestAt: what a person says of the pieces on the material leaves nothing out of the piece that is
// named, nor of any that ends later, wherever its strokes lie; and it begins at the start of a stroke.
func TestAt(t *testing.T) {
	for _, c := range []struct {
		program string
		piece   int
		block   int // 0 where it is refused
		makes   string
	}{
		{"p p a0 a1 b2 b3 c4", 2, 4, "2 (back), 3 (yoke)"},
		{"p p a0 a1 b2 b3 c4", 3, 6, "3 (yoke)"},
		{"p p a0 a1 b2 b3 c4", 1, 0, ""},
		{"p p a0 a1 b2 b3 c4", 4, 0, ""},
		{"p p a0 a1 b2 b3 c4", 0, 0, ""},
		{"p p a0 a1 b2 b3 c4", -1, 0, ""},
		{"p c0 a1 a2 b3- b3 t", 1, 2, "1 (front), 2 (back)"}, // they are made in an order of their own
		{"p c0 a1 a2 b3- b3 t", 2, 4, "2 (back)"},
		{"p a0 b1 c2 a3 b4 c5", 3, 3, "1 (front), 2 (back), 3 (yoke)"}, // letters of all come first
		{"p a0 b1 a2 b3 c4 c5", 2, 2, "1 (front), 2 (back), 3 (yoke)"},
		{"p a0 b1 a2 b3 c4 c5", 3, 5, "3 (yoke)"},
		{"p a0 b1- b1 c2 c3 b4 a5", 2, 0, ""}, // the first piece ends last
		{"p c0 a1 b2 a3 b4 c5", 3, 0, ""},     // the last piece is begun first, so that none can be left out
		{"p c0 a1 b2 a3 b4 c5", 2, 0, ""},
	} {
		p := program(c.program)
		p.Names = []string{"front", "back", "yoke"}
		pt, err := At(p, c.piece)
		if offered := slices.Contains(starts(p), c.piece); offered != (err == nil) {
			t.Errorf("%s, from piece %d: offered %v, and going on from it gives %v", c.program, c.piece, offered, err)
		}
		if (err == nil) != (c.block > 0) || err == nil && pt.Block != c.block {
			t.Errorf("%s, from piece %d: %+v, %v", c.program, c.piece, pt, err)
			continue
		}
		if err != nil {
			continue
		}
		if !strings.HasSuffix(pt.Text, "to make "+c.makes) {
			t.Errorf("%s, from piece %d: it says %q", c.program, c.piece, pt.Text)
		}
		if p.Blocks[pt.Block-1].Down || pt.Sure != pt.Block-1 {
			t.Errorf("%s, from piece %d: %+v", c.program, c.piece, pt)
		}
		ends := map[int]int{}
		for i, b := range p.Blocks {
			if b.Piece >= 0 {
				ends[b.Piece] = i
			}
		}
		for i, b := range p.Blocks[:pt.Block] {
			if b.Piece >= 0 && ends[b.Piece] >= ends[c.piece-1] {
				t.Errorf("%s, from piece %d: block %d (%s) is left out", c.program, c.piece, i, b.Bytes)
			}
		}
	}
}

// TestPieces: what is done or begun is so surely, and nothing is called not begun of which a byte may have
// gone out. Each block of the program has two bytes, or three.
func TestPieces(t *testing.T) {
	for _, c := range []struct {
		name, program string
		sure          int
		bytes         int64
		end           string
		want          string
	}{
		{"stopped in the second", "p a0 a1 b2 b3 c4", 3, 9, "stopped", "1 done, 2 begun, 3 not begun"},
		{"more was sent than is sure", "p a0 a1 b2 b3 c4", 1, 7, "stopped", "1 begun, 2 not known, 3 not begun"},
		{"a lower bound of what was sent", "p a0 a1 b2 b3 c4", 3, 9, "cut short", "1 done, 2 begun, 3 not known"},
		{"nothing is sure any more", "p a0 a1 b2 b3 c4", -1, 9, "canceled", "1 not known, 2 not known, 3 not begun"},
		{"letters of all first, the last one's piece first", "p a0 b1 b2 a3", 2, 5, "stopped", "2 begun, 1 begun"},
		{"up to the edge of a piece", "p a0 b1", 1, 3, "stopped", "1 done, 2 not begun"},
	} {
		var got []string
		for _, m := range SpansOf(program(c.program)).Pieces(FarOf(program(c.program), []ledger.Send{{Sure: c.sure, Bytes: c.bytes, End: c.end}})) {
			got = append(got, strconv.Itoa(m.Number)+" "+m.Made)
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%s: %s, want %s", c.name, s, c.want)
		}
	}
}

// TestFarOf: nothing that may have been made counts as still to come, neither what was sent after a kill nor what a run sent
// before the last one, unless that began anew on fresh material. What surely is made is told of the last run.
func TestFarOf(t *testing.T) {
	p := program("p a0 a1 b2 b3 c4") // strokes end after 3, 5, 7, 9 and 11 bytes
	run := func(first int, bytes int64, sure int, end string) ledger.Send {
		return ledger.Send{First: first, Bytes: bytes, Sure: sure, Stroke: sure - 1, End: end}
	}
	for name, c := range map[string]struct {
		runs []ledger.Send
		sent int
		want string
	}{
		"never sent":                       {nil, -1, "1 not begun, 2 not begun, 3 not begun"},
		"stopped":                          {[]ledger.Send{run(0, 5, 2, "stopped")}, 1, "1 done, 2 not begun, 3 not begun"},
		"killed":                           {[]ledger.Send{run(0, 5, 2, "cut short")}, Everything, "1 done, 2 not known, 3 not known"},
		"it runs, by nobody's word":        {[]ledger.Send{run(0, 5, 2, "")}, Everything, "1 done, 2 not known, 3 not known"},
		"went on after a kill, stopped":    {[]ledger.Send{run(0, 5, 2, "cut short"), run(3, 7, 3, "stopped")}, Everything, "1 done, 2 begun, 3 not known"},
		"went on from before, stopped":     {[]ledger.Send{run(0, 9, 2, "stopped"), run(3, 5, 2, "stopped")}, 3, "1 done, 2 not known, 3 not begun"},
		"begun anew after a kill, stopped": {[]ledger.Send{run(0, 9, 4, "cut short"), run(0, 3, 1, "stopped")}, 0, "1 begun, 2 not begun, 3 not begun"},
	} {
		f := FarOf(p, c.runs)
		var got []string
		for _, m := range SpansOf(p).Pieces(f) {
			got = append(got, strconv.Itoa(m.Number)+" "+m.Made)
		}
		if s := strings.Join(got, ", "); f.Sent != c.sent || f.Open() != (c.sent == Everything) || s != c.want {
			t.Errorf("%s: sent to %d, %s; want %d, %s", name, f.Sent, s, c.sent, c.want)
		}
	}
}

// TestSentTo: a stroke is sent from its first byte on. Blocks have two bytes, the prelude's one.
func TestSentTo(t *testing.T) {
	p := program("p a0 a1 t b2")
	for bytes, want := range map[int64]int{0: -1, 1: -1, 2: 0, 3: 0, 4: 1, 6: 1, 7: 2, 99: 2} {
		if got := sentTo(p, bytes); got != want {
			t.Errorf("after %d bytes the last stroke is %d, not %d", bytes, got, want)
		}
	}
}
