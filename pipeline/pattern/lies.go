package pattern

import (
	"tracewheel/config"
	"tracewheel/devices"
)

// MaterialOn is what really lies on the device: no wider and no longer than it reaches.
func MaterialOn(name string, p devices.Profile, m config.Material) Material {
	out := Material{Name: name, Width: m.Width, Length: m.Length, Margin: m.Margin, Gap: m.Gap,
		Cloth: m.Cloth, OneWay: m.OneWay, FaceDown: m.Face == "wrong"}
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
