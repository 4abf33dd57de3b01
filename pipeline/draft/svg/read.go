// Package svg reads drafts drawn as SVG. It resolves units, viewports, transforms, references and
// the little of CSS that decides what is shown, flattens curves once, and leaves it to assemble to
// make pieces of the lines. It opens no other file and no address, whatever a draft refers to.
package svg

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// Sources: W3C SVG 1.1 and 2 (path grammar, arc implementation notes, viewports), CSS 2.1 (units,
// cascade).

// Limits bound what a draft may cost. The zero value of each means the default.
type Limits struct {
	Bytes    int // of the file
	Elements int // in the file
	Depth    int // of elements in each other, references followed
	Uses     int // references followed in all
	Segments int // path commands drawn, all references followed
	Points   int // after flattening
}

// DefaultLimits leave room for the largest drafts of a workroom and keep a hostile file below a
// second or two and some hundred megabytes.
var DefaultLimits = Limits{
	Bytes: 64 << 20, Elements: 500_000, Depth: 64, Uses: 10_000, Segments: 1_000_000, Points: 4_000_000,
}

// maxCoord is how far, in mm, anything may lie from the corner of the page: a kilometre is no
// garment, and float64 keeps a nanometre there.
const maxCoord = 1e6

// Options say what the file itself may not.
type Options struct {
	// Unit is the ticket's answer for a draft whose unit nobody knows: what one unit of the drawing
	// is, "mm", "cm", "in", "pt" or "px". A draft that states its size in real units keeps it.
	Unit   string
	Limits Limits
	// Room is the workroom's unit, see pattern.Pattern.ReadIn.
	Room string
}

// Read makes a pattern of an SVG file; name is for messages and, where the draft has no title, for
// the style. Coordinates come out in mm, y up, with the origin in the lower left corner of the page.
// The error is an *assemble.Unreadable; every fault of a file that can be read is a finding of the pattern.
func Read(data []byte, name string, opt Options) (*pattern.Pattern, error) {
	limits := opt.Limits.filled()
	root, err := parse(data, limits)
	if err != nil {
		return nil, err
	}
	r := &reader{limits: limits, ids: map[string]*node{}, told: map[string]bool{}, groups: map[string]int{}}
	r.index(root)
	page := r.page(root, opt.Unit)
	p := &pattern.Pattern{Source: name, Format: "svg", Unit: page.unit, PageHeight: page.height, Style: r.style(root, name)}
	r.out.Told = p.ReadIn(opt.Room)
	r.drawing(root, page)
	if r.fatal != nil {
		return nil, r.fatal
	}
	var found []pattern.Finding
	p.Pieces, found = assemble.Pieces(r.out)
	p.Findings = slices.Concat(r.findings, r.left.Findings(""), found)
	return p, nil
}

func (l Limits) filled() Limits {
	d := DefaultLimits
	return Limits{
		Bytes: cmp.Or(l.Bytes, d.Bytes), Elements: cmp.Or(l.Elements, d.Elements), Depth: cmp.Or(l.Depth, d.Depth),
		Uses: cmp.Or(l.Uses, d.Uses), Segments: cmp.Or(l.Segments, d.Segments), Points: cmp.Or(l.Points, d.Points),
	}
}

// reader is the work on one file.
type reader struct {
	limits    Limits
	ids       map[string]*node
	rules     []rule
	out       assemble.Drawing
	groups    map[string]int // key to place in out.Groups
	findings  []pattern.Finding
	left      assemble.Unused
	told      map[string]bool
	uses      int
	segments  int
	points    int
	styleWork int
	stack     []string // ids of the references being followed
	pen       pen
	fatal     error
}

// leave counts an element that is not used.
func (r *reader) leave(kind, why, mend string, n *node) {
	r.leaveOf(pattern.RoleNone, kind, why, mend, n)
}

// leaveOf counts one that has a role.
func (r *reader) leaveOf(role pattern.Role, kind, why, mend string, n *node) {
	r.left.Add(role, kind, why, mend, func() (string, int, int) { return n.where(), n.line, n.column })
}

// fault tells that an element cannot be read as it is written. Such a draft is not cut.
func (r *reader) fault(n *node, mend, format string, args ...any) {
	if len(r.findings) >= maxFaults {
		return
	}
	f := pattern.NewFinding(pattern.RuleUnreadable, n.called()+": "+fmt.Sprintf(format, args...), mend)
	f.Line, f.Column = n.line, n.column
	r.findings = append(r.findings, f)
}

// maxFaults bounds the list that a broken file makes.
const maxFaults = 200

// stop ends the reading at a limit.
func (r *reader) stop(n *node, format string, args ...any) {
	if r.fatal == nil {
		r.fatal = &assemble.Unreadable{Kind: assemble.TooLarge, Line: n.line, Column: n.column, Text: fmt.Sprintf(format, args...)}
	}
}

// index finds ids and style sheets.
func (r *reader) index(n *node) {
	if id := n.attr("id"); id != "" {
		if _, twice := r.ids[id]; !twice {
			r.ids[id] = n
		}
	}
	if n.name == "style" {
		r.sheet(n)
	}
	for _, k := range n.kids {
		r.index(k)
	}
}

// style is the draft's title, else the file's name without its ending.
func (r *reader) style(root *node, name string) string {
	if t := root.title(); t != "" {
		return assemble.Short(t)
	}
	base := filepath.Base(name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}
