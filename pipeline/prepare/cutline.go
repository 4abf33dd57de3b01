package prepare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

// cutLine gives the piece's cut line: the drawn one, else one built round the sew line.
func (m *maker) cutLine() (flat, error) {
	if err := m.answer(); err != nil {
		return flat{}, err
	}
	ring, isCut, ok := m.piece.Ring()
	if !ok {
		return flat{}, fmt.Errorf("the outline does not close; close it in the draft")
	}
	if at := ring.SelfCrossings(1); len(at) > 0 {
		return flat{}, fmt.Errorf("the outline crosses itself at %s; take out the loop there", m.place(at[0].At))
	}
	if ring.Area() < 1 {
		return flat{}, fmt.Errorf("the outline encloses nothing")
	}
	if !isCut {
		return m.build(ring)
	}
	f := flat{outline: withCorners(ring), sew: drawn(m.piece.Sew)}
	f.edgeOf = m.edgesAlong(f.outline)
	return turnCCW(f), nil
}

// drawn leaves out lines without a segment.
func drawn(lines []geom.Path) []geom.Path {
	var out []geom.Path
	for _, l := range lines {
		if l.Length() > geom.Tiny {
			out = append(out, l)
		}
	}
	return out
}

// answer applies what the ticket says about an outline that may be cut line or sew line.
func (m *maker) answer() error {
	pc := &m.piece
	if pc.Cut == nil || pc.CutSaid || len(pc.Sew) > 0 || m.included {
		return nil
	}
	if m.ticket == nil {
		return fmt.Errorf("the draft does not say whether the outline includes the seam allowance; write allowance: included in the ticket, or release the job with --allowance included; or give the width, such as 10mm")
	}
	pc.Sew, pc.Cut = []geom.Path{*pc.Cut}, nil
	return nil
}

// build puts the allowance round a sew line: the width of each edge, else of the piece, else of the
// ticket, else of the workroom.
func (m *maker) build(ring geom.Path) (flat, error) {
	line := &ring
	if len(m.piece.Sew) == 1 && m.piece.Sew[0].Closed {
		line = &m.piece.Sew[0] // the line that the piece's edges divide
	}
	edges := m.piece.EdgesOf(line)
	widths := make([]offset.Edge, len(edges))
	starts := line.Starts()
	along := func(i int) float64 {
		to := line.Length()
		if i+1 < len(edges) {
			to = starts[edges[i+1].First]
		}
		return to - starts[edges[i].First]
	}
	f := flat{built: true, sew: drawn(m.piece.Sew), least: math.Inf(1), most: math.Inf(-1)}
	for i, e := range edges {
		w, err := m.width(e)
		if err != nil {
			return f, err
		}
		widths[i] = offset.Edge{First: e.First, From: w.From, To: w.To, Corner: e.Corner, SewnFirst: e.SewnFirst}
		if !e.Fold {
			f.least, f.most = min(f.least, w.From, w.To), max(f.most, w.From, w.To)
			f.widths = append(f.widths, edgeWidth{edgeName(e), w, along(i)})
		}
	}
	rings, err := offset.Build(*line, widths, m.opt.mitreLimit())
	if err != nil {
		return f, fmt.Errorf("the seam allowance cannot be built: %w", err)
	}
	outer := -1
	for i, r := range rings {
		switch {
		case r.Hole: // material between two allowances that meet is kept
		case outer >= 0:
			return f, fmt.Errorf("with its allowance the piece falls into %d parts; use a narrower one", len(rings))
		default:
			outer = i
		}
	}
	if outer < 0 {
		return f, fmt.Errorf("with its allowance nothing is left of the piece")
	}
	f.outline = withCorners(rings[outer].Path)
	for _, k := range rings[outer].Edge {
		name := ""
		if k >= 0 && k < len(edges) {
			name = edgeName(edges[k])
		}
		f.edgeOf = append(f.edgeOf, name)
	}
	return turnCCW(f), nil
}

