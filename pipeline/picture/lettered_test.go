package picture

import (
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestLettersAreCounted: a name is lettered as high as another with as many letters, however many bytes these take.
func TestLettersAreCounted(t *testing.T) {
	outline := geom.Path{Points: []orb.Point{{0, 0}, {90, 0}, {90, 60}, {0, 60}}, Closed: true}
	of := func(name string) float64 {
		r := pattern.Ready{Name: name, Outline: outline}
		return lettered(&r, geom.Identity).Height
	}
	if plain, marked := of("Armel vorne"), of("Ärmel völlö"); plain != marked || plain >= 20 {
		t.Errorf("%g mm and %g mm", plain, marked)
	}
}
