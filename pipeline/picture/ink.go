package picture

import (
	"image/color"

	"tracewheel/pipeline/pattern"
)

// The colours are those of a work table: cloth, thread, chalk. What a line is for is told by its
// form as well (whole, dashed, dotted), so that a print in grey says the same.
var (
	ground   = color.RGBA{0xfc, 0xfa, 0xf4, 0xff}
	bed      = color.RGBA{0xf1, 0xec, 0xdf, 0xff}
	bodyFill = color.RGBA{0xff, 0xff, 0xff, 0xff}
	dark     = color.RGBA{0x22, 0x2b, 0x3c, 0xff}
	thread   = color.RGBA{0x9a, 0x62, 0x1c, 0xff}
	chalk    = color.RGBA{0x2f, 0x7d, 0x78, 0xff}
	plum     = color.RGBA{0x7a, 0x4e, 0x9c, 0xff}
	pale     = color.RGBA{0xae, 0xa8, 0x99, 0xff}
	alarm    = color.RGBA{0xc4, 0x1e, 0x3a, 0xff}
	amber    = color.RGBA{0xc2, 0x76, 0x0a, 0xff}
	slate    = color.RGBA{0x5b, 0x6b, 0x86, 0xff}
)

// inkOf is how a line of a role is drawn.
func inkOf(r pattern.Role) Ink {
	switch r {
	case pattern.RoleCut:
		return Ink{Colour: dark, Width: 2}
	case pattern.RoleCutout:
		return Ink{Colour: dark, Width: 1.6}
	case pattern.RoleSew:
		return Ink{Colour: thread, Width: 1.4, Dash: []float64{9, 4}}
	case pattern.RoleNotch:
		return Ink{Colour: dark, Width: 1.8}
	case pattern.RoleGrain:
		return Ink{Colour: chalk, Width: 1.4}
	case pattern.RoleFold:
		return Ink{Colour: plum, Width: 1.6, Dash: []float64{14, 4, 3, 4}}
	case pattern.RoleDrill:
		return Ink{Colour: plum, Width: 1.4}
	case pattern.RoleText, pattern.RoleCheck:
		return Ink{Colour: slate, Width: 1}
	case pattern.RoleQuality:
		return Ink{Colour: pale, Width: 0.8, Dash: []float64{2, 3}}
	default:
		return Ink{Colour: slate, Width: 1.1, Dash: []float64{4, 3}}
	}
}

func severityColour(s pattern.Severity) color.RGBA {
	switch s {
	case pattern.Error:
		return alarm
	case pattern.Warning:
		return amber
	default:
		return slate
	}
}

// roleWords explain the inks in a legend, in this order.
var roleWords = []struct {
	role  pattern.Role
	words string
}{
	{pattern.RoleCut, "cut line"},
	{pattern.RoleSew, "sew line"},
	{pattern.RoleNotch, "notch"},
	{pattern.RoleCutout, "cut-out"},
	{pattern.RoleFold, "fold"},
	{pattern.RoleGrain, "grain"},
	{pattern.RoleDrill, "drill mark"},
	{pattern.RoleMark, "mark"},
	{pattern.RoleText, "letters"},
	{pattern.RoleCheck, "test square"},
}