// unstated is the error that nobody states an allowance.
type unstated string

func (e unstated) Error() string { return string(e) }

// width is the allowance of one edge.
func (m *maker) width(e pattern.Edge) (pattern.Width, error) {
	even := func(w float64) pattern.Width { return pattern.Width{From: w, To: w} }
	switch {
	case e.Fold:
		return pattern.Width{}, nil
	case e.Allowance != nil:
		return *e.Allowance, nil
	case m.piece.Allowance != nil:
		return even(*m.piece.Allowance), nil
	case m.ticket != nil:
		return even(*m.ticket), nil
	case m.opt.WorkroomAllowance == nil:
		return pattern.Width{}, unstated("there is a sew line and no cut line, and no seam allowance is given; give it in the draft or in the ticket (allowance: 10mm)")
	case m.opt.Cuts:
		return pattern.Width{}, unstated("there is a sew line and no cut line; for a cutter the draft or the ticket must state the seam allowance (allowance: 10mm)")
	}
	if !m.assumed() {
		m.note(pattern.RuleAllowanceAssumed,
			fmt.Sprintf("the allowance of %s is the workroom's; neither the draft nor the ticket states one", m.length(*m.opt.WorkroomAllowance)),
			"state it in the draft or in the ticket (allowance: 10mm)")
	}
	return even(*m.opt.WorkroomAllowance), nil
}

func (m *maker) assumed() bool {
	return slices.ContainsFunc(m.findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleAllowanceAssumed })
}

// edgesAlong names the edge for each segment of a drawn cut line: its own, or the nearest of the sew line.
func (m *maker) edgesAlong(cut geom.Path) []string {
	names := make([]string, cut.Segments())
	line := &m.piece.Cut
	var edges []pattern.Edge
	onSew := len(m.piece.Sew) == 1 && m.piece.Sew[0].Closed
	if onSew {
		line2 := &m.piece.Sew[0]
		edges = m.piece.EdgesOf(line2)
		if !named(edges) {
			return names
		}
		ix := geom.NewIndex(*line2)
		for i := range names {
			a, b := cut.Segment(i)
			_, near := ix.Nearest(geom.Lerp(a, b, 0.5))
			names[i] = edgeName(edgeAt(edges, near.Segment))
		}
		return names
	}
	if *line != nil {
		edges = m.piece.EdgesOf(*line)
	}
	if named(edges) {
		for i := range names {
			names[i] = edgeName(edgeAt(edges, i))
		}
	}
	return names
}

func named(edges []pattern.Edge) bool {
	return slices.ContainsFunc(edges, func(e pattern.Edge) bool { return edgeName(e) != "" })
}

// edgeAt is the edge of segment i of the divided line.
func edgeAt(edges []pattern.Edge, i int) pattern.Edge {
	found := edges[len(edges)-1]
	for _, e := range edges {
		if e.First > i {
			break
		}
		found = e
	}
	return found
}

func edgeName(e pattern.Edge) string {
	return cmp.Or(e.Name, e.Kind)
}

// withCorners lists the corners of a line without marked corners, where every vertex is one, so that coarse chords are
// never fitted with arcs.
func withCorners(p geom.Path) geom.Path {
	q := p.Clone()
	if q.Corners == nil {
		q.Corners = make([]bool, len(q.Points))
		for i := range q.Corners {
			q.Corners[i] = true
		}
	}
	return q
}

// turnCCW makes the outline counter-clockwise, with its edge names.
func turnCCW(f flat) flat {
	f.outline, f.edgeOf = ccw(f.outline, f.edgeOf)
	return f
}

func ccw(line geom.Path, names []string) (geom.Path, []string) {
	if line.SignedArea() >= 0 {
		return line, names
	}
	// Segment i of the reversed line, which keeps its first vertex, is segment n-1-i of the old one.
	slices.Reverse(names)
	return line.Reversed(), names
}
