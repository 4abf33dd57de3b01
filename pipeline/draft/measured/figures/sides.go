package figures

import (
	"math"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/sides"
	"tracewheel/pipeline/pattern"
)

// PatternOfSides is the pattern of a garment that is drawn for the right side of its wearer and for the left one.
func PatternOfSides(right, left *sewn.Sewing) *pattern.Pattern {
	return compared(right, left).Pattern()
}

func compared(right, left *sewn.Sewing) sides.Sides {
	var of []string
	for _, pc := range listed(right) {
		of = append(of, pc.MadeOf())
	}
	return sides.Of(Pattern(right), Pattern(left), of)
}

// OfSides lists the figures of a garment that is drawn for the right side of its wearer and for the left one; of lists one.
func OfSides(right, left *sewn.Sewing, of func(*sewn.Sewing) *Figures) *Figures {
	s := compared(right, left)
	r, l := of(right), of(left)
	out := *r
	out.Pieces, out.Numbers, out.Girths, out.Seams, out.Notions, out.Truings = nil, nil, nil, nil, nil, nil
	out.unmet = s.Faults()
	u := tapeUnits[r.Unit]
	for i := range r.Pieces {
		both := [2]PieceFigures{r.Pieces[i], l.Pieces[i]}
		if s.Mean(i) {
			both[0].meanWith(both[1], u)
		}
		if s.Ways[i] == sides.Own {
			out.Pieces = append(out.Pieces, both[s.OwnSide[i]])
			continue
		}
		if s.Ways[i] == sides.Alike || s.Ways[i] == sides.Single {
			out.Pieces = append(out.Pieces, both[0])
			continue
		}
		for side, p := range both {
			p.Mirrored = s.AsDrawn[i] != side
			p.Name = sides.Names[side] + " " + p.Name
			if s.Ways[i] == sides.Apart {
				p.Quantity, p.Pair, p.Alike = sides.ForEach(p.Quantity, p.Alike)
			} else {
				p.inMiddle(both[side].Name)
			}
			out.Pieces = append(out.Pieces, p)
		}
	}
	bySide := func(same bool, put func(side int, words string)) {
		if same {
			put(0, "")
			return
		}
		for side := range sides.Names {
			put(side, ", "+sides.Names[side])
		}
	}
	out.Numbers = numbersOfSides(r.Numbers, l.Numbers)
	for i, g := range r.Girths {
		k := l.Girths[i]
		bySide(math.Abs(g.Finished-k.Finished) < tiny, func(side int, words string) {
			g := []Girth{g, k}[side]
			g.Name += words
			out.Girths = append(out.Girths, g)
		})
	}
	for i, a := range r.Seams {
		b, kind := l.Seams[i], sides.Once
		if p := right.Pairs[i]; p.Seam >= 0 {
			kind = s.KindOf(right.Seams[p.Seam])
		}
		switch kind {
		case sides.Each:
			for side, x := range []SeamFigures{a, b} {
				x.Seam, x.First, x.Second = sides.Names[side]+": "+x.Seam, sides.Names[side]+" "+x.First, sides.Names[side]+" "+x.Second
				out.Seams = append(out.Seams, x)
			}
			continue
		case sides.OfLeft:
			a = b
		case sides.Across:
			a.A, a.B, a.Ease = (a.A+b.A)/2, (a.B+b.B)/2, (a.Ease+b.Ease)/2
			a.SewnA, a.SewnB = u.rounded((a.SewnA+b.SewnA)/2), u.rounded((a.SewnB+b.SewnB)/2)
		case sides.Middle:
			a.First, a.Second, a.B, a.SewnB = "right "+a.First, "left "+b.Second, b.B, b.SewnB
			a.Seam = a.First + " = " + a.Second
			a.Off = right.Seams[right.Pairs[i].Seam].Off(a.A*u.mm, a.B*u.mm, right.SeamTolerance) / u.mm
		}
		out.Seams = append(out.Seams, a)
	}
	for i, n := range r.Notions {
		n.Each = (n.Each + l.Notions[i].Each) / 2
		n.Length = u.tape(float64(n.Count) * n.Each)
		out.Notions = append(out.Notions, n)
	}
	for side, f := range []*Figures{r, l} {
		for _, t := range f.Truings {
			if !slices.Contains([]*Figures{l, r}[side].Truings, t) {
				t.At = "the " + sides.Names[side] + " side: " + t.At
			} else if side == 1 {
				continue
			}
			out.Truings = append(out.Truings, t)
		}
	}
	return &out
}

