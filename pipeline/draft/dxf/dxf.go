// Package dxf reads drafts drawn as DXF, text or binary, from R12 on: plain drawings whose layers
// are named for what they hold, and the sewn-products interchange form, in which a piece is a block
// and layers are numbers. It resolves units, text encodings, inserts and object coordinates, flattens
// curves once, and leaves it to assemble to make pieces of the lines.
package dxf

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// Sources: the published DXF reference (group codes, entities, object coordinates); public
// transcriptions of the layer list and of clauses of ASTM D6673 (layers, UNITS, notch layers).
// What is read from common practice only - the text keys of a piece, the notch codes 30, 39 and 50 -
// is marked so where it is read.

// Options say what the file itself may not.
type Options struct {
	// Unit is the ticket's answer to what one unit of the drawing is: "mm", "cm" or "in". It counts
	// only where the file says nothing.
	Unit   string
	Limits Limits
	// Room is the workroom's unit, see pattern.Pattern.ReadIn.
	Room string
}

// Read makes a pattern of a DXF file; name is for messages and, where the draft names no style, for
// the style. Coordinates come out in mm in the drawing's own frame, y up. The error is an *assemble.Unreadable;
// every fault of a file that can be read is a finding of the pattern.
func Read(data []byte, name string, opt Options) (*pattern.Pattern, error) {
	limits := opt.Limits.filled()
	f, err := parse(data, limits)
	if err != nil {
		return nil, err
	}
	r := newReader(f, limits)
	unit := r.units(opt.Unit)
	p := &pattern.Pattern{Source: name, Format: "dxf", Unit: unit.name, Style: r.style(name)}
	r.out.Told = p.ReadIn(opt.Room)
	r.drawing(unit.mm)
	if r.fatal != nil {
		return nil, r.fatal
	}
	var found []pattern.Finding
	p.Pieces, found = assemble.Pieces(r.out)
	r.sayTiny(unit, p.Pieces)
	p.Findings = slices.Concat(r.findings, r.left.Findings(" left out"), found)
	return p, nil
}

// style is what the draft calls itself, else the file's name without its ending.
func (r *reader) style(name string) string {
	if s := r.facts["STYLE NAME"]; s != "" {
		return assemble.Short(s)
	}
	base := filepath.Base(name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

func newReader(f *file, limits Limits) *reader {
	r := &reader{file: f, limits: limits, facts: map[string]string{}, pieceNames: map[*block]bool{},
		layerOf: map[string]*layerInfo{}, seen: map[string]bool{}, told: map[string]bool{}, sizes: map[*block]size{},
		cornersOf: map[*block]*corners{}}
	r.readFacts()
	return r
}

// drawing walks over everything that is drawn; mm is what one unit of the drawing is.
func (r *reader) drawing(mm float64) {
	total := r.measure(r.main, nil)
	if r.fatal == nil && total.entities > r.limits.Entities {
		r.stop(&assemble.Unreadable{Kind: assemble.TooLarge, Text: fmt.Sprintf("the drawing has more than %d entities once all inserts are followed", r.limits.Entities)})
	}
	r.walk(r.main, &context{m: geom.Scale(mm, mm)})
	if r.fatal != nil {
		return
	}
	r.neverInserted()
	r.settleGroups()
	r.out.NoRoles = !slices.ContainsFunc(r.out.Items, func(it assemble.Item) bool {
		return it.Role != pattern.RoleNone && it.Text == ""
	})
}
