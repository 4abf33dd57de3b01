package pattern

import "testing"

// TestMendGap: who left out an edge is not told to bring two ends together that lie far apart.
func TestMendGap(t *testing.T) {
	for apart, want := range map[float64]string{
		0.4: "bring the two ends together",
		25:  "draw the edge that is missing between the two ends, or bring them together",
		300: "draw the edge that is missing between the two ends, or bring them together",
	} {
		if got := MendGap(apart); got != want {
			t.Errorf("%g mm: %s", apart, got)
		}
	}
}
