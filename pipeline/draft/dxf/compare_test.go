package dxf

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

type comparison struct {
	t    *testing.T
	want answers
}

func (c *comparison) pattern(p *pattern.Pattern) {
	for _, f := range p.Findings {
		if f.Severity == pattern.Error {
			c.t.Errorf("refused: line %d: %s: %s", f.Line, f.Rule, f.Message)
		}
	}
	if c.want.Style != "" && p.Style != c.want.Style {
		c.t.Errorf("style %q, want %q", p.Style, c.want.Style)
	}
	if len(p.Pieces) != len(c.want.Pieces) || len(p.Pieces) != c.want.Totals.Pieces {
		c.t.Fatalf("%d pieces, want %d", len(p.Pieces), len(c.want.Pieces))
	}
	notches, drills := 0, 0
	for i := range c.want.Pieces {
		w := &c.want.Pieces[i]
		piece := c.find(p, w)
		if piece == nil {
			c.t.Errorf("no piece %d with area %.1f", i, w.Cut.Area)
			continue
		}
		notches, drills = notches+len(piece.Notches), drills+len(piece.Drills)
		c.piece(piece, w)
	}
	if notches != c.want.Totals.Notches || drills != c.want.Totals.Drills {
		c.t.Errorf("%d notches and %d drills, want %d and %d", notches, drills, c.want.Totals.Notches, c.want.Totals.Drills)
	}
	c.findings(p)
}

// find looks the piece up by name and size, or by its place where the draft names none.
func (c *comparison) find(p *pattern.Pattern, w *answer) *pattern.Piece {
	for i := range p.Pieces {
		b := &p.Pieces[i]
		switch {
		case w.Name != nil && b.Name == *w.Name && (w.Size == "" || b.Size == w.Size):
			return b
		case w.Name == nil && !b.Named && b.Cut != nil && math.Abs(b.Cut.Bound().Min[0]-w.Cut.Box[0]) < 1:
			return b
		}
	}
	return nil
}

func (c *comparison) near(what string, got, want, tol float64) {
	c.t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		c.t.Errorf("%s is %.6g, want %.6g within %.3g", what, got, want, tol)
	}
}

func (c *comparison) piece(p *pattern.Piece, w *answer) {
	name := p.Name
	c.line(name+" cut", p.Cut, w.Cut)
	if p.Cut != nil && p.Cut.SignedArea() <= 0 {
		c.t.Errorf("%s: the cut line runs clockwise", name)
	}
	if w.Quantity != 0 && p.Quantity != w.Quantity && !(p.Quantity == 0 && w.Quantity == 1) {
		c.t.Errorf("%s: quantity %d, want %d", name, p.Quantity, w.Quantity)
	}
	if w.Material != "" && p.Material != w.Material {
		c.t.Errorf("%s: material %q, want %q", name, p.Material, w.Material)
	}
	c.sew(p, w)
	c.notches(p, w)
	c.drills(p, w)
	c.inner(p, w)
	c.segment(name+" grain", p.Grain, w.Grain)
	c.segment(name+" fold", p.Fold, w.Fold)
}

func (c *comparison) line(what string, got *geom.Path, want *figures) {
	if want == nil {
		if got != nil {
			c.t.Errorf("%s is there, want none", what)
		}
		return
	}
	if got == nil || !got.Closed {
		c.t.Errorf("%s is missing or open", what)
		return
	}
	tol := c.want.Tolerance
	c.near(what+" area", got.Area(), want.Area, tol.AreaRel*want.Area)
	c.near(what+" perimeter", got.Length(), want.Perimeter, math.Max(tol.Perimeter, tol.LengthRel*want.Perimeter))
	c.box(what, got.Bound(), want.Box)
}

func (c *comparison) box(what string, b orb.Bound, want *[4]float64) {
	if want == nil {
		return
	}
	for i, got := range []float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]} {
		c.near(what+" box", got, want[i], c.want.Tolerance.Box)
	}
}

func (c *comparison) sew(p *pattern.Piece, w *answer) {
	if w.Sew == nil {
		if len(p.Sew) > 0 {
			c.t.Errorf("%s has a sew line, want none", p.Name)
		}
		return
	}
	if len(p.Sew) == 0 {
		c.t.Errorf("%s has no sew line", p.Name)
		return
	}
	if w.Sew.Area > 0 {
		c.line(p.Name+" sew", &p.Sew[0], w.Sew)
	} else {
		var length float64
		for _, s := range p.Sew {
			length += s.Length()
		}
		c.near(p.Name+" sew length", length, w.Sew.Length, c.want.Tolerance.LengthRel*w.Sew.Length)
	}
	c.allowance(p, w)
}

