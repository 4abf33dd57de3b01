// Package pattern holds the types that travel through the pipeline: a Pattern as it was read, the
// Findings about it, the Ticket that says what is wanted, the Ready pieces cut lines and all, and
// the Lay on the material. It imports geometry only and knows neither file formats nor devices.
//
// All coordinates are millimetres, y up, in the frame of the draft until a piece is laid.
package pattern

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
)

// Role is what a line is for.
type Role string

// The roles. A reader finds them in layers, classes and labels; nothing else makes a line one.
const (
	RoleCut     Role = "cut"
	RoleSew     Role = "sew"
	RoleNotch   Role = "notch"
	RoleGrain   Role = "grain"
	RoleFold    Role = "fold"
	RoleMark    Role = "mark" // internal line: drawn, never cut
	RoleCutout  Role = "cutout"
	RoleDrill   Role = "drill"
	RoleStripe  Role = "stripe"
	RolePlaid   Role = "plaid"
	RoleText    Role = "text"
	RoleCheck   Role = "check"  // a square or line of stated size that proves the scale
	RoleIgnore  Role = "ignore" // frame, guide, construction
	RoleQuality Role = "quality"
	RoleNone    Role = ""
)

// Shapes tells whether lines of the role decide what is cut of a piece, so that one which is not used
// changes it.
func (r Role) Shapes() bool {
	switch r {
	case RoleCut, RoleSew, RoleCutout, RoleNotch, RoleFold:
		return true
	}
	return false
}

// Pattern is one draft as it was read: nothing is repaired or added yet beyond what Findings says.
type Pattern struct {
	Style  string
	Fitted string // "fitted 2026-11-20", where a fitting went into the pieces
	Source string // the file's name, for messages
	Format string // "svg", "dxf", "measured"
	Unit   string // what the draft said: "mm", "in", "px", "METRIC" ...; empty when it said nothing
	// PageHeight is the height, in mm, of the page of a format that counts y downwards from its upper
	// edge; 0 for one that counts upwards.
	PageHeight float64
	Pieces     []Piece
	// Bodies are the names of a measured draft's own bodies, in its order.
	Bodies []string
	// Cloths are what the draft says of the cloths that it is cut from.
	Cloths []Cloth
	// Findings are what the reader saw: bridged gaps, elements left out, assumed units.
	Findings []Finding
	// Seams lists the edges that are sewn together, where the draft says it.
	Seams []Seam
	// Corners are the corners that meet when it is sewn, where the reader knows them.
	Corners []Corner
	// Drafts are those of which this one holds the pieces, in their order; nil of a draft that was read (Together).
	Drafts []*Pattern
}

// Piece is one part of the style, as drawn: a half stays a half.
type Piece struct {
	// Name is what the draft calls it; readers make one up ("piece 3") only where it says nothing,
	// and then Named is false.
	Name  string
	Named bool
	// Where names its outline's first line in the file, such as line 2, <path id="pocket">; empty where nothing does.
	Where string
	Size  string
	// Quantity is how many to cut in all; 0 means that the draft does not say.
	Quantity int
	// Pair means that half of them are mirrored.
	Pair bool
	// Alike means that the draft says that all are of one hand.
	Alike    bool
	Material string
	Note     string
	// Card holds what else a person wants on the piece's card: wearer, revision, date ...
	Card []string

	// Cut is the closed cut line, nil where the draft has none. An outline found open is kept here
	// with Closed false, so that a check can show it.
	Cut *geom.Path
	// CutSaid is false for a lone outline that does not say whether it is the cut or the sew line.
	CutSaid bool
	// Included is true where the draft's own words say that the cut line holds the allowance, so that a
	// sew line is not missed.
	Included bool
	// Sew is the stitching line: one closed path, or several open ones (one a seam).
	Sew []geom.Path
	// Edges divide the sew line (the cut line where there is no single closed sew line) at its
	// corners, in order. Empty where the reader knows nothing about edges.
	Edges []Edge
	// Allowance is the width the draft states for the whole piece, nil where it states none.
	Allowance *float64

	Notches []Notch
	Darts   []Dart
	Drills  []Drill
	// Marks are inner lines by role: mark, stripe, plaid, check, quality.
	Marks   []Mark
	Cutouts []geom.Path
	Grain   *Segment
	Fold    *Segment
	// Second is the fold square to Fold of a piece that is drawn as its quarter and cut from cloth folded twice, so
	// that both folds lie on straight edges; nil for all others.
	Second *Segment
	Labels []Label
	// Points are the drafter's lettered points, for pictures that show them.
	Points []Label
}

// Segment is a straight stretch from A to B.
type Segment struct{ A, B orb.Point }

// Width is an allowance that changes evenly from the start of an edge to its end, in mm.
type Width struct{ From, To float64 }

