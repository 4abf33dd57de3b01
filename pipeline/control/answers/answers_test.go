package answers

import "testing"

// TestPieced: a job of some pieces says their numbers in the draft, and those of its picture where these are others.
func TestPieced(t *testing.T) {
	for _, c := range []struct{ bed, pieces, want string }{
		{"", "", ""}, {"1 of 8", "1,2", ", bed 1 of 8, of the draft's pieces only 1, 2"},
		{"2 of 8", "3,4", ", bed 2 of 8, of the draft's pieces only 3, 4 (here numbered 1 and 2)"},
		{"", "2", ", of the draft's pieces only 2"}, {"", "1,2,4", ", of the draft's pieces only 1, 2, 4 (here numbered 1 to 3)"},
		{"8 of 8", "3,5,6,7,8,10", ", bed 8 of 8, of the draft's pieces only 3, 5 to 8, 10 (here numbered 1 to 6)"},
	} {
		if got := Pieced(map[string]string{Bed: c.bed, Pieces: c.pieces}); got != c.want {
			t.Errorf("bed %s, pieces %s: %q, want %q", c.bed, c.pieces, got, c.want)
		}
	}
}
