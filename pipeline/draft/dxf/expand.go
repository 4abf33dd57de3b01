package dxf

import (
	"fmt"
	"math"
	"slices"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// measure counts without expanding, and refuses inserts that go in circles, too deep, or into too
// many cells. Counts stop growing just above the limit.
func (r *reader) measure(list []entity, stack []*block) size {
	var total size
	for i := 0; i < len(list) && r.fatal == nil; i = int(list[i].next) {
		e := list[i]
		total.entities++
		if e.kind != "INSERT" {
			continue
		}
		b := r.blockOf(e)
		if b == nil {
			continue
		}
		if slices.Contains(stack, b) {
			r.stop(r.errorAt(assemble.Malformed, e.at, "the block %q is inserted in itself", assemble.Clip(b.name)))
			return total
		}
		inner, known := r.sizes[b]
		if !known {
			if len(stack) >= r.limits.Depth {
				r.stop(r.errorAt(assemble.TooLarge, e.at, "inserts lie more than %d deep in each other", r.limits.Depth))
				return total
			}
			inner = r.measure(b.list, append(stack, b))
			r.sizes[b] = inner
		}
		cols, rows := r.cells(e)
		total.entities = min(total.entities+cols*rows*(inner.entities+1), r.limits.Entities+1)
		total.depth = max(total.depth, inner.depth+1)
		if len(stack)+total.depth > r.limits.Depth {
			r.stop(r.errorAt(assemble.TooLarge, e.at, "inserts lie more than %d deep in each other", r.limits.Depth))
		}
	}
	return total
}

// cells are the columns and rows of an insert.
func (r *reader) cells(e entity) (cols, rows int) {
	v := r.values(e)
	cols, rows = max(v.whole(70, 1), 1), max(v.whole(71, 1), 1)
	if cols > r.limits.Cells || rows > r.limits.Cells || cols*rows > r.limits.Cells {
		r.stop(r.errorAt(assemble.TooLarge, e.at, "an insert has %d by %d cells; more than %d are not read", cols, rows, r.limits.Cells))
		return 1, 1
	}
	return cols, rows
}

// blockOf finds the block of an insert.
func (r *reader) blockOf(e entity) *block {
	return r.blocks[layerKey(r.blockName(e))]
}

func (r *reader) blockName(e entity) string {
	for _, t := range r.tags[e.from:e.to] {
		if t.code == 2 {
			return r.text(r.raw(t))
		}
	}
	return ""
}

// walk draws a list of entities.
func (r *reader) walk(list []entity, c *context) {
	for i := 0; i < len(list) && r.fatal == nil; {
		e := list[i]
		next := int(e.next)
		if r.work += int(e.to-e.from) + 8*(next-i); r.work > workShare*r.limits.Tags {
			r.stop(r.errorAt(assemble.TooLarge, e.at, "the drawing repeats its blocks too often to be read"))
			return
		}
		if r.shown(e) {
			if l := r.layerIn(e, c); r.onShownLayer(e, l) {
				r.draw(e, list[i+1:next], l, c)
			}
		}
		i = next
	}
}

// shown tells whether an entity is drawn at all.
func (r *reader) shown(e entity) bool {
	for _, t := range r.tags[e.from:e.to] {
		if t.code != 67 && t.code != 60 {
			continue
		}
		if v, ok := r.number(t); !ok || v == 0 {
			continue
		}
		if t.code == 67 {
			r.leave("entity in paper space", "it belongs to a page to print, not to the drawing", "no action needed", e, e.kind)
		} else {
			r.leave("invisible entity", "it is not shown", "show it, if it belongs to a piece", e, e.kind)
		}
		return false
	}
	return true
}

// onShownLayer tells whether the layer is shown. Switching off the layer of an insert hides only
// what takes that layer; freezing it hides all.
func (r *reader) onShownLayer(e entity, l *layerInfo) bool {
	switch {
	case l.frozen:
		r.leaveOf(l.role, "entity on a frozen layer", "it is not shown", "thaw the layer, if it belongs to a piece", e, l.name)
	case l.off && e.kind != "INSERT":
		r.leaveOf(l.role, "entity on a layer that is off", "it is not shown", "switch the layer on, if it belongs to a piece", e, l.name)
	default:
		return true
	}
	return false
}

// insert draws a block, once for each cell.
func (r *reader) insert(e entity, l *layerInfo, c *context) {
	b := r.blockOf(e)
	if b == nil {
		r.tellMissing(e)
		return
	}
	b.inserted = true
	v := r.values(e)
	ocs, flat := v.ocs()
	cols, rows := r.cells(e)
	sx, sy := v.num(41, 1), v.num(42, 1)
	dx, dy := v.num(44, 0), v.num(45, 0)
	turn := geom.Rotate(radians(v.num(50, 0)))
	at := v.point(10)
	base := r.base(b)
	if v.failed() {
		return
	}
	if !flat {
		r.tell(pattern.RuleUnreadable, e, "draw the block flat, in the plane of the drawing", "the block %q is inserted aslant", assemble.Clip(b.name))
		return
	}
	if sx == 0 || sy == 0 || math.Abs(sx*sy) < 1e-12 {
		r.tell(pattern.RuleUnreadable, e, "give the insert a scale", "the block %q is inserted at scale 0", assemble.Clip(b.name))
		return
	}
	if r.clips.hides(e.at) {
		r.leave("clipped insert", "the clip is not followed: the whole block is used", "cut the lines of the block themselves", e, b.name)
	}
	place := c.m.After(ocs).After(geom.Translate(at[0], at[1])).After(turn)
	// The spacing of cells is turned with the insert but not scaled with it.
	for row := range rows {
		for col := range cols {
			cell := place.After(geom.Translate(float64(col)*dx, float64(row)*dy)).
				After(geom.Scale(sx, sy)).After(geom.Translate(-base[0], -base[1]))
			r.inside(b, cell, e, l, c)
		}
	}
}

// inside draws what a block holds.
func (r *reader) inside(b *block, m geom.Affine, e entity, l *layerInfo, c *context) {
	if r.fatal != nil {
		return
	}
	in := &context{m: m, layer: l, group: c.group}
	if r.interchange && in.group == nil && r.isPiece(b) {
		if in.group = r.newGroup(b, m, e); in.group == nil {
			return
		}
	}
	in.corners = r.cornersIn(b)
	r.walk(b.list, in)
}

func (r *reader) base(b *block) [2]float64 {
	v := r.values(b.head)
	v.e.kind = "BLOCK"
	return [2]float64{v.num(10, 0), v.num(20, 0)}
}

func (r *reader) tellMissing(e entity) {
	name := r.blockName(e)
	if r.once("missing " + layerKey(name)) {
		r.tell(pattern.RuleUnreadable, e, "save the draft once more with all its blocks, or take the insert out",
			"the block %q is inserted but is not in the file", assemble.Clip(name))
	}
}

// neverInserted tells of blocks that nothing refers to.
func (r *reader) neverInserted() {
	for _, b := range r.order {
		if b.inserted || b.layout() || len(b.list) == 0 {
			continue
		}
		if !r.isPiece(b) {
			r.leave("block that is never inserted", "nothing places it in the drawing", "insert it, if it is to be used", b.head, b.name)
			continue
		}
		f := pattern.NewFinding(pattern.RuleLeftOut,
			fmt.Sprintf("the block %q looks like a piece but is never inserted, so that it is not cut", assemble.Clip(b.name)),
			"insert the block in the drawing, if the piece is wanted")
		f.Severity, f.Line = pattern.Warning, r.line(b.at)
		r.findings = append(r.findings, f)
	}
}