// numbersOfSides lists each number once where it is of both sides, else for each. What is measured of one side stands there too,
// by the name that the draft has for it.
func numbersOfSides(right, left []NamedNumber) (out []NamedNumber) {
	of := func(list []NamedNumber, name string) *NamedNumber {
		i := slices.IndexFunc(list, func(n NamedNumber) bool { return n.Name == name })
		if i < 0 {
			return nil
		}
		return &list[i]
	}
	for _, n := range right {
		l := of(left, n.Name)
		_, rest := sentence.SideOf(n.Name)
		switch {
		case rest != n.Name && of(right, rest) != nil && of(left, rest) != nil:
		case l == nil || math.Abs(n.Value-l.Value) < tiny:
			out = append(out, n)
		default:
			out = append(out, NamedNumber{n.Name + ", right", n.Value}, NamedNumber{n.Name + ", left", l.Value})
		}
	}
	for _, n := range left {
		if _, rest := sentence.SideOf(n.Name); of(right, n.Name) == nil && (rest == n.Name || of(left, rest) == nil) {
			out = append(out, n)
		}
	}
	return out
}

// inMiddle makes of a piece on the fold one half of a whole one: its fold is the line in the middle.
func (p *PieceFigures) inMiddle(of string) {
	p.Name = strings.Replace(p.Name, " ", " half of ", 1)
	p.Half, p.OnFold, p.Twice = of, false, false
	p.Edges = slices.Clone(p.Edges)
	for k := range p.Edges {
		if ed := &p.Edges[k]; ed.Fold {
			ed.Fold, ed.Allowance = false, "none: the halves meet here"
		}
	}
	const fold = "the fold"
	if rest, is := strings.CutPrefix(p.Marking.Across, fold); is {
		p.Marking.Across = "the middle line" + rest
		p.Marking.Lines = slices.Clone(p.Marking.Lines)
		for k := range p.Marking.Lines {
			l := &p.Marking.Lines[k]
			l.Along = strings.Replace(l.Along, "along the fold", "along the middle line", 1)
		}
	}
}

// meanWith makes of a strip the one half-way to another, which serves both sides.
func (p *PieceFigures) meanWith(other PieceFigures, u tapeUnit) {
	mid := func(a, b float64) float64 { return (a + b) / 2 }
	p.Area, p.Edges = mid(p.Area, other.Area), slices.Clone(p.Edges)
	for k := range p.Edges {
		ed, o := &p.Edges[k], other.Edges[k]
		ed.Worn, ed.Cut = mid(ed.Worn, o.Worn), mid(ed.Cut, o.Cut)
		ed.Sewn, ed.Chalk = u.say(u.rounded(ed.Worn)), u.say(ed.Cut)
	}
	m := &p.Marking
	m.Outline, m.Inside, m.Lines = slices.Clone(m.Outline), slices.Clone(m.Inside), nil // a strip has no lettered places
	for _, rows := range [][2][]MarkOut{{m.Outline, other.Marking.Outline}, {m.Inside, other.Marking.Inside}} {
		for k := range rows[0] {
			r := &rows[0][k]
			r.X, r.Y = mid(r.X, rows[1][k].X), mid(r.Y, rows[1][k].Y)
			r.Across, r.Down = m.place(r.X), m.place(r.Y)
		}
	}
}
