package dxf

import "cmp"

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

func (l Limits) filled() Limits {
	d := DefaultLimits
	return Limits{
		Bytes: cmp.Or(l.Bytes, d.Bytes), Tags: cmp.Or(l.Tags, d.Tags), Stored: cmp.Or(l.Stored, d.Stored), Depth: cmp.Or(l.Depth, d.Depth),
		Entities: cmp.Or(l.Entities, d.Entities), Cells: cmp.Or(l.Cells, d.Cells), Points: cmp.Or(l.Points, d.Points),
	}
}

// maxCoord is how far, in mm, anything may lie from the origin: a kilometre is no garment.
const maxCoord = 1e6

// maxFaults bounds the list that a broken file makes.
const maxFaults = 200

// workShare is how often the most pairs of code and value that a file may have are looked at, all
// inserts followed: what draws nothing costs time too.
const workShare = 10
