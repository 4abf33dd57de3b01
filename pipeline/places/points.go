// Package places says from where an interrupted program can continue, and how far each of its pieces surely came. It
// takes a program and what the ledger knows of its sending, and gives places and pieces with words for people. It does
// not know who asks, or whether the job may continue.
package places

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// Point is a place from which an interrupted job can continue.
type Point struct {
	// From is "start", "piece", "stroke" or AtPlace, or what FromPiece gives.
	From string `json:"from"`
	// Block is where the program continues, after its prelude and the set-up that the place needs.
	Block int `json:"block"`
	// Stroke and Piece are the first that will be made, -1 for set-up.
	Stroke int `json:"stroke"`
	Piece  int `json:"piece"`
	// Text says what will be made and what may be made twice.
	Text string `json:"text"`
	// Seen is true where the person who names the place sees which pieces are made. What is sure then ends at the
	// block Sure and the stroke SureStroke, if it went further before.
	Seen       bool `json:"-"`
	Sure       int  `json:"-"`
	SureStroke int  `json:"-"`
}

// AtPlace is the word of a resume for the place where the blade was held, in the middle of a stroke.
const AtPlace = "place"

// FromPiece is the word of a resume for piece n, counted from 1, chosen by a person who sees which pieces are made.
func FromPiece(n int) string { return fromPiece + strconv.Itoa(n) }

// PieceOf reads the number from what FromPiece gave, 0 where it is no number of a piece; is is false for another word.
func PieceOf(from string) (n int, is bool) {
	text, is := strings.CutPrefix(from, fromPiece)
	n, _ = strconv.Atoi(text)
	return n, is
}

const fromPiece = "piece "

// Points gives the places from which a program can continue. Its blocks up to sure were surely drawn (-1 for none),
// and its blade was held at a place, nil for none. More may have been drawn: the texts say what may come twice.
func Points(p devices.Program, sure int, held *ledger.Place) []Point {
	points := []Point{{From: "start", Stroke: -1, Piece: -1,
		Text: "everything from the start; what was made already comes twice, so lay fresh material"}}
	if p.Pieces > 1 && len(starts(p)) == 0 {
		points[0].Text += "; " + noStart
	}
	if sure >= p.Prelude && sure < len(p.Blocks) {
		points = append(points, surePoints(p, sure)...)
	}
	if at := strokeHeld(p, sure, held); at >= p.Prelude {
		points = append(points, pointAt(p, AtPlace, at, sure))
	}
	return points
}

// strokeHeld gives the first block of the stroke in which a blade was held, -1 where that is not the first stroke
// after the last sure block.
func strokeHeld(p devices.Program, sure int, held *ledger.Place) int {
	for i := sure + 1; held != nil && i < len(p.Blocks); i++ {
		if stroke := p.Blocks[i].Stroke; stroke == held.Stroke {
			return slices.IndexFunc(p.Blocks, func(b devices.Block) bool { return b.Stroke == stroke })
		} else if stroke >= 0 {
			break
		}
	}
	return -1
}

// surePoints gives the places that follow from the last sure block alone.
func surePoints(p devices.Program, sure int) (points []Point) {
	_, stroke := p.From(sure + 1)
	if sure+1 >= len(p.Blocks) {
		// All was sure, but the end was not seen: nothing is left to be drawn.
		stroke = len(p.Blocks)
	}
	_, piece := p.From(firstUnwhole(p, sure))
	if savesAPiece(p, piece) {
		points = append(points, pointAt(p, "piece", piece, sure))
	}
	if stroke > p.Prelude && stroke < len(p.Blocks) {
		points = append(points, pointAt(p, "stroke", stroke, sure))
	}
	return points
}

// firstUnwhole gives the first block of any piece that was begun and is not surely whole, or the block after the last
// sure one where all begun pieces are whole. Pieces may be interleaved: the letters of all first, then the cuts.
func firstUnwhole(p devices.Program, sure int) int {
	first, last := map[int]int{}, map[int]int{}
	for i, b := range p.Blocks {
		if b.Piece < 0 || b.Stroke < 0 {
			continue
		}
		if _, begun := first[b.Piece]; !begun {
			first[b.Piece] = i
		}
		last[b.Piece] = i
	}
	at := sure + 1
	for piece, end := range last {
		if end > sure {
			at = min(at, first[piece])
		}
	}
	return at
}

// savesAPiece tells whether a whole piece lies before a block: where all pieces are lettered before any is cut, a
// place at a piece may be the start.
func savesAPiece(p devices.Program, block int) bool {
	return block > p.Prelude && slices.ContainsFunc(p.Blocks[:block], func(b devices.Block) bool { return b.Piece >= 0 })
}

func pointAt(p devices.Program, from string, block, sure int) Point {
	pt := Point{From: from, Block: block, Stroke: p.Blocks[block].Stroke, Piece: p.Blocks[block].Piece}
	place, again := "behind the last sure stroke", "what was made after the last sure stroke comes twice as well"
	left, twice := metresFrom(p, block), metresFrom(p, block)-metresFrom(p, sure+1)
	switch from {
	case "piece":
		place = "from the first piece that is not surely whole"
	case AtPlace:
		place, again = "where the blade was held", "the last of what was cut before it, blade.reentry_overlap of the workroom file, comes twice, and a short stroke as a whole"
		left, twice = left-twice, 0
	}
	if pt.Piece >= 0 && p.Pieces > 1 {
		place += fmt.Sprintf(", in piece %d of %d", pt.Piece+1, p.Pieces)
	}
	pt.Text = fmt.Sprintf("goes on %s, with %.2f of %.2f m to make; first ", place, left, metresFrom(p, 0))
	if p.Chained {
		pt.Text += "the blade takes its heading anew by a stroke in the waste"
	} else {
		pt.Text += "the tool is set up anew"
	}
	if twice >= 0.005 {
		pt.Text += fmt.Sprintf("; %.2f m that surely were made come twice", twice)
	}
	pt.Text += "; " + again + ". Only if neither material nor machine has shifted"
	return pt
}

// metresFrom is the length of line that the blocks from one on make, m.
func metresFrom(p devices.Program, block int) float64 {
	sum := 0.0
	for _, b := range p.Blocks[min(block, len(p.Blocks)):] {
		sum += b.DrawnMM
	}
	return sum / 1000
}
