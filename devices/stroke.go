// Package devices holds the types that travel to a machine: strokes, motions of a knife's pivot,
// programs in blocks, profiles, and the line to a port as an interface. It knows nothing of garments,
// files or ports. Lengths are mm with y up in the device's own frame: x runs along the length of the
// material (the feed of a roll), y across it; the origin is the lower left corner of what can be reached.
package devices

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Tool is what draws or cuts a stroke.
type Tool string

// The tools. A profile says which of them a device has.
const (
	Pen   Tool = "pen"
	Knife Tool = "knife"
)

// Stroke is one line made without lifting the tool.
type Stroke struct {
	Tool Tool
	// Role is the line's role in the draft ("cut", "sew", "notch", "text" ...); it picks pen,
	// speed and order, never the geometry.
	Role string
	// Kind tells apart what one role holds ("slit", "placement"): only lines of one kind are joined. ""
	// says no more than Role.
	Kind string
	Path geom.Path
	// Piece counts the job's pieces from 0, as they are lettered from 1; -1 is what belongs to none (test
	// square, waste).
	Piece int
	// Name is the piece's name for people. It never reaches a device as an instruction.
	Name string
	// Closed paths start anywhere; Fixed forbids the planner to turn the stroke or move its start.
	Fixed bool
	// Label makes the stroke a line of lettering along the first segment of Path (its baseline,
	// from the left end). A device that letters by itself is sent the words, any other one strokes.
	Label *Label
}

// Label is a line of lettering. Height is that of capitals in mm.
type Label struct {
	Text   string
	Height float64
}

// MotionKind tells the moves of a knife's pivot apart.
type MotionKind int

// The motions.
const (
	Travel     MotionKind = iota // above everything, rapid, straight to To
	Plunge                       // straight down to Z
	Raise                        // straight up to Z
	CutLine                      // pivot straight to To at cutting depth
	CutArc                       // pivot on an arc about Centre to To at cutting depth
	Swivel                       // pivot on an arc about the tip (Centre) to To, at Z
	AlignStart                   // CutLine in waste that gives the blade its heading
)

// Motion is one move of the pivot. Knife compensation makes them, an encoder writes them down.
type Motion struct {
	Kind   MotionKind
	To     orb.Point // where the pivot ends, mm
	Centre orb.Point // of CutArc and Swivel
	CCW    bool      // direction of CutArc and Swivel
	Z      float64   // mm, of Plunge and Raise: 0 is the top face of the material
	Feed   float64   // mm/min, 0 for Travel
	Stroke int       // index into the strokes, -1 for moves that belong to none
	Piece  int       // of that stroke, -1 for none
	// Turn is where a tangential knife's rotary axis stands at the end, radians, running on past a
	// full turn; it stays 0 for every other tool.
	Turn float64
	// Tool is Pen for what the pen beside a blade does, "" for what the device's only tool does.
	Tool Tool
	// Note is a remark for people; an encoder cleans it before it writes it.
	Note string
}

// Block is a run of bytes that ends where a device may be stopped: between two blocks no
// instruction is cut in two.
type Block struct {
	Bytes []byte
	// Stroke is the stroke to which the block belongs, -1 for set-up and end; Piece likewise.
	Stroke, Piece int
	// EndsStroke is true for the last block of its stroke.
	EndsStroke bool
	// Down tells whether the tool may be down once the block is done.
	Down bool
	// DrawnMM is how much line the block draws; Seconds what it takes by the profile's speeds.
	DrawnMM, Seconds float64
	// Setup is set on blocks at which a stopped program may go on: what must be sent after the
	// prelude for this block to be drawn as meant (the pen, its speed). See Program.From.
	Setup []byte
	// WaitForPerson stops the sender after this block until somebody says that a fresh sheet lies.
	WaitForPerson string
}

// Program is what is sent: bytes of one language, in blocks.
type Program struct {
	Language Language
	Blocks   []Block
	// Prelude sets every mode relied on; it is blocks 0 to Prelude-1, and is sent again before a
	// program that goes on from the middle.
	Prelude int
	// Chained is true where every stroke relies on the blade's heading that the one before it left:
	// to go on from the middle, the rest of the strokes must be compensated and encoded anew, which
	// gives the blade a new alignment stroke. Prelude and the tail of this program would not do.
	Chained bool
	// Abort are the bytes that leave the tool up and the device idle wherever a block ended.
	Abort []byte
	// Strokes, Pieces and Seconds sum up what is drawn, for progress and the log.
	Strokes, Pieces int
	// Names are what a person calls the pieces, by Block.Piece; empty where nobody said or nothing is drawn.
	Names   []string
	DrawnMM float64
	Seconds float64
	// Reach is how far along the material each stroke comes, mm; empty where nobody wrote it down.
	Reach []float64 `json:",omitempty"`
	// Notes tell a person what the encoder decided: pages, marks left out, chords for arcs.
	Notes []string
	// Setting is what the program was made with, nil where nobody wrote it down.
	Setting *Setting
	// MadeBy are sums of what it was made by, by what a person calls that; nil where nobody wrote it down.
	MadeBy map[string]string
}

// Called gives the program the names of the pieces that its strokes make, and how far along the material each comes.
func (p *Program) Called(strokes []Stroke) {
	p.Reach = make([]float64, 0, len(strokes))
	for _, s := range strokes {
		p.Reach = append(p.Reach, max(0, math.Round(s.Path.Bound().Max[0]*10)/10))
		for s.Piece >= len(p.Names) {
			p.Names = append(p.Names, "")
		}
		if s.Piece >= 0 {
			p.Names[s.Piece] = s.Name
		}
	}
}

// Len is the number of bytes in all blocks.
func (p Program) Len() int {
	n := 0
	for _, b := range p.Blocks {
		n += len(b.Bytes)
	}
	return n
}

// Bytes joins all blocks.
func (p Program) Bytes() []byte {
	out := make([]byte, 0, p.Len())
	for _, b := range p.Blocks {
		out = append(out, b.Bytes...)
	}
	return out
}

// Trace is one line that an independent reader of the bytes says is drawn.
type Trace struct {
	Tool Tool
	Pen  int
	// Path is what the reader drew, mm; for G-code, the pivot's path at or below the top face.
	Path geom.Path
	// Z is the depth it is drawn at, 0 for pens.
	Z float64
	// Page counts from 0 on devices that change sheets.
	Page int
}
