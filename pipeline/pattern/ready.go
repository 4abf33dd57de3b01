package pattern

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Ready is one piece to be drawn or cut: unfolded, with its allowance, one for every copy. It is
// still in the draft's frame.
type Ready struct {
	Name     string
	Size     string
	Material string
	// Index is the piece's place in Pattern.Pieces; Copy counts from 1 to Copies.
	Index, Copy, Copies int
	// Mirrored copies were turned over already; their coordinates are final.
	Mirrored bool
	// Place brought the draft's coordinates to this copy's: the mirroring of a turned-over one. The
	// zero map stands for none.
	Place geom.Affine
	// Outline is the closed cut line, counter-clockwise, corners marked.
	Outline geom.Path
	// Fold is the stretch of Outline that lies on the fold, of a piece that is drawn as its half; nil for
	// one opened out.
	Fold *Segment
	// Second is the other stretch on a fold of a piece that is drawn as its quarter, nil for all others.
	Second *Segment
	// EdgeOf names for each stretch of Outline the edge it came from, "" where unknown.
	EdgeOf []string
	// OnFold is the line about which an opened-out piece is its own mirror image; nil where it has no fold.
	OnFold *Segment
	// BothHands means that a copy turned over is the same piece, so that two may be cut from two layers.
	BothHands bool
	// Draft counts the drafts of a lay of several from 0.
	Draft int
	// Garment counts the garments of a job from 1: the pieces that are sewn to one another.
	Garment int
	// Lines is everything else that is drawn or cut on the piece.
	Lines []Line
	// Uncut are the lines that a pen would draw, of a piece for a cutter without one: they are shown in pictures alone.
	Uncut []Line
	// Grain is where the grain runs, nil where nobody says.
	Grain *Segment
	// Card is the text of the ticket that is laid on a piece which a knife cannot letter, with the
	// marks that this device will not make.
	Card []string
}

// CutLines are the lines to draw or cut round the piece: the closed outline; of a half one open line from
// one end of its fold to the other; of a quarter whose folds do not meet one on either side.
func (r *Ready) CutLines() []geom.Path { return OffFolds(r.Outline, r.Fold, r.Second) }

// Cutouts are the closed lines within the piece that are cut out and leave an opening.
func (r *Ready) Cutouts() (out []geom.Path) {
	for _, l := range r.Lines {
		if l.Role == RoleCutout && l.Path.Closed && len(l.Path.Points) > 2 {
			out = append(out, l.Path)
		}
	}
	return out
}

// Line is one line on a ready piece.
type Line struct {
	Role Role
	// Label is what the draft calls the line ("slit", "pocket line"), "" for most.
	Label string
	Path  geom.Path
	// Cut is true where a knife is meant to go through the material (nick, V, cut-out), false where
	// only a pen may draw it.
	Cut bool
	// Diameter is for drills: of a circle that is drawn, or of a place that is the first point of
	// Path.
	Diameter float64
	// Word is the line of lettering of which this line is a stroke, nil where it is none. All strokes
	// of one share it, so that a device that letters by itself can be sent the words instead.
	Word *Word
}

// Word is a line of lettering: its baseline starts at At and runs along the unit vector Along.
// Height is that of capitals in mm.
type Word struct {
	Text      string
	At, Along orb.Point
	Height    float64
	// Middle is that of all lettering that is read together, such as a heading of several lines.
	Middle orb.Point
}

// PlacedBy is the map that brings the line to the material where m brings its piece there: letters that a turned
// piece would have upside down are turned once more, about their middle.
func (l Line) PlacedBy(m geom.Affine) geom.Affine {
	if w := l.Word; w != nil && m.Det() > 0 && upright(w.Along) && !upright(m.Vector(w.Along)) {
		return m.After(geom.Translate(w.Middle[0], w.Middle[1])).After(geom.Rotate(math.Pi)).After(geom.Translate(-w.Middle[0], -w.Middle[1]))
	}
	return m
}

// upright tells letters along v that are read from below or from the right.
func upright(v orb.Point) bool { return v[0] > 1e-6 || v[0] > -1e-6 && v[1] > 0 }

// Placement is where one ready piece lies.
type Placement struct {
	Ready int // index into the ready pieces
	// Map brings the piece's coordinates to the material.
	Map geom.Affine
	// At, RotationDeg and Mirrored say the same in words: mirrored first (in the y axis: x turns
	// over), then turned about the origin, then moved by At.
	At          orb.Point
	RotationDeg float64
	Mirrored    bool
}

// Lay is all pieces on the material, seen opened out: pieces of the layer below a fold lie beside it, turned over.
type Lay struct {
	Material Material
	// Fold is how the cloth lies, FoldDepth how deep a part fold is, mm. From Opened on the cloth lies in one
	// layer; that is LengthUsed where all of it is folded.
	Fold              Folding
	FoldDepth, Opened float64
	LengthUsed        float64
	// Efficiency is the pieces' area over width times length used, 0 to 1.
	Efficiency float64
	Placements []Placement
}

// FoldLines are where the cloth is folded, across the opened-out width in mm.
func (l *Lay) FoldLines() []float64 {
	w := l.Material.Width
	switch l.Fold {
	case FoldOnce:
		return []float64{w / 2}
	case FoldTwo:
		return []float64{w / 4, 3 * w / 4}
	case FoldPart:
		return []float64{l.FoldDepth}
	}
	return nil
}
