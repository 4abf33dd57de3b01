package hpgl

import (
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// quiet are instructions that change no line of the drawing.
const quiet = " LA AD PP UF VS FS AS PW WU LT UL SM CA CS SA SS AC AP EC NR RP CT CF CP ES LM SB SD SL DV TL XT YT VA VN TD FI FN IM OA OC OD OE OF OG OH OI OK OL OO OP OS OT OW QL ST MT SV TR SR NP MC CR RF CO MG BP "

// leftOut are instructions that mark the paper and that this reader does not draw.
const leftOut = " RA RR WG FP FT UC WD BL PT EW "

// do executes one instruction and reports whether it belongs to the language.
func (m *machine) do(in instruction) bool {
	m.offset = in.offset
	if m.vector(in) || m.setting(in) || m.lettering(in) {
		return true
	}
	name := " " + in.name + " "
	switch {
	case strings.Contains(quiet, name):
		return true
	case strings.Contains(leftOut, name):
		m.event(in.offset, SeverityNote, "%s is left out: this reader draws no fills, wedges or device-made symbols", in.name)
		return true
	}
	m.fault("unknown instruction %s", in.name)
	return false
}

// vector executes the instructions that move the pen.
func (m *machine) vector(in instruction) bool {
	switch in.name {
	case "PU":
		m.lift()
		m.pairs(in)
	case "PD":
		m.lower()
		m.pairs(in)
	case "PA":
		m.relative = false
		m.pairs(in)
	case "PR":
		m.relative = true
		m.pairs(in)
	case "PE":
		m.encoded(in)
	case "AA", "AR":
		m.arcAbout(in)
	case "AT", "RT":
		m.arcThrough(in)
	case "BZ", "BR":
		m.bezier(in)
	case "CI":
		m.circle(in)
	case "EA", "ER":
		m.rectangle(in)
	case "PM":
		m.polygonMode(in)
	case "EP":
		m.edgePolygon()
	case "CT":
		m.ct = len(in.args) > 0 && in.args[0] == 1
	default:
		return false
	}
	return true
}

// setting executes the instructions for the page, the selected pen and the coordinate frame.
func (m *machine) setting(in instruction) bool {
	switch in.name {
	case "IN":
		m.initialise()
	case "DF":
		m.lift()
		m.relative, m.scaled, m.window, m.ct = false, false, nil, false
	case "SP":
		m.lift()
		m.pen = 0
		if len(in.args) > 0 {
			m.pen = int(in.args[0])
		}
		if m.pen < 0 || m.pen > 255 {
			m.fault("SP%d: there is no such pen", m.pen)
			m.pen = 0
		}
	case "PG":
		m.turnPage(len(in.args) > 0)
	case "AF", "AH", "FR":
		m.turnPage(true)
	case "PS":
		m.plotSize(in)
	case "IP":
		m.scalingPoints(in)
	case "IR":
		m.percentPoints(in)
	case "SC":
		m.scale(in)
	case "IW":
		m.setWindow(in)
	case "RO":
		m.rotate(in)
	default:
		return false
	}
	return true
}

// pairs moves through the pairs of an instruction, absolute or relative.
func (m *machine) pairs(in instruction) {
	for i := 0; i+1 < len(in.args); i += 2 {
		m.to(orb.Point{in.args[i], in.args[i+1]}, m.relative)
	}
	if len(in.args)%2 == 0 {
		return
	}
	if m.hpgl2 {
		m.event(m.offset, SeverityWarning, "%s with an odd count of numbers: the last is ignored", in.name)
		return
	}
	m.fault("%s with an odd count of numbers: the last is dropped", in.name)
}

// plotSize does PS: the length along the feed first; it must come before the first mark.
func (m *machine) plotSize(in instruction) {
	if len(in.args) == 0 {
		return
	}
	if m.marked || len(m.run) > 1 {
		m.fault("PS after the first mark of a page: devices ignore it or begin a new page")
		return
	}
	m.opt.PageLength = in.args[0] * m.opt.Unit
	if len(in.args) > 1 {
		m.opt.PageWidth = in.args[1] * m.opt.Unit
	}
	if m.opt.PageLength < m.opt.PageWidth {
		m.event(m.offset, SeverityWarning, "PS is shorter than wide: a device lays x along the longer side")
	}
	m.out.PageLength, m.out.PageWidth = m.opt.PageLength, m.opt.PageWidth
	m.frame = m.defaultFrame()
}

func (m *machine) rotate(in instruction) {
	quarter := 0.0
	if len(in.args) > 0 {
		quarter = in.args[0] / 90
	}
	if quarter != math.Trunc(quarter) || quarter < 0 || quarter > 3 {
		m.fault("RO takes 0, 90, 180 or 270")
		return
	}
	m.quarter = int(quarter)
}

// lettering executes the instructions for labels and their attributes.
func (m *machine) lettering(in instruction) bool {
	a := in.args
	switch in.name {
	case "LB":
		m.label(in)
	case "SI":
		m.text.width, m.text.height = 1.9, 2.7
		if len(a) == 2 {
			m.text.width, m.text.height = a[0]*10, a[1]*10
		} else if len(a) != 0 {
			m.count(in)
		}
	case "SR":
		w, h := 0.75, 1.5
		if len(a) == 2 {
			w, h = a[0], a[1]
		}
		m.text.width = (m.p2[0] - m.p1[0]) * w / 100 * m.opt.Unit
		m.text.height = (m.p2[1] - m.p1[1]) * h / 100 * m.opt.Unit
	case "DI", "DR":
		m.text.run, m.text.rise = 1, 0
		if len(a) == 2 && (a[0] != 0 || a[1] != 0) {
			m.text.run, m.text.rise = a[0], a[1]
		}
	case "LO":
		m.text.origin = 1
		if len(a) > 0 {
			m.text.origin = int(a[0])
		}
	case "DT":
		if len(in.raw) == 1 && (in.raw[0] == 0 || in.raw[0] == 5 || in.raw[0] == 27) {
			m.fault("DT with the byte %d, which may not end labels", in.raw[0])
		} else {
			m.event(m.offset, SeverityNote, "DT changes what ends a label")
		}
	default:
		return false
	}
	return true
}

// label records text. This reader does not know the pen's place afterwards.
func (m *machine) label(in instruction) {
	if !in.ended {
		m.fault("a label that nothing ends: the rest of the plot is lettered")
	}
	bad := 0
	for _, c := range in.raw {
		if c < 32 || c > 126 {
			bad++
		}
	}
	if bad > 0 {
		m.fault("a label with %d bytes that do not print: a device obeys some of them", bad)
	}
	m.endRunKeepingPen()
	m.marked = true
	m.out.Pages = max(m.out.Pages, m.page+1)
	m.out.Labels = append(m.out.Labels, Label{
		At: m.mm(orb.Point{m.x, m.y}), Text: string(in.raw), Width: m.text.width, Height: m.text.height,
		AngleDeg: math.Atan2(m.text.rise, m.text.run) * 180 / math.Pi,
		Pen:      m.pen, Page: m.page, Offset: in.offset, Origin: m.text.origin,
	})
}
