package plan

import (
	"slices"

	"tracewheel/devices"
	"tracewheel/pipeline/look"
)

// dashed divides the pens' strokes into the dashes of their kind, in the order of the lines. A dash that crosses
// frames or sheets belongs to the one on which it begins.
func dashed(strokes []devices.Stroke, p devices.Profile) []devices.Stroke {
	out := make([]devices.Stroke, 0, len(strokes))
	for _, s := range strokes {
		if s.Tool != devices.Pen || s.Label != nil || s.Kind == "" {
			out = append(out, s)
			continue
		}
		for _, path := range look.Of(look.Kind(s.Kind)).Strokes(s.Path) {
			s.Path = path
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b devices.Stroke) int { return window(a, p) - window(b, p) })
	return out
}
