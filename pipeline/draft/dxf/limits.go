package dxf

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

// maxCoord is how far, in mm, anything may lie from the origin: a kilometre is no garment.
const maxCoord = 1e6

// maxFaults bounds the list that a broken file makes.
const maxFaults = 200

// workShare is how often the most pairs of code and value that a file may have are looked at, all
// inserts followed: what draws nothing costs time too.
const workShare = 10
