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

// fed is the length of its material that a job takes, mm; 0 where nothing is laid, or sheets are put under the pen by
// hand.
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

// fits gives rectangles of a material that are large enough for a job: the one that its lay takes, and those that it would
// take on the remnants in stock, except for the one that it lies on.
func (on Setup) fits(ctx context.Context, ready []pattern.Ready, l pattern.Lay, t pattern.Ticket, r Request, material string) (out []ledger.Rectangle) {
	if step, _ := hpgl.Pages(on.Profile); len(ready) == 0 || step > 0 {
		return nil
	}
	out = append(out, ledger.Rectangle{Width: on.lies(t).Width, Length: on.fed(l)})
	cloths.Holding(ctx, remnantsOf(r), material, lay.Area(ready), func(one cloths.Remnant, opt lay.Options) bool {
		if one.No == r.Remnant.No {
			return false
		}
		on.lieOn(ledger.Remnant{No: one.No, Width: one.Width, Length: one.Length})
		lies := on.lies(t)
		l, found := lay.OnMachine(ctx, ready, lies, opt)
		if pattern.Worst(found) == pattern.Error {
			return false
		}
		out = append(out, ledger.Rectangle{Width: lies.Width, Length: on.fed(l)})
		return true
	})
	return out
}

// remnantsOf gives the remnants that may be large enough for a request.
func remnantsOf(r Request) (out []cloths.Remnant) {
	for _, s := range r.Remnants {
		out = append(out, cloths.Remnant{Material: s.Material, No: s.No, Width: s.Width, Length: s.Length})
	}
	return out
}
