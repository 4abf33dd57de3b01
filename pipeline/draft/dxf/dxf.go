// Package dxf reads drafts drawn as DXF, text or binary, from R12 on: plain drawings whose layers
// are named for what they hold, and the sewn-products interchange form, in which a piece is a block
// and layers are numbers. It resolves units, text encodings, inserts and object coordinates, flattens
// curves once, and leaves it to assemble to make pieces of the lines.
//
// Sources: the published DXF reference (group codes, entities, object coordinates); public
// transcriptions of the layer list and of clauses of ASTM D6673 (layers, UNITS, notch layers).
// What is read from common practice only - the text keys of a piece, the notch codes 30, 39 and 50 -
// is marked so where it is read.
package dxf

import (
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// Limits bound what a draft may cost. The zero value of each means the default.
type Limits struct {
	Bytes    int // of the file
	Tags     int // pairs of group code and value
	Stored   int // entities and vertices in the file, before inserts are followed
	Depth    int // of inserts in each other
	Entities int // after all inserts are followed
	Cells    int // of one arrayed insert
	Points   int // after flattening
}

// DefaultLimits leave room for the largest drafts of a workroom and keep a hostile file below a
// second or two and some hundred megabytes.
var DefaultLimits = Limits{
	Bytes: 64 << 20, Tags: 6_000_000, Stored: 1_000_000, Depth: 16,
	Entities: 100_000, Cells: 10_000, Points: 4_000_000,
}

// maxCoord is how far, in mm, anything may lie from the origin: a kilometre is no garment.
const maxCoord = 1e6

// Options say what the file itself may not.
type Options struct {
	// Unit is the ticket's answer to what one unit of the drawing is: "mm", "cm" or "in". It counts
	// only where the file says nothing.
	Unit   string
	Limits Limits
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
	r.drawing(unit.mm)
	if r.fatal != nil {
		return nil, r.fatal
	}
	p := &pattern.Pattern{Source: name, Format: "dxf", Unit: unit.name, Style: r.style(name)}
	var found []pattern.Finding
	p.Pieces, found = assemble.Pieces(r.out)
	r.sayTiny(unit, p.Pieces)
	p.Findings = slices.Concat(r.findings, r.leftOut(), found)
	return p, nil
}

func (l Limits) filled() Limits {
	for _, f := range []struct {
		v *int
		d int
	}{
		{&l.Bytes, DefaultLimits.Bytes}, {&l.Tags, DefaultLimits.Tags}, {&l.Stored, DefaultLimits.Stored},
		{&l.Depth, DefaultLimits.Depth}, {&l.Entities, DefaultLimits.Entities}, {&l.Cells, DefaultLimits.Cells},
		{&l.Points, DefaultLimits.Points},
	} {
		if *f.v <= 0 {
			*f.v = f.d
		}
	}
	return l
}

// style is what the draft calls itself, else the file's name without its ending.
func (r *reader) style(name string) string {
	if s := r.facts["STYLE NAME"]; s != "" {
		return assemble.Short(s)
	}
	base := filepath.Base(name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// flattenTol is the share of the error budget that reading has.
const flattenTol = geom.FlattenTol
