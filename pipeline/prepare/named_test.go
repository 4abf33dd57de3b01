package prepare

import (
	"slices"
	"testing"

	"tracewheel/pipeline/pattern"
)

// TestGarmentsAreNamed: in a job of several garments each piece is named by its garment's draft; garments of one draft that
// differ in nothing are numbered, those for different bodies are told apart by these alone; a job of one draft names none.
func TestGarmentsAreNamed(t *testing.T) {
	part := func(style string) Part { return Part{Pattern: &pattern.Pattern{Style: style}} }
	front := func(draft, garment int, size string) pattern.Ready {
		return pattern.Ready{Name: "front", Size: size, Draft: draft, Garment: garment, Copy: 1, Copies: 1}
	}
	for _, c := range []struct {
		title string
		parts []Part
		ready []pattern.Ready
		want  []string
	}{
		{"two drafts, the second twice", []Part{part("Smock"), part("Jacket")}, []pattern.Ready{front(0, 1, "A"), front(1, 2, "A"), front(1, 3, "A"), front(1, 3, "A")},
			[]string{"Smock: front", "Jacket 1: front", "Jacket 2: front", "Jacket 2: front"}},
		{"one draft for two bodies", []Part{part("Smock"), part("Smock")}, []pattern.Ready{front(0, 1, "A"), front(1, 2, "B")}, []string{"front", "front"}},
		{"two drafts of one style", []Part{part("Smock"), part("Smock")}, []pattern.Ready{front(0, 1, "A"), front(1, 2, "A")}, []string{"Smock 1: front", "Smock 2: front"}},
		{"copies of one draft", []Part{part("Smock")}, []pattern.Ready{front(0, 1, "A"), front(0, 2, "A")}, []string{"front", "front"}},
	} {
		if got := Called(c.parts, c.ready); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, not %q", c.title, got, c.want)
		}
	}
	r := front(0, 1, "A")
	r.Copy, r.Copies, r.Mirrored = 2, 2, true
	if got := Copies([]Part{part("Smock"), part("Jacket")}, []pattern.Ready{r, front(1, 2, "A")})[0]; got != "Smock: front, A, 2 of 2, turned over" {
		t.Errorf("%q", got)
	}
}
