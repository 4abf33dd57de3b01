package picture

import (
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// inkOf is how a line of a kind is drawn.
func inkOf(k look.Kind) Ink {
	f := look.Of(k)
	return Ink{Colour: f.Ink, Width: f.Width, Dash: f.Dash}
}

func severityInk(s pattern.Severity) look.Ink {
	switch s {
	case pattern.Error:
		return look.Crimson
	case pattern.Warning:
		return look.Amber
	default:
		return look.Slate
	}
}
