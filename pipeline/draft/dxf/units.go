package dxf

import (
	"fmt"
	"math"
	"strings"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// unit is what one unit of the drawing is.
type unit struct {
	name string
	mm   float64
}

// insUnits are the values of $INSUNITS that a drawing of garments may have (DXF reference).
var insUnits = map[int]unit{
	1: {"in", 25.4}, 2: {"ft", 304.8}, 4: {"mm", 1}, 5: {"cm", 10}, 6: {"m", 1000}, 8: {"microinch", 25.4e-6},
	9: {"mil", 0.0254}, 10: {"yd", 914.4}, 13: {"micron", 1e-3}, 14: {"dm", 100},
	21: {"US survey foot", 1200.0 / 3937 * 1000}, 22: {"US survey inch", 100.0 / 3937 * 1000}, 23: {"US survey yard", 3600.0 / 3937 * 1000},
}

// unitWords are what texts and tickets call a unit. METRIC is mm and ENGLISH inches (common practice).
var unitWords = map[string]unit{
	"METRIC": {"METRIC", 1}, "ENGLISH": {"ENGLISH", 25.4}, "IMPERIAL": {"ENGLISH", 25.4},
	"MM": {"mm", 1}, "CM": {"cm", 10}, "IN": {"in", 25.4}, "INCH": {"in", 25.4}, "INCHES": {"in", 25.4},
	"MILLIMETERS": {"mm", 1}, "MILLIMETRES": {"mm", 1}, "CENTIMETERS": {"cm", 10}, "CENTIMETRES": {"cm", 10},
}

func (u unit) metric() bool { return u.mm == 1 || u.mm == 10 }

// units settles the unit: the UNITS text, else $INSUNITS, else the ticket's, else unknown, with what
// is to be said about it. The ticket answers only what the file leaves unsaid, as for every form of
// draft. Where nobody knows, one unit is read as 1 mm, so that there is something to
// show, and the draft is refused.
func (r *reader) units(ticket string) unit {
	add := func(rule, text, mend string) { r.findings = append(r.findings, pattern.NewFinding(rule, text, mend)) }
	text, hasText := unitWords[strings.ToUpper(r.facts["UNITS"])]
	ins, hasIns := insUnits[r.unit]
	asked, hasTicket := unitWords[strings.ToUpper(strings.TrimSpace(ticket))]
	if said := r.facts["UNITS"]; said != "" && !hasText {
		add(pattern.RuleUnitsDisagree, fmt.Sprintf("the text UNITS says %q, an unknown unit", assemble.Clip(said)), "write METRIC or ENGLISH")
	}
	if hasText && hasIns && text.mm != ins.mm {
		add(pattern.RuleUnitsDisagree, fmt.Sprintf("the text UNITS says %s, $INSUNITS says %s; the text is believed", text.name, ins.name),
			"compare one length with the draft, and set both alike")
	}
	said, hasSaid := text, hasText
	if !hasText {
		said, hasSaid = ins, hasIns
	}
	if hasTicket && said.name == "METRIC" && asked.metric() {
		return asked // METRIC leaves open which of the metric units it is
	}
	if hasTicket && hasSaid && said.mm != asked.mm {
		add(pattern.RuleUnitsDisagree, fmt.Sprintf("the ticket says %s, the draft says %s; the draft is believed", asked.name, said.name),
			"take the unit off the ticket if the draft is right; otherwise set the unit in the draft and save it again")
	}
	switch {
	case hasText:
		return text
	case hasIns:
		if r.interchange {
			add(pattern.RuleUnitsAssumed, fmt.Sprintf("the draft has no text UNITS; its header's $INSUNITS, %s, is used", ins.name), "compare one length with the draft")
		}
		return ins
	case hasTicket:
		return asked
	}
	add(pattern.RuleUnitsUnknown, "the draft does not say in which unit it is drawn: it has neither a text UNITS nor a usable $INSUNITS",
		"say on the ticket what one unit is (unit: mm, cm or in), or set $INSUNITS in the file")
	return unit{"", 1}
}

// tinyPiece is the size in mm under which the largest piece of a METRIC file is more likely drawn in
// centimetres.
const tinyPiece = 60

// sayTiny asks about METRIC files that look as if drawn in centimetres.
func (r *reader) sayTiny(u unit, pieces []pattern.Piece) {
	if u.name != "METRIC" || insUnits[r.unit].mm == 1 {
		return // the header says which of the metric units it is
	}
	var most float64
	for i := range pieces {
		if line := pieces[i].Outline(); line != nil {
			b := line.Bound()
			most = math.Max(most, math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]))
		}
	}
	if most == 0 || most >= tinyPiece {
		return
	}
	r.findings = append(r.findings, pattern.NewFinding(pattern.RuleSizeImplausible,
		fmt.Sprintf("the largest piece is only %s mm: this METRIC draft seems to be drawn in centimetres", pattern.Tenths(most)),
		"say on the ticket what one unit is (unit: cm, or unit: mm if the pieces are so small)"))
}