// Edge is a stretch of a piece's line between two corners.
type Edge struct {
	Name string
	Kind string // "hem", "neck", "armhole", "side" ...; free words of the trade
	Line int    // in the draft, where it says the edge; 0 for nowhere
	// First is the vertex of the line at which the edge begins; it ends where the next one begins.
	First     int
	Allowance *Width
	Fold      bool // lies on the fold: no allowance, no notch along it
	// Worn is the edge as it is sewn, where that is not as it lies: darts and pleats in it closed, so that
	// the open mouth of a dart is one point.
	Worn geom.Path
	// Corner is the finish at the edge's start; SewnFirst as in offset.Edge.
	Corner    offset.CornerKind
	SewnFirst bool
}

// Seam is a pair of edges sewn together; either side may be several edges in a row.
type Seam struct {
	A, B []EdgeRef
	// Ease is by how many mm B is meant to be longer than A; Tolerance what may be lacking.
	Ease, Tolerance float64
	Note            string
	// Line and Column are where the draft says it, 0 where it has no lines.
	Line, Column int
	// Gathered means that the one side is drawn up to the length of the other.
	Gathered bool
	// Unnotched means that one side is a strip that bears no notches.
	Unnotched bool
	// Underlap is how much of Ease is an underlap, mm.
	Underlap float64
	// Lapped means that what the second side is longer is an underlap, and not eased in.
	Lapped bool
	// Corners means that the corners where the seam ends are among the pattern's.
	Corners bool
}

// SeamTolerance is by how many mm the sides of a seam may differ where nobody says another: common practice.
const SeamTolerance = 2

// Off is by how many mm the second side is longer than it is meant to be, less than 0 where it is shorter, of sides so
// long as worn; 0 where that is let pass. Usual is what is let pass where the seam says nothing.
func (s Seam) Off(a, b, usual float64) float64 {
	if s.Tolerance > 0 {
		usual = s.Tolerance
	}
	if off := b - a - s.Ease; !s.Gathered && math.Abs(off) > usual {
		return off
	}
	return 0
}

// Corner is where an edge goes on across a seam, a fold or a dart: by what the two corners come to together,
// 180 degrees where it runs on without a point.
type Corner struct {
	What         string // "the neck where front shoulder is sewn to back shoulder"
	Degrees      float64
	Piece        string // on which it is told, and its place among the pieces
	Index        int
	At           orb.Point // mm
	Mend         string
	Line, Column int
}

// EdgeRef names an edge of a piece.
type EdgeRef struct {
	Piece, Edge string
	Times       float64 // how often it is taken, where as many pieces are joined; 0 is once
}

// NotchKind is the form of a notch.
type NotchKind string

// The kinds of the trade.
const (
	NotchNick   NotchKind = "nick" // one straight slit
	NotchV      NotchKind = "v"
	NotchT      NotchKind = "t"
	NotchCastle NotchKind = "castle" // square end
	NotchCheck  NotchKind = "check"  // a V with one side square to the edge
	NotchU      NotchKind = "u"
	NotchPen    NotchKind = "pen" // a pen mark across the edge, nothing cut
)

// NotchReach is how far, in mm, a notch may lie from the cut line and still be carried out to it.
const NotchReach = 60

// Notch is a mark at an edge.
type Notch struct {
	At   orb.Point
	Kind NotchKind
	// Depth and Width are mm; 0 means that the draft does not say (a nick has no width).
	Depth, Width float64
	// AngleDeg points from the edge into the piece; it counts only where AngleSaid is true,
	// otherwise the notch stands square to the edge.
	AngleDeg  float64
	AngleSaid bool
	// OnSew is true where At lies on the sew line and the notch is to be carried to the cut line.
	OnSew bool
	Name  string
	// Along is where the notch stands on its edge as worn, nil where only At is known.
	Along *Along
}

// Along is a notch's place on an edge.
type Along struct {
	Edge  int     // into the piece's Edges
	Worn  float64 // mm from the edge's start as it is sewn; less than 0 for a notch that has no partner
	Words string  // as people say it: "8 from U"
}

// Dart reaches the outline with its legs, from A and from B to Apex.
type Dart struct {
	Name         string
	A, Apex, B   orb.Point
	Line, Column int // where the draft tells it, 0 where it has no lines
}

// Drill is a mark inside a piece, made by an awl, a drill or a pen cross. Diameter 0 is unsaid.
type Drill struct {
	At       orb.Point
	Diameter float64
}

// Mark is an inner line with its role.
type Mark struct {
	Role  Role
	Path  geom.Path
	Label string
	Line  int // in the draft, where it says a dart's leg; 0 for nowhere
}

// Label is text at a place. Height is the letters' height in mm, 0 where the draft does not say.
type Label struct {
	At       orb.Point
	Line     int // in the draft, where it says the lettered point; 0 for nowhere
	Text     string
	Height   float64
	AngleDeg float64
}

// Outline is the line by which the piece is measured: the cut line where there is one, else the
// closed sew line, else nil.
func (p *Piece) Outline() *geom.Path {
	if p.Cut != nil {
		return p.Cut
	}
	if len(p.Sew) == 1 && p.Sew[0].Closed {
		return &p.Sew[0]
	}
	return nil
}
