package svg

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// pxPerInch is CSS's: an inch is 2.54 cm and 96 px.
const pxPerInch = 96.0

// unitMM is what one of a unit is in mm; "" is a bare number, which is px.
func unitMM(unit string) (mm float64, ok bool) {
	switch strings.ToLower(unit) {
	case "", "px":
		return 25.4 / pxPerInch, true
	case "mm":
		return 1, true
	case "cm":
		return 10, true
	case "in":
		return 25.4, true
	case "pt":
		return 25.4 / 72, true
	case "pc":
		return 25.4 / 6, true
	case "q":
		return 0.25, true
	}
	return 0, false
}

// measure is a number with a unit.
type measure struct {
	value float64
	unit  string
}

// parseMeasure splits "12.5mm"; ok is false where that is no number followed by letters or %.
func parseMeasure(text string) (m measure, ok bool) {
	s := scanner{s: strings.TrimSpace(text)}
	m.value, ok = s.number()
	if !ok {
		return m, false
	}
	m.unit = s.s[s.i:]
	for i := range len(m.unit) {
		if c := m.unit[i] | 0x20; (c < 'a' || c > 'z') && m.unit != "%" {
			return m, false
		}
	}
	return m, true
}

// page is the outermost viewport.
type page struct {
	to     geom.Affine // from the root's user units to mm, y up
	vw, vh float64     // of the viewport in user units, for percentages
	unit   string
	height float64 // mm
}

// side is one of width and height of the root.
type side struct {
	mm    float64
	unit  string
	known bool
	bare  bool // a plain number or px
}

// page works out the size of a user unit, with what is to be said about it.
func (r *reader) page(root *node, ticket string) page {
	styled := r.look(root)
	w, h := r.side(root, "width", styled.width), r.side(root, "height", styled.height)
	box, hasBox := r.viewBox(root)
	ticketMM, hasTicket := unitMM(ticket)
	hasTicket = hasTicket && ticket != ""
	safe := hasBox && (w.known || h.known) && (!w.known || !w.bare) && (!h.known || !h.bare)
	if hasBox {
		if w.known && !h.known {
			h = side{mm: w.mm * box[3] / box[2], unit: w.unit, known: true, bare: w.bare}
		} else if h.known && !w.known {
			w = side{mm: h.mm * box[2] / box[3], unit: h.unit, known: true, bare: h.bare}
		}
	}
	switch {
	case hasTicket && !safe:
		return r.ticketPage(w, h, box, hasBox, ticket, ticketMM)
	case !w.known || !h.known:
		r.unitsUnknown(root, hasBox)
		return r.ticketPage(w, h, box, hasBox, "", 25.4/pxPerInch)
	}
	r.sayAssumed(root, w, h, hasBox)
	p := page{unit: w.unit, height: h.mm}
	p.unit = cmp.Or(p.unit, "px")
	if !hasBox {
		px := 25.4 / pxPerInch
		p.to = geom.Affine{A: px, D: -px, F: h.mm}
		p.vw, p.vh = w.mm/px, h.mm/px
		return p
	}
	view := fit(box, w.mm, h.mm, root.attr("preserveAspectRatio"))
	r.sayShapes(root, view, hasTicket, ticket, ticketMM)
	p.to = geom.Affine{A: 1, D: -1, F: h.mm}.After(view)
	p.vw, p.vh = box[2], box[3]
	return p
}

// ticketPage has user units of a size that somebody said, or that is assumed to go on at all.
func (r *reader) ticketPage(w, h side, box [4]float64, hasBox bool, unit string, mm float64) page {
	p := page{unit: unit}
	if hasBox {
		p.to = geom.Affine{A: mm, D: -mm, E: -box[0] * mm, F: (box[1] + box[3]) * mm}
		p.vw, p.vh, p.height = box[2], box[3], box[3]*mm
		return p
	}
	px := 25.4 / pxPerInch
	p.vw, p.vh = w.mm/px, h.mm/px
	p.to = geom.Affine{A: mm, D: -mm, F: p.vh * mm}
	p.height = p.vh * mm
	return p
}

// side reads width or height of the root; what its style states goes before the attribute.
func (r *reader) side(root *node, name, styled string) side {
	if strings.HasSuffix(styled, "%") {
		styled = "" // of a window that nobody knows
	}
	text := cmp.Or(styled, root.attr(name))
	if text == "" || text == "auto" || text == "100%" {
		return side{}
	}
	m, ok := parseMeasure(text)
	if !ok || m.value <= 0 {
		r.fault(root, "write it as a number with a unit, such as \"210mm\"", "%s=%q is no size", name, assemble.Clip(text))
		return side{}
	}
	mm, ok := unitMM(m.unit)
	if !ok {
		return side{} // em, ex, vw, %: no size
	}
	if m.value*mm > 2*maxCoord {
		r.fault(root, "state the size that the drawing has", "%s=%q is larger than a kilometre", name, assemble.Clip(text))
		return side{}
	}
	return side{mm: m.value * mm, unit: strings.ToLower(m.unit), known: true, bare: m.unit == "" || strings.EqualFold(m.unit, "px")}
}

// viewBox reads the attribute; a faulty one is told and counts as none.
func (r *reader) viewBox(n *node) (box [4]float64, ok bool) {
	text, has := n.lookup("viewBox")
	if !has {
		return box, false
	}
	list, sound := numbers(text)
	if !sound || len(list) != 4 || list[2] <= 0 || list[3] <= 0 {
		r.fault(n, "write four numbers: left, top, width, height", "viewBox=%q is none", assemble.Clip(text))
		return box, false
	}
	copy(box[:], list)
	return box, true
}

