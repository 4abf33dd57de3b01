package places

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/pattern"
)

// Piece is a piece of a program that was sent, and how far it surely came.
type Piece struct {
	// Number is the number that FromPiece takes; it stands on the piece in the lay's picture.
	Number int    `json:"number"`
	Name   string `json:"name,omitempty"`
	Made   string `json:"made"`
	// Start is true where a job can go on from this piece: At accepts it, and something before it is left out.
	Start bool `json:"start,omitempty"`
}

// How far a piece came. done and begun are sure; of an unknown one a part may be made; of one not begun nothing was
// sent.
const (
	Done     = "done"
	Begun    = "begun"
	Unknown  = "not known"
	NotBegun = "not begun"
)

// Spans are where the pieces of a program begin and end, in the order in which they are finished.
type Spans []span

// span is one: its first and last blocks, and the first of its strokes.
type span struct {
	Piece
	first, last, stroke int
}

// SpansOf finds them.
func SpansOf(p devices.Program) (all Spans) {
	at := map[int]span{}
	for i, b := range p.Blocks {
		if b.Stroke < 0 || b.Piece < 0 {
			continue
		}
		s, begun := at[b.Piece]
		if !begun {
			s.first, s.stroke = i, b.Stroke
		}
		s.last, s.stroke = i, min(s.stroke, b.Stroke)
		at[b.Piece] = s
	}
	starts := starts(p)
	for _, n := range inOrder(p, 0) {
		s := at[n]
		s.Piece = Piece{Number: n + 1, Start: slices.Contains(starts, n+1)}
		if n < len(p.Names) {
			s.Name = p.Names[n]
		}
		all = append(all, s)
	}
	return all
}

// Pieces tells of each piece how far it surely came.
func (all Spans) Pieces(f Far) (out []Piece) {
	for _, s := range all {
		switch {
		case s.last <= f.Block:
			s.Made = Done
		case s.first <= f.Block:
			s.Made = Begun
		case s.stroke > f.Sent:
			s.Made = NotBegun
		default:
			s.Made = Unknown
		}
		out = append(out, s.Piece)
	}
	return out
}

// starts gives the numbers of the pieces that At accepts, in the order in which they are completed. Where pieces are
// made in turns, as by a pen that goes to the nearest line, there may be none.
func starts(p devices.Program) (all []int) {
	first := map[int]int{}
	for i, b := range p.Blocks {
		if _, begun := first[b.Piece]; !begun && b.Stroke >= 0 && b.Piece >= 0 {
			first[b.Piece] = i
		}
	}
	at := len(p.Blocks)
	for _, n := range slices.Backward(inOrder(p, 0)) {
		if at = min(at, first[n]); savesAPiece(p, p.StartBefore(at)) {
			all = append(all, n+1)
		}
	}
	slices.Reverse(all)
	return all
}

// ToStart says in words from which pieces a job can go on.
func ToStart(p devices.Program) string {
	var names []string
	for _, n := range starts(p) {
		names = append(names, called(p.Names, n-1))
	}
	if names == nil {
		return noStart
	}
	return "in the order of sending it can go on from: " + strings.Join(names, ", ")
}

const noStart = "no piece can be left out, as they are not made one after another"

// Faults of At.
var (
	// ErrNoPiece means that the program has no piece of that number.
	ErrNoPiece = errors.New("no such piece")
	// ErrStart means that nothing can be left out before the piece.
	ErrStart = errors.New("nothing can be left out before it")
)

// At gives the place from which a program makes piece n, counted from 1, and all that are completed after it, without
// leaving any of their lines out. Its errors are ErrNoPiece and ErrStart.
func At(prog devices.Program, n int) (Point, error) {
	last := -1
	for i, b := range prog.Blocks {
		if b.Stroke >= 0 && b.Piece >= 0 && b.Piece == n-1 {
			last = i
		}
	}
	if last < 0 {
		return Point{}, ErrNoPiece
	}
	_, block := prog.From(firstUnwhole(prog, last-1))
	if !savesAPiece(prog, block) {
		return Point{}, ErrStart
	}
	p := Point{From: FromPiece(n), Text: fmt.Sprintf("as seen on the material, to make %s", Listed(prog, block)), Block: block, Stroke: prog.Blocks[block].Stroke, Piece: n - 1, Seen: true, Sure: block - 1, SureStroke: -1}
	for _, b := range prog.Blocks[:block] {
		if b.EndsStroke && b.Stroke >= 0 {
			p.SureStroke = b.Stroke
		}
	}
	return p, nil
}

// Listed names the pieces of which something is made from a block on, in the order in which they are completed.
func Listed(p devices.Program, block int) string {
	var names []string
	for _, piece := range inOrder(p, block) {
		names = append(names, called(p.Names, piece))
	}
	return strings.Join(names, ", ")
}

// inOrder gives the pieces of which something is made from a block on, in the order in which they are completed.
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
func called(names []string, piece int) string {
	if piece < len(names) && names[piece] != "" {
		return fmt.Sprintf("%d (%s)", piece+1, names[piece])
	}
	return strconv.Itoa(piece + 1)
}

// Called gives the names of the pieces in what Chosen gave: "3 (front), 4 (back)".
func Called(names []string, chosen string) string {
	numbers, err := Chosen(chosen, math.MaxInt, "")
	if err != nil {
		return chosen
	}
	var words []string
	for n := range strings.SplitSeq(numbers, ",") {
		no, _ := strconv.Atoi(n) // Chosen wrote it
		words = append(words, called(names, no-1))
	}
	return strings.Join(words, ", ")
}

// Numbered lists all pieces by their numbers, neighbours of one name together: "1-2 (pocket), 3 (strap)".
func Numbered(names []string) string {
	var words []string
	for i := 0; i < len(names); {
		last := i
		for last+1 < len(names) && names[last+1] == names[i] {
			last++
		}
		word := called(names, last)
		if last > i {
			word = fmt.Sprintf("%d-%s", i+1, word)
		}
		words, i = append(words, word), last+1
	}
	return strings.Join(words, ", ")
}

// Rows groups pieces that came equally far, in the order of the first of each; a row is a word for how far, and their
// numbers and names in the order of the list.
func Rows(list []Piece) (rows [][2]string) {
	for _, m := range list {
		text := strconv.Itoa(m.Number)
		if m.Name != "" {
			text += " (" + pattern.Short(m.Name) + ")"
		}
		if i := slices.IndexFunc(rows, func(r [2]string) bool { return r[0] == m.Made }); i >= 0 {
			rows[i][1] += ", " + text
		} else {
			rows = append(rows, [2]string{m.Made, text})
		}
	}
	return rows
}
