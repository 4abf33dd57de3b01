package making

import (
	"context"
	"math"

	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// fed is how much of the length of its material a job takes, mm; 0 where nothing is laid, or sheets are laid under the pen
// by hand.
func (on *Setup) fed(l pattern.Lay) float64 {
	laid := l.LengthUsed
	if len(l.Placements) == 0 || on.Profile.Plot.Long == hpgl.LongSheets {
		return 0
	}
	if step, room := hpgl.Pages(on.Profile); step > 0 {
		return math.Ceil(max(0, laid-room)/step)*step + room
	}
	if on.Profile.Length > 0 || on.Profile.Kind.Cuts() {
		return laid
	}
	return max(laid, hpgl.Fed(on.Profile, laid))
}

// mostRemnants is how many remnants are tried for a job, and triesOf in how many steps each.
const mostRemnants, triesOf = 8, 200

// fits are the numbers of the remnants of a material, apart from the one that it lies on, that would hold a job: the
// smallest that have area enough are tried.
func (on Setup) fits(ctx context.Context, ready []pattern.Ready, t pattern.Ticket, r Request, material string) (out []int64) {
	if step, _ := hpgl.Pages(on.Profile); len(ready) == 0 || step > 0 {
		return nil
	}
	area, left := lay.Area(ready), mostRemnants
	for _, s := range ledger.BySize(r.Remnants) {
		if s.Material != material || s.No == r.Remnant.No || s.Width*s.Length < area || left == 0 || ctx.Err() != nil {
			continue
		}
		left--
		on.lieOn(s.Remnant)
		if _, found := lay.OnMachine(ctx, ready, on.lies(t), lay.Options{Steps: triesOf, Seed: 1}); pattern.Worst(found) != pattern.Error {
			out = append(out, s.No)
		}
	}
	return out
}
