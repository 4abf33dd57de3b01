package control

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// Point is a place from which a job that was cut short can go on.
type Point struct {
	// From is "start", "piece", "stroke" or AtPlace, or what FromPiece gives.
	From string `json:"from"`
	// Block is where the program goes on, after its prelude and what the place needs to be set up.
	Block int `json:"block"`
	// Stroke and Piece are the first ones that will be made, -1 for set-up.
	Stroke int `json:"stroke"`
	Piece  int `json:"piece"`
	// Text says what will be made and what may be made twice.
	Text string `json:"text"`
	// seen is true where a person says by it which pieces are made. What is called sure then ends
	// at the block sure and the stroke sureStroke, if it went further.
	seen             bool
	sure, sureStroke int
}

// AtPlace is what Resume takes to go on where the blade was held, in the middle of a stroke.
const AtPlace = "place"

// FromPiece is what Resume takes to go on with a piece, counted from 1, on the word of a person who sees
// which pieces are made.
func FromPiece(n int) string { return fromPiece + strconv.Itoa(n) }

const fromPiece = "piece "

// Points are the places from which a stopped job can go on: always from the start, from the last whole piece
// and the last sure stroke where something surely was drawn, and from the blade's own place where it is known.
func (d *Jobs) Points(ctx context.Context, id int64) ([]Point, error) {
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	return d.points(ctx, j)
}

func (d *Jobs) points(ctx context.Context, j ledger.Job) ([]Point, error) {
	if j.State != ledger.Stopped || !j.Ready {
		return nil, d.cannot(&j, "resumed")
	}
	prog, err := d.Sendable(ctx, j)
	if err != nil {
		return nil, err
	}
	points := PointsOf(prog, j.Send.Sure, j.Send.Held)
	if nothingSent(j.Send) {
		points[0].Text = "everything from the start; nothing was sent yet"
	}
	return points, nil
}

// PointsOf computes the points for a program of which blocks up to sure were surely drawn (-1 for
// none), and whose blade was held at a place, nil for nowhere. More may have been drawn: that is what the
// texts say may come twice.
func PointsOf(p devices.Program, sure int, held *ledger.Place) []Point {
	points := []Point{{From: "start", Stroke: -1, Piece: -1,
		Text: "everything from the start; what was drawn already comes twice, so lay fresh material"}}
	if sure >= p.Prelude && sure < len(p.Blocks) {
		points = append(points, surePoints(p, sure)...)
	}
	if at := strokeHeld(p, sure, held); at >= p.Prelude {
		points = append(points, pointAt(p, AtPlace, at, sure))
	}
	return points
}

// strokeHeld is the first block of the stroke in which a blade was held, -1 where that is not the first
// stroke after the last sure block.
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

// surePoints are the places of which the last sure block alone tells.
func surePoints(p devices.Program, sure int) (points []Point) {
	_, stroke := p.From(sure + 1)
	if sure+1 >= len(p.Blocks) {
		// All was sure but the end was not seen: nothing is left to be drawn.
		stroke = len(p.Blocks)
	}
	_, piece := p.From(firstUnwhole(p, sure))
	if piece > p.Prelude && savesAPiece(p, piece) {
		points = append(points, pointAt(p, "piece", piece, sure))
	}
	if stroke > p.Prelude && stroke < len(p.Blocks) {
		points = append(points, pointAt(p, "stroke", stroke, sure))
	}
	return points
}

// firstUnwhole is the first block of any piece that is not surely whole and was begun, or the block
// after the last sure one where all begun pieces are whole. Pieces may lie in each other's order:
// letters of all first, then the cuts.
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

