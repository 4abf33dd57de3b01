package drafting

// Truing is by how much the two edges at one end of a princess seam were trued, the centre panel's first.
type Truing struct {
	At      string
	Carried [2]float64 // by how much each leg was carried on to be as long as the other
	Turned  float64    // degrees by which each edge was turned to run on across the seam
}