// allowance measures the distance of the sew line from the cut line without its stretch on the fold.
func (c *comparison) allowance(p *pattern.Piece, w *answer) {
	if w.Allowance == nil || p.Cut == nil {
		return
	}
	ix := geom.NewIndex(pattern.OffFold(*p.Cut, p.FoldLine())...)
	least, most := math.Inf(1), 0.0
	for _, s := range p.Sew {
		ruler := s.Ruler()
		for at := 0.0; at <= ruler.Length(); at += 0.2 {
			pt, _ := ruler.At(at)
			_, n := ix.Nearest(pt)
			least, most = math.Min(least, n.Dist), math.Max(most, n.Dist)
		}
	}
	c.near(p.Name+" least allowance", least, w.Allowance.Min, c.want.Tolerance.Allowance)
	c.near(p.Name+" greatest allowance", most, w.Allowance.Max, c.want.Tolerance.Allowance)
}

func (c *comparison) notches(p *pattern.Piece, w *answer) {
	if len(p.Notches) != len(w.Notches) {
		c.t.Errorf("%s: %d notches, want %d", p.Name, len(p.Notches), len(w.Notches))
		return
	}
	kinds := map[string]pattern.NotchKind{"slit": pattern.NotchNick, "v": pattern.NotchV, "t": pattern.NotchT,
		"castle": pattern.NotchCastle, "check": pattern.NotchCheck, "u": pattern.NotchU}
	for _, n := range w.Notches {
		var best *pattern.Notch
		for i := range p.Notches {
			if best == nil || geom.Dist(p.Notches[i].At, n.At) < geom.Dist(best.At, n.At) {
				best = &p.Notches[i]
			}
		}
		if d := geom.Dist(best.At, n.At); d > c.want.Tolerance.Point {
			c.t.Errorf("%s: a notch is %.3f mm from %v", p.Name, d, n.At)
		}
		c.near("notch depth", best.Depth, n.Depth, 0.01)
		c.near("notch width", best.Width, n.Width, 0.01)
		if n.Kind != "" && best.Kind != kinds[n.Kind] {
			c.t.Errorf("%s: the notch at %v is a %s, want %s", p.Name, n.At, best.Kind, n.Kind)
		}
		if n.Angle != nil {
			c.near("notch direction", math.Remainder(best.AngleDeg-*n.Angle, 360), 0, 0.01)
			if !best.AngleSaid {
				c.t.Errorf("%s: the notch at %v does not say its direction", p.Name, n.At)
			}
		}
	}
}

func (c *comparison) drills(p *pattern.Piece, w *answer) {
	if len(p.Drills) != len(w.Drills) {
		c.t.Errorf("%s: %d drills, want %d", p.Name, len(p.Drills), len(w.Drills))
		return
	}
	for _, d := range w.Drills {
		ok := false
		for _, got := range p.Drills {
			ok = ok || geom.Dist(got.At, d.At) <= c.want.Tolerance.Point && math.Abs(got.Diameter-d.Diameter) < 0.01
		}
		if !ok {
			c.t.Errorf("%s: no drill at %v of %.2f mm in %v", p.Name, d.At, d.Diameter, p.Drills)
		}
	}
}

func (c *comparison) inner(p *pattern.Piece, w *answer) {
	lines, length := 0, 0.0
	var quality *geom.Path
	for i := range p.Marks {
		switch p.Marks[i].Role {
		case pattern.RoleMark:
			lines++
			length += p.Marks[i].Path.Length()
		case pattern.RoleQuality:
			quality = &p.Marks[i].Path
		}
	}
	if lines != w.Internal || len(p.Cutouts) != w.Cutouts {
		c.t.Errorf("%s: %d inner lines and %d cut-outs, want %d and %d", p.Name, lines, len(p.Cutouts), w.Internal, w.Cutouts)
	}
	if w.InternalLength != nil {
		c.near(p.Name+" inner length", length, *w.InternalLength, c.want.Tolerance.LengthRel**w.InternalLength+1e-9)
	}
	if w.Quality != nil {
		c.line(p.Name+" finer curve", quality, w.Quality)
	}
}

func (c *comparison) segment(what string, got *pattern.Segment, want *struct{ From, To orb.Point }) {
	if (got == nil) != (want == nil) {
		c.t.Errorf("%s: there %v, want %v", what, got != nil, want != nil)
		return
	}
	if got == nil {
		return
	}
	tol := c.want.Tolerance.Point
	same := geom.Dist(got.A, want.From) <= tol && geom.Dist(got.B, want.To) <= tol
	turned := geom.Dist(got.B, want.From) <= tol && geom.Dist(got.A, want.To) <= tol
	if !same && !turned {
		c.t.Errorf("%s runs from %v to %v, want %v", what, got.A, got.B, *want)
	}
}

// findings compares what reading itself has to tell; the other kinds are the checks' own.
func (c *comparison) findings(p *pattern.Pattern) {
	for _, w := range c.want.Expected {
		if w.Kind != pattern.RuleGapBridged && w.Kind != pattern.RuleOverlapTrimmed && w.Kind != pattern.RuleLeftOut {
			continue
		}
		ok := false
		for _, f := range p.Findings {
			ok = ok || f.Rule == w.Kind && (w.At == nil || f.At != nil && geom.Dist(*f.At, *w.At) <= 0.2)
		}
		if !ok {
			c.t.Errorf("no finding %s at %v", w.Kind, w.At)
		}
	}
}
