// Package assemble turns what a reader found - lines, points and texts, each with the role that its
// layer, class or label gave it - into pieces. It chains loose ends into outlines, finds which lines
// belong to which piece, makes notches, drills, grain and fold lines of them, and lists what it
// could not place. It knows no file format.
package assemble

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Item is one thing that a reader found, in mm, y up.
type Item struct {
	// Role is what its carrier says; RoleNone where nothing does.
	Role pattern.Role
	// Path is the line, flattened; of a point or a text it is the one place. Empty paths are dropped.
	Path geom.Path
	// Diameter is set for a circle, whose Path is its flattened outline and Centre its middle.
	Diameter float64
	Centre   orb.Point
	// Text is the words of a text item, Height and AngleDeg how it stands.
	Text     string
	Height   float64
	AngleDeg float64
	// Label is what the draft calls an inner line: such a one is joined to no other and runs as drawn.
	Label string
	// Notch is set where the reader knows all about a notch (a point with depth, width, direction).
	Notch *pattern.Notch
	// Group names the piece to which the item surely belongs ("" = found by containment).
	Group string
	// Where names the element for messages: `line 41, <path class="cut">`, `layer FRAME`.
	Where string
	Line  int
}

// Group is what is known of a piece apart from its lines.
type Group struct {
	Key      string
	Name     string
	Named    bool
	Size     string
	Quantity int
	Pair     bool
	Alike    bool
	Material string
	Note     string
	// Loose is set where the name may as well be a layer's (a title of a group): a loose group that
	// does not hold exactly one outline is no piece, and its items are placed by containment.
	Loose bool
}

// Drawing is all that a reader found in one file.
type Drawing struct {
	Items  []Item
	Groups []Group
	// NoRoles is true where no element of the file had a role at all: outermost closed loops are
	// then outlines which do not say whether they are cut or sew lines.
	NoRoles bool
	// Told is the unit in which lengths are told: "mm", "cm" or "in".
	Told string
}
