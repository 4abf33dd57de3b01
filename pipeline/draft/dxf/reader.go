package dxf

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// reader is the work on one file that is taken apart already.
type reader struct {
	*file
	limits Limits
	out    assemble.Drawing
	// interchange is set for files of the sewn-products form, in which a piece is its block.
	interchange bool
	facts       map[string]string // what texts say of the whole style, by key
	pieceNames  map[*block]bool   // blocks that hold a text with the name of a piece
	layerOf     map[string]*layerInfo
	groups      []*group
	seen        map[string]bool // blocks at their places, to tell one drawn twice
	findings    []pattern.Finding
	left        assemble.Unused
	told        map[string]bool
	sizes       map[*block]size
	cornersOf   map[*block]*corners
	points      int
	work        int // pairs of code and value looked at
	pen         assemble.Pen
	// numbersOwn is set where numbers of layers are names like others; numbersAsked once that is known.
	numbersAsked, numbersOwn bool
	fatal                    error
}

// context is where a list of entities is drawn.
type context struct {
	m       geom.Affine // to mm
	layer   *layerInfo  // of the insert; nil outside of blocks
	group   *group      // the piece, in an interchange file
	corners *corners    // the turn and curve points of the block
}

// scale is how long, in mm, one unit of the drawing is here.
func (c *context) scale() float64 { return math.Sqrt(math.Abs(c.m.Det())) }

// layerInfo is what a layer's name makes of its entities.
type layerInfo struct {
	layer
	name   string
	number int // -1 for a name
	role   pattern.Role
	notch  pattern.NotchKind
}

// group is one piece of an interchange file.
type group struct {
	key   string
	block *block
	facts map[string]string
}

// size is what a list of entities comes to when all its inserts are followed.
type size struct{ entities, depth int }

// stop ends the reading; the first reason stays.
func (r *reader) stop(err error) {
	if r.fatal == nil {
		r.fatal = err
	}
}

// leave counts an entity that is not used; note is what else tells the first one from others.
func (r *reader) leave(kind, why, mend string, e entity, note string) {
	r.leaveOf(pattern.RoleNone, kind, why, mend, e, note)
}

// leaveOf counts one whose layer has a role.
func (r *reader) leaveOf(role pattern.Role, kind, why, mend string, e entity, note string) {
	r.left.Add(role, kind, why, mend, func() (string, int, int) {
		where := r.place(e.at)
		if note != "" {
			where += ", " + assemble.Clip(note)
		}
		return where, r.line(e.at), 0
	})
}

// tell adds a finding about an entity.
func (r *reader) tell(rule string, e entity, mend, format string, args ...any) *pattern.Finding {
	called := e.kind
	if r.line(e.at) == 0 { // a binary file has no lines: only the message can tell the place
		called = r.place(e.at) + ", " + called
	}
	f := pattern.NewFinding(rule, fmt.Sprintf("%s: %s", called, fmt.Sprintf(format, args...)), mend)
	f.Line = r.line(e.at)
	if len(r.findings) >= maxFaults {
		return &f
	}
	r.findings = append(r.findings, f)
	return &r.findings[len(r.findings)-1]
}

// refuse tells that an entity cannot be read as it is written. On a layer whose lines are cut or
// stitched that spoils the draft; elsewhere the entity is only left out.
func (r *reader) refuse(e entity, l *layerInfo, mend, format string, args ...any) {
	if l.role.Shapes() {
		r.tell(pattern.RuleUnreadable, e, mend, format, args...)
		return
	}
	r.leave(e.kind+" that cannot be read", fmt.Sprintf(format, args...), mend, e, "layer "+l.name)
}

// once tells whether something is to be told for the first time.
func (r *reader) once(key string) bool {
	if r.told[key] {
		return false
	}
	r.told[key] = true
	return true
}

// emit hands over an item with its role, unless a point of it is out of all bounds.
func (r *reader) emit(it assemble.Item, e entity, l *layerInfo, c *context) {
	r.points += len(it.Path.Points)
	if r.points > r.limits.Points {
		r.stop(r.errorAt(assemble.TooLarge, e.at, "the drawing has more than %d points", r.limits.Points))
		return
	}
	for _, p := range it.Path.Points {
		if !(math.Abs(p[0]) <= maxCoord && math.Abs(p[1]) <= maxCoord) {
			r.stop(r.errorAt(assemble.TooLarge, e.at, "%s lies more than a kilometre from the origin; the unit is wrong, or lines of the file are", e.kind))
			return
		}
	}
	it.Role = l.role
	if c.group != nil {
		it.Group = c.group.key
	}
	it.Line = r.line(e.at)
	it.Where = fmt.Sprintf("%s, %s on layer %q", r.place(e.at), e.kind, assemble.Clip(l.name))
	r.out.Items = append(r.out.Items, it)
}

// path ends the line that the pen holds. One that is marked as closed, or whose ends agree, is closed.
func (r *reader) path(closed bool) (geom.Path, bool) {
	snap := geom.Tiny
	if closed {
		snap = geom.CloseTol
	}
	return r.pen.Path(closed, snap)
}

// finish hands over the line that the pen holds.
func (r *reader) finish(closed bool, e entity, l *layerInfo, c *context) {
	if r.fatal != nil {
		return
	}
	path, ok := r.path(closed)
	if !ok {
		r.leave(e.kind+" of no length", "there is nothing to draw", "no action needed", e, "layer "+l.name)
		return
	}
	r.emit(assemble.Item{Path: path}, e, l, c)
}

func (r *reader) notFlat(e entity, l *layerInfo) {
	r.refuse(e, l, "draw it flat, in the plane of the drawing", "it does not lie in the plane of the drawing")
}