func (r *reader) unitsUnknown(root *node, hasBox bool) {
	why := "the draft states no width and height, so its size is unknown"
	if hasBox {
		why = "the draft has a viewBox but states no width and height in real units, so its size is unknown"
	}
	for _, name := range []string{"width", "height"} {
		if v := root.attr(name); v != "" {
			why = fmt.Sprintf("the draft's %s=%q is no size in real units, so its size is unknown", name, assemble.Clip(v))
			break
		}
	}
	f := pattern.NewFinding(pattern.RuleUnitsUnknown, why, "state width and height in mm or in, or say the drawing's unit on the ticket")
	f.Line, f.Column = root.line, root.column
	r.findings = append(r.findings, f)
}

// sayAssumed tells where the letter of the standard was followed but another size may be meant.
func (r *reader) sayAssumed(root *node, w, h side, hasBox bool) {
	var f pattern.Finding
	switch {
	case hasBox && !w.bare && !h.bare:
		return
	case hasBox:
		f = pattern.NewFinding(pattern.RuleUnitsAssumed,
			fmt.Sprintf("width and height are in px, taken at 96 to the inch: the page is %s by %s mm", pattern.Tenths(w.mm), pattern.Tenths(h.mm)),
			"compare one length with the draft; state width and height in mm or in, or the unit on the ticket")
	case w.bare || h.bare:
		f = pattern.NewFinding(pattern.RuleUnitsAssumed,
			"the draft is in plain numbers, taken as px, 96 to the inch: one unit of the drawing is 0.265 mm",
			"if one unit is meant to be 1 mm, say so on the ticket, or state width, height and viewBox")
		f.Severity = pattern.Warning
	default:
		f = pattern.NewFinding(pattern.RuleUnitsAssumed,
			"the draft states the size of its page but has no viewBox: one unit of the drawing is taken as 1/96 inch, 0.265 mm",
			"compare one length with the draft; state a viewBox, or the unit on the ticket")
	}
	if dpi, paper := otherDPI(w, h); dpi > 0 {
		f.Severity = pattern.Warning
		f.Message += fmt.Sprintf("; at %.0f px to the inch the page would be %s, and every piece %.2f %% larger", dpi, paper, 100*(pxPerInch/dpi-1))
	}
	f.Line, f.Column = root.line, root.column
	r.findings = append(r.findings, f)
}

// papers are page formats in mm: ISO 216 and the usual North American ones (common practice).
var papers = []struct {
	name string
	w, h float64
}{
	{"A0", 841, 1189}, {"A1", 594, 841}, {"A2", 420, 594}, {"A3", 297, 420}, {"A4", 210, 297}, {"A5", 148, 210},
	{"US letter", 215.9, 279.4}, {"US legal", 215.9, 355.6}, {"US tabloid", 279.4, 431.8},
}

// otherDPI finds a page that is a paper format at 90 or 72 px to the inch, but none at 96.
func otherDPI(w, h side) (dpi float64, paper string) {
	if !w.bare || !h.bare || paperOf(w.mm, h.mm) != "" {
		return 0, ""
	}
	for _, dpi := range []float64{90, 72} {
		if p := paperOf(w.mm*pxPerInch/dpi, h.mm*pxPerInch/dpi); p != "" {
			return dpi, p
		}
	}
	return 0, ""
}

func paperOf(w, h float64) string {
	const tol = 0.6 // a page is often rounded to whole px
	for _, p := range papers {
		if math.Abs(w-p.w) <= tol && math.Abs(h-p.h) <= tol || math.Abs(w-p.h) <= tol && math.Abs(h-p.w) <= tol {
			return p.name
		}
	}
	return ""
}

// sayShapes tells where width and height do not agree with the viewBox, and where the ticket does
// not agree with the file.
func (r *reader) sayShapes(root *node, view geom.Affine, hasTicket bool, ticket string, ticketMM float64) {
	add := func(text, mend string) {
		f := pattern.NewFinding(pattern.RuleUnitsDisagree, text, mend)
		f.Line, f.Column = root.line, root.column
		r.findings = append(r.findings, f)
	}
	if d := math.Abs(view.A/view.D - 1); d > 1e-3 {
		add(fmt.Sprintf("width and height stretch the drawing: one unit is %.4f mm wide and %.4f mm high", view.A, view.D),
			"give width, height and viewBox the same shape")
	}
	if hasTicket && math.Abs(view.A/ticketMM-1) > 1e-3 {
		add(fmt.Sprintf("the ticket says that one unit is 1 %s, but the draft states its size: one unit is %.4f mm; the draft is believed", ticket, view.A),
			"take the unit off the ticket, or out of the draft")
	}
}

// fit is the map from a viewBox to a viewport of w by h whose corner is the origin: the attribute
// preserveAspectRatio, default "xMidYMid meet".
func fit(box [4]float64, w, h float64, ratio string) geom.Affine {
	sx, sy := w/box[2], h/box[3]
	align, slice := "xMidYMid", false
	for _, word := range strings.Fields(ratio) {
		switch word {
		case "slice":
			slice = true
		case "meet", "defer":
		default:
			align = word
		}
	}
	if align == "none" {
		return geom.Affine{A: sx, D: sy, E: -box[0] * sx, F: -box[1] * sy}
	}
	s := math.Min(sx, sy)
	if slice {
		s = math.Max(sx, sy)
	}
	share := func(key string) float64 {
		switch {
		case strings.Contains(align, key+"Min"):
			return 0
		case strings.Contains(align, key+"Max"):
			return 1
		}
		return 0.5
	}
	return geom.Affine{
		A: s, D: s,
		E: -box[0]*s + share("x")*(w-box[2]*s),
		F: -box[1]*s + share("Y")*(h-box[3]*s),
	}
}
