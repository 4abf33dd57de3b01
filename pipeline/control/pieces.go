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

// PieceMade is a piece of a job that was sent, and how far it surely came.
type PieceMade struct {
	// Number is what FromPiece takes, and what stands on the piece in the lay's picture.
	Number int    `json:"number"`
	Name   string `json:"name,omitempty"`
	Made   string `json:"made"`
}

// How far a piece came. What is done or begun is so surely; of what is not known a part may be made. Nothing was
// sent of what is not begun.
const (
	PieceDone     = "done"
	PieceBegun    = "begun"
	PieceUnknown  = "not known"
	PieceNotBegun = "not begun"
)

// Pieces are the pieces of a job's program in the order in which they are ended, and how far each came.
func (d *Jobs) Pieces(ctx context.Context, id int64) ([]PieceMade, error) {
	j, err := d.led.Job(ctx, id)
	if err != nil || !j.Ready {
		return nil, err
	}
	prog, err := d.Program(ctx, id)
	if err != nil {
		return nil, err
	}
	send, exact := j.Send, j.Send.End != "" && j.Send.End != "cut short"
	d.mu.Lock()
	if l := d.live[id]; l != nil {
		send, exact = l.send, l.paused // while it runs, more goes out at every moment
	}
	d.mu.Unlock()
	return piecesMade(prog, send, exact), nil
}

// piecesMade tells of each piece by its first and last blocks. Without exact more may have been sent than is
// known.
func piecesMade(p devices.Program, s ledger.Send, exact bool) []PieceMade {
	first, last, begins := map[int]int{}, map[int]int{}, map[int]int64{}
	at := int64(0)
	for i, b := range p.Blocks {
		if b.Stroke >= 0 && b.Piece >= 0 {
			if _, begun := first[b.Piece]; !begun {
				first[b.Piece], begins[b.Piece] = i, at
			}
			last[b.Piece] = i
		}
		at += int64(len(b.Bytes))
	}
	var all []PieceMade
	for _, n := range inOrder(p, 0) {
		m := PieceMade{Number: n + 1, Made: PieceUnknown}
		if n < len(p.Names) {
			m.Name = p.Names[n]
		}
		switch {
		case last[n] <= s.Sure:
			m.Made = PieceDone
		case first[n] <= s.Sure:
			m.Made = PieceBegun
		case begins[n] >= s.Bytes && exact:
			m.Made = PieceNotBegun
		}
		all = append(all, m)
	}
	return all
}

// pieceOf is the place from which nothing is left out of piece n, counted from 1, nor of any that ends
// later.
func pieceOf(prog devices.Program, j ledger.Job, n int) (Point, error) {
	last := -1
	for i, b := range prog.Blocks {
		if b.Stroke >= 0 && b.Piece >= 0 && b.Piece == n-1 {
			last = i
		}
	}
	all := piecesFrom(prog, 0)
	if last < 0 {
		return Point{}, refuse(fmt.Sprintf("tracewheel resume %d --from-piece N", j.ID),
			fmt.Sprintf("job %d has no piece %d; in the order in which they are ended its pieces are: %s", j.ID, n, all))
	}
	_, block := prog.From(firstUnwhole(prog, last-1))
	if block <= prog.Prelude || !savesAPiece(prog, block) {
		return Point{}, refuse(fmt.Sprintf("tracewheel resume %d --from start", j.ID),
			fmt.Sprintf("nothing of job %d can be left out before piece %d, so that is the start; in the order in which they are ended its pieces are: %s", j.ID, n, all))
	}
	p := Point{From: FromPiece(n), Text: fmt.Sprintf("as seen on the material, to make %s", piecesFrom(prog, block)), Block: block, Stroke: prog.Blocks[block].Stroke, Piece: n - 1, seen: true, sure: block - 1, sureStroke: -1}
	for _, b := range prog.Blocks[:block] {
		if b.EndsStroke && b.Stroke >= 0 {
			p.sureStroke = b.Stroke
		}
	}
	return p, nil
}

// piecesFrom names the pieces of which something is made from a block on, in the order in which they end.
func piecesFrom(p devices.Program, block int) string {
	var names []string
	for _, piece := range inOrder(p, block) {
		names = append(names, called(p, piece))
	}
	return strings.Join(names, ", ")
}

// inOrder are the pieces of which something is made from a block on, in the order in which they end.
func inOrder(p devices.Program, block int) (order []int) {
	seen := map[int]bool{}
	for i := len(p.Blocks) - 1; i >= block; i-- {
		if b := p.Blocks[i]; b.Stroke >= 0 && b.Piece >= 0 && !seen[b.Piece] {
			seen[b.Piece] = true
			order = append(order, b.Piece)
		}
	}
	slices.Reverse(order)
	return order
}

// called is a piece's number, and its name where it has one.
func called(p devices.Program, piece int) string {
	if piece < len(p.Names) && p.Names[piece] != "" {
		return fmt.Sprintf("%d (%s)", piece+1, p.Names[piece])
	}
	return strconv.Itoa(piece + 1)
}
