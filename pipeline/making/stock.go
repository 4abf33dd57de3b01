package making

import (
	"context"
	"math"

	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/cloths"
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

// fits are the numbers of the remnants of a material, apart from the one that it lies on, that would hold a job.
func (on Setup) fits(ctx context.Context, ready []pattern.Ready, t pattern.Ticket, r Request, material string) (out []int64) {
	if step, _ := hpgl.Pages(on.Profile); len(ready) == 0 || step > 0 {
		return nil
	}
	for _, s := range cloths.Holding(ctx, remnantsOf(r), material, lay.Area(ready), func(one cloths.Remnant, opt lay.Options) bool {
		if one.No == r.Remnant.No {
			return false
		}
		on.lieOn(ledger.Remnant{No: one.No, Width: one.Width, Length: one.Length})
		_, found := lay.OnMachine(ctx, ready, on.lies(t), opt)
		return pattern.Worst(found) != pattern.Error
	}) {
		out = append(out, s.No)
	}
	return out
}

// remnantsOf are those that may hold what is asked for.
func remnantsOf(r Request) (out []cloths.Remnant) {
	for _, s := range r.Remnants {
		out = append(out, cloths.Remnant{Material: s.Material, No: s.No, Width: s.Width, Length: s.Length})
	}
	return out
}
