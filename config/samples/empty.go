package samples

import "strings"

// emptySheet is what a garment of one's own begins from: a pocket that is drawn at once, each part with what it is for.
const emptySheet = `# My own garment. What stands behind a # is for you: it is not drawn.
style: Own garment
unit: cm

# Whose measures these are. Put others in their place, or keep the measures beside these words as a card.
bodies:
  A: {hand: 20}

# What is reckoned from the measures.
numbers:
  wide: hand - 4
  deep: hand

# A drawing: lettered points, each from one before it, then the edges between them, then the outline.
draft pocket:
  A: start
  B: from A out wide
  C: from B down deep
  D: from A down deep
  top: line A to B
  side: line B to C
  foot: line C to D
  inner: line D to A
  outline: top, side, foot, inner

# What is cut of which drawing, and how often.
pieces:
  pocket: pocket; cut 2

# What is added for the seams.
allow:
  all: 1
  top: 3
`

// Empty is the empty sheet in a unit.
func Empty(unit string) string {
	if unit != "in" {
		return emptySheet
	}
	return strings.NewReplacer("unit: cm", "unit: in", "{hand: 20}", "{hand: 8}", "hand - 4", "hand - 1 1/2", "all: 1", "all: 1/2", "top: 3", "top: 1 1/4").Replace(emptySheet)
}
