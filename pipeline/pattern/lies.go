package pattern

import (
	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
)

// MaterialOn is what really lies on the device: no wider and no longer than it reaches, and never folded.
func MaterialOn(name string, p devices.Profile, m config.Material) Material {
	out := Material{Name: name, Width: m.Width, Length: m.Length, Margin: m.Margin, Gap: m.Gap,
		Selvedge: m.Selvedge,
		Cloth:    m.Cloth, Nap: Nap(m.Nap), FaceDown: m.Face == "wrong", Fold: FoldNone, QuarterTurns: m.QuarterTurns, Tilt: m.Tilt}
	for _, zone := range m.Avoid {
		var ring []orb.Point
		for _, p := range zone {
			ring = append(ring, orb.Point(p))
		}
		out.Avoid = append(out.Avoid, ring)
	}
	if p.Width > 0 && p.Width < out.Width {
		out.Width = p.Width
	}
	switch {
	case p.Plot.Long == "sheets" || p.Plot.Long == "frames":
		out.Length = 0 // the encoder divides a long lay; a sheet bounds only the width
	case p.Length > 0 && (out.Length == 0 || p.Length < out.Length):
		out.Length = p.Length
	}
	return out
}
