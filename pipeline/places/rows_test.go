package places

import (
	"slices"
	"testing"
)

// TestRowsTellEachWordOnce: of a job that was cut short in the middle of several pieces, in whatever order they are made, each
// word for how far stands once, with all its pieces.
func TestRowsTellEachWordOnce(t *testing.T) {
	got := Rows([]Piece{{Number: 1, Made: Done}, {Number: 2, Made: Unknown}, {Number: 3, Made: NotBegun}, {Number: 4, Made: Unknown}, {Number: 5, Name: "front", Made: NotBegun}})
	want := [][2]string{{Done, "1"}, {Unknown, "2, 4"}, {NotBegun, "3, 5 (front)"}}
	if !slices.Equal(got, want) {
		t.Errorf("%q, not %q", got, want)
	}
}
