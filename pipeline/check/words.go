package check

import (
	"tracewheel/pipeline/pattern"
)

// words says lengths and places in the unit of the draft, see pattern.Pattern.ReadIn.
type words struct{ places pattern.Places }

func newWords(p *pattern.Pattern, room string) words { return words{p.Places(room)} }

// length says a length: "10 mm", "1 cm" or "3/8 in".
func (w words) length(mm float64) string { return pattern.Length(mm, w.places.Unit) }

// number says a length that another one follows, which then brings the unit.
func (w words) number(mm float64) string { return pattern.SayLength(mm, w.places.Unit) }
