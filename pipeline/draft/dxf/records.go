package dxf

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// styleKeys are the texts that speak of the whole style (UNITS: public transcriptions of ASTM
// D6673; the others: common practice).
var styleKeys = map[string]bool{
	"UNITS": true, "STYLE NAME": true, "SAMPLE SIZE": true, "GRADE RULE TABLE": true, "GRADING RULE TABLE": true,
	"AUTHOR": true, "CREATION DATE": true, "CREATION TIME": true, "STANDARD": true, "VERSION": true,
}

// keyValue splits a text such as "Piece Name : FRONT".
func keyValue(s string) (key, value string, ok bool) {
	k, v, found := strings.Cut(s, ":")
	if !found {
		return "", "", false
	}
	return strings.ToUpper(strings.Join(strings.Fields(k), " ")), strings.TrimSpace(v), true
}

// wordsOf are the cleaned words of a text entity.
func (r *reader) wordsOf(e entity) string {
	s := r.words(r.tags[e.from:e.to])
	if e.kind == "MTEXT" {
		return cleanMText(s)
	}
	return cleanText(s)
}

func isText(kind string) bool { return kind == "TEXT" || kind == "MTEXT" || kind == "ATTRIB" }

// readFacts looks through all texts for what they say of the style, and tells the form of the file:
// an interchange file has a block with the name of a piece or with a line on layer 1.
func (r *reader) readFacts() {
	r.factsOf(r.main, nil)
	for _, b := range r.order {
		if !b.layout() {
			r.factsOf(b.list, b)
			r.interchange = r.interchange || r.isPiece(b)
		}
	}
}

func (r *reader) factsOf(list []entity, b *block) {
	for _, e := range list {
		if !isText(e.kind) {
			continue
		}
		for line := range strings.Lines(r.wordsOf(e)) {
			key, value, ok := keyValue(line)
			switch {
			case !ok:
			case styleKeys[key]:
				r.facts[key] = cmp.Or(r.facts[key], value)
			case key == "PIECE NAME" && b != nil:
				r.pieceNames[b] = true
			}
		}
	}
}

// isPiece tells whether a block is drawn as a piece of an interchange file.
func (r *reader) isPiece(b *block) bool {
	if b.layout() {
		return false
	}
	if is, known := r.pieceNames[b]; known {
		return is
	}
	is := false
	for i := 0; i < len(b.list) && !is; i = int(b.list[i].next) {
		e := b.list[i]
		is = (e.kind == "POLYLINE" || e.kind == "LWPOLYLINE") && r.onLayer(e, "1")
	}
	r.pieceNames[b] = is
	return is
}

// textEntity reads a text: a record of the style or of the piece, a grade point, or words to be drawn.
func (r *reader) textEntity(e entity, l *layerInfo, c *context) {
	words := r.wordsOf(e)
	if words == "" {
		return
	}
	if rest, isGrade := strings.CutPrefix(words, "#"); isGrade && (r.interchange || l.number >= 0) && strings.Trim(rest, " 0123456789") == "" {
		r.leave("grade point", "the size that is drawn is used as it is", "no action needed", e, words)
		return
	}
	var drawn []string
	for line := range strings.Lines(words) {
		line = strings.TrimSpace(line)
		key, value, ok := keyValue(line)
		switch {
		case ok && styleKeys[key]:
			continue
		case ok && c.group != nil:
			if r.record(c.group, key, value, l) {
				continue
			}
		}
		drawn = append(drawn, line)
	}
	if len(drawn) == 0 {
		return
	}
	if r.interchange && l.number == layerBoundary {
		r.leave("text on layer 1", "it is no record that is known", "put words that are to be drawn on layer 15", e, strings.Join(drawn, " "))
		return
	}
	r.drawText(strings.Join(drawn, "\n"), e, l, c)
}

// record keeps what a text says of its piece; it tells whether that is all the text is for.
func (r *reader) record(g *group, key, value string, l *layerInfo) bool {
	switch key {
	case "PIECE NAME", "SIZE", "QUANTITY", "MATERIAL", "CATEGORY", "ANNOTATION":
		g.facts[key] = cmp.Or(g.facts[key], value)
		return l.number != layerAnnotation // annotation is meant to be seen
	}
	return false
}

func (r *reader) drawText(words string, e entity, l *layerInfo, c *context) {
	v := r.values(e)
	m := c.m
	if e.kind != "MTEXT" {
		ocs, ok := v.ocs()
		if !ok {
			r.leave(e.kind+" that is not flat", "it does not lie in the plane of the drawing", "draw it flat", e, "")
			return
		}
		m = m.After(ocs)
	}
	at := v.point(10)
	if e.kind != "MTEXT" && (v.num(72, 0) != 0 || v.num(73, 0) != 0) && v.has(11) {
		at = v.point(11)
	}
	dir := geom.Rotate(radians(v.num(50, 0))).Apply(orb.Point{1, 0})
	if e.kind == "MTEXT" && v.has(11) {
		dir = v.point(11)
	}
	height := v.num(40, 0)
	if v.failed() {
		return
	}
	up := m.Vector(geom.Mul(geom.Left(geom.Unit(dir)), height))
	r.emit(assemble.Item{Path: geom.Path{Points: []orb.Point{m.Apply(at)}}, Text: words, Height: geom.Norm(up),
		AngleDeg: assemble.Degrees(m.Vector(dir))}, e, l, c)
	if n := len(r.out.Items); n > 0 && r.fatal == nil && l.role != pattern.RoleIgnore {
		r.out.Items[n-1].Role = pattern.RoleText
	}
}

// settleGroups tells assemble what the texts say of each piece.
func (r *reader) settleGroups() {
	for _, g := range r.groups {
		out := assemble.Group{
			Key: g.key, Name: cmp.Or(g.facts["PIECE NAME"], g.block.name), Named: true,
			Size:     cmp.Or(g.facts["SIZE"], r.facts["SAMPLE SIZE"]),
			Material: g.facts["MATERIAL"],
			Note:     cmp.Or(g.facts["ANNOTATION"], g.facts["CATEGORY"]),
		}
		if q := g.facts["QUANTITY"]; q != "" {
			out.Quantity, out.Pair, out.Alike = assemble.Quantity(q)
		}
		r.out.Groups = append(r.out.Groups, out)
	}
}

// newGroup starts a piece for a block at a place; nil where the same block lies there already.
func (r *reader) newGroup(b *block, m geom.Affine, e entity) *group {
	key := fmt.Sprintf("%s\x00%.6g", layerKey(b.name), m)
	if r.seen[key] {
		f := r.tell(pattern.RuleOutlineDoubled, e, "take one of the two inserts out; to cut two, state the quantity",
			"the block %q is inserted twice at the same place; it is used once", assemble.Clip(b.name))
		f.Severity = pattern.Warning
		return nil
	}
	r.seen[key] = true
	g := &group{key: fmt.Sprintf("%d %s", len(r.groups), b.name), block: b, facts: map[string]string{}}
	r.groups = append(r.groups, g)
	return g
}