// savesAPiece tells whether a whole piece lies before a block: where all pieces are lettered before any
// is cut, going on from a piece may be nothing else than the start.
func savesAPiece(p devices.Program, block int) bool {
	return slices.ContainsFunc(p.Blocks[:block], func(b devices.Block) bool { return b.Piece >= 0 })
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

// metresFrom is how much line the blocks from one on make.
func metresFrom(p devices.Program, block int) float64 {
	sum := 0.0
	for _, b := range p.Blocks[min(block, len(p.Blocks)):] {
		sum += b.DrawnMM
	}
	return sum / 1000
}

// choose finds the point that a person named.
func (d *Jobs) choose(ctx context.Context, j ledger.Job, from string) (Point, error) {
	points, err := d.points(ctx, j)
	if err != nil {
		return Point{}, err
	}
	if text, is := strings.CutPrefix(from, fromPiece); is {
		n, _ := strconv.Atoi(text) // no piece is number 0
		prog, err := d.Sendable(ctx, j)
		if err != nil {
			return Point{}, err
		}
		return pieceOf(prog, j, n)
	}
	if i := slices.IndexFunc(points, func(p Point) bool { return p.From == from }); i >= 0 {
		return points[i], nil
	}
	if from == "" && nothingSent(j.Send) {
		return points[0], nil // nothing comes twice and nothing is left out
	}
	var names []string
	for _, p := range points {
		names = append(names, p.From)
	}
	text := fmt.Sprintf("job %d was cut short; say from where it is to go on", j.ID)
	if from != "" {
		text = fmt.Sprintf("job %d cannot go on from %q", j.ID, from)
	}
	hint := fmt.Sprintf("tracewheel resume %d --from %s", j.ID, strings.Join(names, "|"))
	if prog, err := d.Sendable(ctx, j); err == nil && prog.Pieces > 1 {
		hint += fmt.Sprintf("; or, where you see which pieces are made, --from-piece N, the first that is not; in the order in which they are ended its pieces are: %s", piecesFrom(prog, 0))
	}
	if from == "" && AllSent(j.Send) {
		text = fmt.Sprintf("all of job %d was sent; see whether the sheet is whole", j.ID)
		hint = fmt.Sprintf("tracewheel whole %d, or: tracewheel spoilt %d; or, to make it once more: %s", j.ID, j.ID, hint)
	}
	return Point{}, &Refusal{Text: text + ": " + farSaid(j.Send), Points: points, err: ledger.ErrState, Hint: hint}
}

// told adds to the question for a word what is to be made on it.
func (p Point) told(err error) error {
	if r, is := err.(*Refusal); is && p.seen {
		r.Text = fmt.Sprintf("%s; it is to go on from %s, %s", r.Text, p.From, p.Text)
	}
	return err
}

// farSaid says how far a sending surely came, and what nobody knows.
func farSaid(s ledger.Send) string {
	if nothingSent(s) {
		return "nothing was sent"
	}
	if s.Bytes == 0 && s.Sure < 0 {
		return fmt.Sprintf("how much was drawn is %s", ledger.Unknown)
	}
	text := fmt.Sprintf("at least %d of %d bytes were sent", s.Bytes, s.Total)
	if s.Stroke >= 0 {
		text += fmt.Sprintf(", the last sure stroke is number %d", s.Stroke+1)
	} else {
		text += ", which strokes were drawn is " + ledger.Unknown
	}
	if s.Tool == ledger.Unknown {
		text += ", whether the tool is up is " + ledger.Unknown
	}
	return text
}

// AllSent tells a run of a whole program of which every byte was sent, so that only a person can say whether all
// was made. Of a run from the middle its bytes do not tell.
func AllSent(s ledger.Send) bool { return s.First == 0 && s.Total > 0 && s.Bytes >= s.Total }

// nothingSent tells a job's only run that ended before its first byte, as where its port was not there.
func nothingSent(s ledger.Send) bool {
	return s.No == 1 && s.Bytes == 0 && s.Sure < 0 && (s.End == "stopped" || s.End == "canceled")
}

func sorted(m map[string]string) string {
	var all []string
	for k, v := range m {
		all = append(all, k+" "+v)
	}
	slices.Sort(all)
	return strings.Join(all, ", ")
}
