package sides

import (
	"fmt"
	"math"
	"slices"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Pattern is the pattern of the whole garment.
func (s Sides) Pattern() *pattern.Pattern {
	out := *s.drawn[0]
	pieces, at, own := s.pieces()
	out.Pieces, out.Findings, out.Seams, out.Corners = pieces, nil, nil, nil
	for j, seam := range s.drawn[0].Seams {
		if j < len(s.drawn[1].Seams) {
			out.Seams = append(out.Seams, s.seams(seam, s.drawn[1].Seams[j])...)
		}
	}
	for side, p := range s.drawn {
		other := s.drawn[1-side]
		for _, f := range p.Findings {
			i := f.Index
			if s.ofOther(i, side) {
				continue
			}
			if slices.ContainsFunc(other.Findings, func(o pattern.Finding) bool { return o.Rule == f.Rule && o.Message == f.Message }) {
				if side == 1 {
					continue
				}
			} else if f.Rule != pattern.RuleMeasureUnlikely { // which says of which measure it is
				f.Message = "the " + Names[side] + " side: " + f.Message
			}
			if i >= 0 {
				f.Index, f.Piece = at[side][i], out.Pieces[at[side][i]].Name
			}
			if m := s.mirror(side, i); f.At != nil {
				q := m.Apply(*f.At)
				f.At = &q
			}
			out.Findings = append(out.Findings, f)
		}
		for _, c := range p.Corners {
			i := c.Index
			if i < 0 || s.ofOther(i, side) || side == 1 && s.Ways[i] == Alike && slices.ContainsFunc(other.Corners, func(o pattern.Corner) bool { return o.What == c.What }) {
				continue
			}
			c.What, c.At = c.What+", "+Names[side], s.mirror(side, i).Apply(c.At)
			c.Index, c.Piece = at[side][i], out.Pieces[at[side][i]].Name
			out.Corners = append(out.Corners, c)
		}
	}
	out.Findings = append(out.Findings, own...)
	return &out
}

// ofOther tells whether a piece is of the other side alone, so that what one side's drawing says of it is not of the garment.
func (s Sides) ofOther(i, side int) bool { return i >= 0 && s.Ways[i] == Own && s.OwnSide[i] != side }

// pieces are those of the whole garment, where each of either side is among them, and what is wrong between the sides.
func (s Sides) pieces() (out []pattern.Piece, at [2][]int, own []pattern.Finding) {
	for i := range s.drawn[0].Pieces {
		both := [2]pattern.Piece{s.drawn[0].Pieces[i], s.drawn[1].Pieces[i]}
		at[0], at[1] = append(at[0], len(out)), append(at[1], len(out))
		say := func(mm float64) string { return pattern.SayLength(mm, s.drawn[0].Unit) + " " + s.drawn[0].Unit }
		note := func(rule string, sev pattern.Severity, text, mend string) {
			f := pattern.NewFinding(rule, text, mend)
			f.Severity, f.Piece, f.Index = sev, both[0].Name, len(out)
			own = append(own, f)
		}
		tell := func(text, mend string) { note(pattern.RuleSeamLengths, pattern.Error, text, mend) }
		if s.unsaid[i] && (s.Ways[i] == Apart || s.Ways[i] == Opened) {
			note(pattern.RuleReadAssumed, pattern.Warning, fmt.Sprintf("for which side of the wearer %q is drawn cannot be told, so its right and its left may be taken for one another", both[0].Name),
				`say front or back in its name, or call its middle edge "centre front" or "centre back"`)
		}
		if r, l := centre(&both[0]), centre(&both[1]); s.Ways[i] == Apart && math.Abs(r-l) > oneServes && !s.sewnInMiddle(both[0].Name) {
			note(pattern.RuleSeamLengths, pattern.Warning, fmt.Sprintf("the centre of the right %[1]s is %[2]s long and that of the left %[1]s %[3]s, and they meet in the middle of the wearer", both[0].Name, say(r), say(l)),
				"give both sides the same length there; what differs may go by the side")
		}
		switch s.Ways[i] {
		case Apart:
			at[1][i]++
			for side, q := range both {
				if s.AsDrawn[i] != side {
					q = q.Mirrored(s.mirror(side, i))
				}
				q.Name = s.name(i, side)
				q.Quantity, q.Pair, q.Alike = ForEach(q.Quantity, q.Alike)
				out = append(out, q)
			}
		case Opened:
			d := s.AsDrawn[i]
			whole, off, ok := pattern.Opened(both[d], both[1-d], Names[d], Names[1-d])
			if !ok {
				tell(fmt.Sprintf("the sides of %q differ, and its fold is no one edge at which they can be joined", whole.Name), "draw its half, with one edge on the fold")
			} else if off > oneServes {
				tell(fmt.Sprintf("the right half of %q and the left one do not meet where they are joined: %s off", whole.Name, say(off)), "what lies in the middle may not go by a measure or a fitting of one side")
			}
			out = append(out, whole)
		case Own:
			out = append(out, both[s.OwnSide[i]])
		case Single:
			one := both[0]
			if off := differ(&both[0], &both[1]); s.Mean(i) {
				one = mean(both[0], both[1])
			} else if off > oneServes {
				tell(fmt.Sprintf("%q serves both sides, and comes out %s apart for the right side and the left one", one.Name, say(off)), "draw its half on the fold, or cut 2")
			}
			out = append(out, one)
		default:
			out = append(out, both[0])
		}
	}
	return out, at, own
}

// ForEach is how a piece is cut for either side, of which so many are cut for both. Of an even number half are turned over, as a
// piece and its lining or one in front and one behind, unless the draft says that all are of one hand.
func ForEach(quantity int, saidAlike bool) (each int, pair, alike bool) {
	each = quantity / 2
	pair = each > 0 && each%2 == 0 && !saidAlike
	return each, pair, each > 1 && !pair
}

// centre is how long the edges of a piece are that lie in the middle of the wearer, as sewn, mm.
func centre(p *pattern.Piece) (long float64) {
	line := p.EdgeLine()
	if line == nil || !p.EdgesFit() {
		return 0
	}
	at := line.Starts()
	for i, e := range p.Edges {
		if !speaksOf(e.Name, "centre", "center") && !speaksOf(e.Kind, "centre") {
			continue
		}
		to := line.Length()
		if i+1 < len(p.Edges) {
			to = at[p.Edges[i+1].First]
		}
		if long += to - at[e.First]; len(e.Worn.Points) > 0 {
			long += e.Worn.Length() - to + at[e.First]
		}
	}
	return long
}

// sewnInMiddle tells whether the draft says that a piece is sewn to its other hand, so that its length there is proved.
func (s Sides) sewnInMiddle(name string) bool {
	return slices.ContainsFunc(s.drawn[0].Seams, func(m pattern.Seam) bool { return s.KindOf(m) == Middle && m.A[0].Piece == name })
}

// Faults counts what is wrong between the sides, so that the garment cannot be sewn.
func (s Sides) Faults() int {
	_, _, own := s.pieces()
	return len(slices.DeleteFunc(own, func(f pattern.Finding) bool { return f.Severity != pattern.Error }))
}

// mirror turns a piece of a side from how it is drawn to how it is seen right side up.
func (s Sides) mirror(side, i int) geom.Affine {
	if i < 0 || s.Ways[i] != Apart && s.Ways[i] != Opened || s.AsDrawn[i] == side {
		return geom.Identity
	}
	if fold := s.drawn[s.AsDrawn[i]].Pieces[i].FoldLine(); fold != nil && s.Ways[i] == Opened {
		return geom.MirrorLine(fold.A, fold.B)
	}
	return geom.Affine{A: -1, D: 1}
}

// Mean tells of a strip that serves both sides: it is half as long as the strips for either side together.
func (s Sides) Mean(i int) bool {
	a, b := &s.drawn[0].Pieces[i], &s.drawn[1].Pieces[i]
	return s.Ways[i] == Single && a.EdgeLine() != nil && len(a.EdgeLine().Points) == 4 && !math.IsInf(differ(a, b), 1)
}

// mean is a strip half-way between two.
func mean(a, b pattern.Piece) pattern.Piece {
	path := func(p, q geom.Path) geom.Path {
		p = p.Clone()
		for i := range p.Points {
			p.Points[i] = geom.Lerp(p.Points[i], q.Points[i], 0.5)
		}
		return p
	}
	line := path(*a.EdgeLine(), *b.EdgeLine())
	if a.EdgeLine() == a.Cut {
		a.Cut = &line
	} else {
		a.Sew = []geom.Path{line}
	}
	a.Notches, a.Marks, a.Drills, a.Cutouts = slices.Clone(a.Notches), slices.Clone(a.Marks), slices.Clone(a.Drills), slices.Clone(a.Cutouts)
	for i, n := range b.Notches {
		m := &a.Notches[i]
		if m.At = geom.Lerp(m.At, n.At, 0.5); m.Along != nil && n.Along != nil && math.Abs(m.Along.Worn-n.Along.Worn) > sameLine {
			m.Along = nil // it says where the notch is on a strip for the right side alone
		}
	}
	for i, d := range b.Drills {
		a.Drills[i].At = geom.Lerp(a.Drills[i].At, d.At, 0.5)
	}
	for i, c := range b.Cutouts {
		a.Cutouts[i] = path(a.Cutouts[i], c)
	}
	for i, m := range b.Marks {
		a.Marks[i].Path = path(a.Marks[i].Path, m.Path)
	}
	return a
}
