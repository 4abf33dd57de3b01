package knife

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Feature is a part of a line that is smaller than the blade can turn in.
type Feature struct {
	At  orb.Point
	Why string
	// Stabbed is true where it is made by a row of plunges, because the blade cannot go round it.
	Stabbed bool
}

// StrokeError is the fault of a stroke that cannot be made. Fine is set where it is too small for the blade.
type StrokeError struct {
	Stroke int
	Name   string // of the piece
	Fine   *Feature
	Err    error
}

// Error names the piece, because the number of a stroke means nothing to a person.
func (e *StrokeError) Error() string { return fmt.Sprintf("piece %q: %v", e.Name, e.Err) }

// Unwrap gives what is wrong with the stroke.
func (e *StrokeError) Unwrap() error { return e.Err }

const (
	// smallest is how many blade offsets a closed line must measure across to be cut by going
	// round it; one that is smaller is stabbed.
	smallest = 4
	// sharp is the turn, radians, from which a corner makes the blade stand across its last cut.
	sharp = math.Pi / 4
)

// TooFine finds the parts of a path that the profile's blade cannot cut well: closed lines less than four blade offsets
// across, curves tighter than the offset, and stretches shorter than the offset between two sharp corners. The compensated
// path is exact for these too, but the blade mostly turns in one place there, which frays or tears cloth. Only a drag
// knife has them.
func TooFine(path geom.Path, p devices.Profile) []Feature {
	d := p.Blade.Offset
	if p.Kind != devices.DragKnife || d <= 0 {
		return nil
	}
	if tooSmall(path, d) {
		return []Feature{{At: path.Bound().Center(), Stabbed: true, Why: fmt.Sprintf(
			"a shape of %v mm across is less than the %v mm that the blade needs to go round", geom.Rounded(across(path), 1), geom.Rounded(smallest*d, 1))}}
	}
	o := newOutline(tidy(path), blend{})
	var out []Feature
	out = append(out, tightCurves(o, d)...)
	return append(out, shortStretches(o, d)...)
}

func across(p geom.Path) float64 {
	b := p.Bound()
	return math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
}

// tooSmall tells whether a closed line is stabbed rather than cut round.
func tooSmall(p geom.Path, d float64) bool {
	return p.Closed && len(p.Points) > 1 && across(p) < smallest*d
}

// tightCurves finds runs of arcs tighter than the offset that turn by as much as a sharp corner.
func tightCurves(o outline, d float64) []Feature {
	var out []Feature
	turn, tightest, at := 0.0, math.Inf(1), orb.Point{}
	flush := func() {
		if math.Abs(turn) >= sharp {
			out = append(out, Feature{At: at, Why: fmt.Sprintf(
				"a curve of radius %v mm is tighter than the blade's offset of %v mm", geom.Rounded(tightest, 2), d)})
		}
		turn, tightest = 0, math.Inf(1)
	}
	for _, e := range o.elems {
		if !e.arc || e.r >= d {
			flush()
			continue
		}
		turn += e.sweep
		if e.r < tightest {
			tightest, at = e.r, e.head(e.length()/2).b
		}
	}
	flush()
	return out
}

// shortStretches finds straight stretches shorter than the offset with a sharp corner at each end.
func shortStretches(o outline, d float64) []Feature {
	var out []Feature
	n := len(o.elems)
	for i, e := range o.elems {
		if e.arc || e.length() >= d || (!o.closed && (i == 0 || i == n-1)) {
			continue
		}
		in := turnBetween(o.to[(i+n-1)%n], o.from[i])
		off := turnBetween(o.to[i], o.from[(i+1)%n])
		if math.Abs(in) >= sharp && math.Abs(off) >= sharp {
			out = append(out, Feature{At: geom.Lerp(e.a, e.b, 0.5), Why: fmt.Sprintf(
				"a stretch of %v mm between two corners is shorter than the blade's offset of %v mm", geom.Rounded(e.length(), 2), d)})
		}
	}
	return out
}
