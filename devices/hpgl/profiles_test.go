package hpgl

import "tracewheel/devices"

// rollPlotter is a wide-format roll plotter: HP-GL/2 with encoded polylines on paper 914 mm wide; it is sent the
// length of each plot.
func rollPlotter() devices.Profile {
	p := devices.Default(devices.PenPlotter, devices.HPGL2)
	p.Width, p.Plot.SendSpeed = 914, true
	return p
}

// sheetPlotter is a small plotter: plain HP-GL with 16-bit coordinates on single sheets
// of 594 by 420 mm.
func sheetPlotter() devices.Profile {
	p := devices.Default(devices.PenPlotter, devices.HPGL)
	p.Width, p.Length = 420, 594
	p.Plot.Long, p.Plot.FrameLength, p.Plot.FrameOverlap = LongSheets, 594, 20
	p.Plot.SendSpeed = true
	return p
}

func profiles() map[string]devices.Profile {
	roll, seven, desk, centre, fine := rollPlotter(), rollPlotter(), sheetPlotter(), sheetPlotter(), rollPlotter()
	seven.Plot.SevenBit = true
	seven.Plot.Escapes = true
	seven.Correction = devices.Correction{ScaleX: 1.0037, ScaleY: 0.9981, Skew: 0.0012}
	desk.Width = 700
	centre.Plot.CentreOrigin = true
	centre.Length, centre.Width, centre.Plot.FrameLength = 1200, 899.99, 1200.01
	fine.Plot.Unit = 0.02488
	fine.Plot.CentreOrigin = true
	return map[string]devices.Profile{"roll": roll, "seven bits, corrected": seven, "desk": desk, "centred": centre, "odd unit": fine}
}
