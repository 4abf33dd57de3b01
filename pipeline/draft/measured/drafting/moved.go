package drafting

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// noteMovedWhole tells of a drawing that traces another and tells its first point anew, where every other point goes with it: the
// drawing lies elsewhere, and its shape is the one that was traced.
func (d *Drawing) noteMovedWhole() {
	e := d.Scope.Context
	if d.traced == nil || d.state != worked || d.traced.state != worked {
		return
	}
	var anew *tree.Definition
	var by orb.Point
	points := 0
	for _, n := range d.traced.Scope.Order {
		was, is := d.traced.Scope.Definitions[n], d.Scope.Definitions[n]
		if was.Kind != tree.PointKind || is == nil || is.Kind != tree.PointKind {
			continue
		}
		if was.Sentence != is.Sentence {
			if anew != nil || points > 0 {
				return // several, or not the first
			}
			anew, by = is, geom.Sub(is.Point, was.Point)
		}
		points++
		if geom.Dist(geom.Sub(is.Point, was.Point), by) > e.Hair() {
			return
		}
	}
	if anew == nil || points < 2 || geom.Norm(by) <= e.Hair() {
		return
	}
	e.Note(anew.Sentence, pattern.RuleReadAssumed, pattern.Note,
		fmt.Sprintf("%s is the point from which all others of %s are told, so that the whole drawing is moved and keeps the shape of %s", sentence.Quote(anew.Name()), sentence.Quote(d.Name), sentence.Quote(d.traced.Name)),
		"no action needed if that is meant; to change the shape, tell another point anew")
}
