package picture

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Options are the choices a person has about a picture.
type Options struct {
	// Unit is the unit of the scale and of lengths in words; "" is mm.
	Unit string
	// Points shows the lettered points of the draft.
	Points bool
	// Coarse leaves out points of the SVG that are closer than this to the straight line between their neighbours, in
	// picture units (a picture is about a thousand wide); 0 keeps all.
	Coarse float64
	// Handles puts invisible shapes over edges, darts and lettered points, with their names and lines.
	Handles bool
	// Copies are the copies that can be pointed at by their numbers, each on its piece.
	Copies []Copy
	// FaultsLarge draws good pieces small and grey where other pieces have findings.
	FaultsLarge bool
	// Small is for a picture a few hundred pixels wide: the pieces' outlines, folds, darts and marks in lines three
	// times as wide. Words, legend, second outline, notches and findings would be unreadable and are left out.
	Small bool
	// Before says in the legend whose the pale lines behind are; "" for an earlier version of the same pieces.
	Before string
	// Wide and High are the frame, in picture units, that the whole picture must fit in: pieces are as large as it
	// allows. With High 0 the height is free; with Wide 0 the width is a thousand.
	Wide, High float64
	// Beside has pieces to draw beside those of the same name, at the same scale; nil for none. Before says whose they
	// are.
	Beside *pattern.Pattern
}

// Copy is a piece as it is cut: its number among all, from 1, its name, and the index of its piece in the draft.
type Copy struct {
	Number, Index int
	Name          string
}

// smallWidth is the factor by which lines are wider in a small picture.
const smallWidth = 3

const (
	pageWidth = 1000.0
	gutter    = 34.0
	caption   = 30.0

	captionHeight = 11.0
)

// Numbered gives every finding that has a place its number in the picture, from 1, in the order of the list; the
// others get 0. Reports use the same numbers.
func Numbered(fs []pattern.Finding) []int {
	out := make([]int, len(fs))
	n := 0
	for i, f := range fs {
		if f.At != nil && f.Index >= 0 {
			n++
			out[i] = n
		}
	}
	return out
}

// Pattern draws the pieces of a draft side by side, wherever they lie in the draft, with the findings circled and
// numbered.
func Pattern(p *pattern.Pattern, fs []pattern.Finding, opt Options) *Canvas {
	c := &Canvas{Width: cmp.Or(opt.Wide, pageWidth), Title: "the pieces of " + name(p), coarse: opt.Coarse, wordless: opt.Small, wraps: opt.High > 0}
	opt.Unit = p.ReadIn(opt.Unit)
	if opt.Small {
		fs = nil
	}
	big, small := split(p, fs, opt)
	numbers := Numbered(fs)
	y := gutter
	groups := c.groups(p, big, opt)
	k := c.scaleFor(groups, opt)
	if opt.High > 0 {
		k = c.scaleWithin(p, groups, opt)
	}
	c.Scale = k
	y = c.rows(groups, k, y, func(s slot, f frame) {
		i := s.piece
		c.piece(f, &s.of.Pieces[i], opt, false)
		if opt.Handles {
			c.handles(f, &s.of.Pieces[i], s.of == p)
		}
		if s.of != p {
			return
		}
		c.copies(f, p, i, opt.Copies)
		flags := map[orb.Point]int{} // findings at one place have their numbers side by side
		for j, fd := range fs {
			if fd.Index == i && fd.At != nil {
				at := f.at(*fd.At)
				cell := orb.Point{math.Round(at[0] / 8), math.Round(at[1] / 8)}
				c.fault(f, fd, numbers[j], flags[cell])
				flags[cell]++
			}
		}
	})
	if !opt.Small {
		y = c.foot(p, k, y, opt)
	}
	if len(small) > 0 {
		c.ScaleTo = y
		groups = c.groups(p, small, Options{})
		y = c.rows(groups, math.Min(c.scaleFor(groups, opt), k)*0.35, y, func(s slot, f frame) {
			c.piece(f, &p.Pieces[s.piece], opt, true)
			c.copies(f, p, s.piece, opt.Copies)
		})
	}
	c.Height = y + gutter/2
	return c
}

func name(p *pattern.Pattern) string {
	return cmp.Or(p.Style, p.Source)
}

// split separates the pieces that are shown large from those shown small.
func split(p *pattern.Pattern, fs []pattern.Finding, opt Options) (big, small []int) {
	bad := map[int]bool{}
	for _, f := range fs {
		if f.Severity == pattern.Error || f.Hold {
			bad[f.Index] = true
		}
	}
	for i := range p.Pieces {
		if bound(&p.Pieces[i]).IsEmpty() {
			continue
		}
		if opt.FaultsLarge && !bad[i] && anyPiece(bad) {
			small = append(small, i)
		} else {
			big = append(big, i)
		}
	}
	return big, small
}

func anyPiece(bad map[int]bool) bool {
	for i := range bad {
		if i >= 0 {
			return true
		}
	}
	return false
}

func captionOf(p *pattern.Pattern, i int) string {
	pc := &p.Pieces[i]
	words := pc.Name
	if whose := p.DraftOf(i).Whose(pc.Size); whose != "" {
		words += "  " + whose
	}
	if pc.Quantity > 0 {
		hands := pattern.OneHand
		if o := pc.Outline(); o != nil && o.Closed {
			hands = pc.Hands(*o)
		}
		words += "  " + pc.CutWords(pc.Quantity, hands)
	}
	return words
}

func (c *Canvas) piece(f frame, p *pattern.Piece, opt Options, grey bool) {
	ink := func(k look.Kind) Ink {
		in := inkOf(k)
		if grey {
			in.Colour, in.Width = look.Pale, in.Width*0.6
		}
		if opt.Small {
			in.Width *= smallWidth
			in.Dash = slices.Clone(in.Dash)
			for i := range in.Dash {
				in.Dash[i] *= smallWidth
			}
		}
		return in
	}
	if o := p.Outline(); o != nil && o.Closed {
		c.add("", Ink{Colour: look.Paper}, true, o.Apply(f.m).Points, true)
	}
	if p.Cut != nil {
		for _, run := range pattern.OffFolds(*p.Cut, p.Fold, p.Second) { // a fold is not cut
			c.path(f, "cut", ink(look.Cut), run)
		}
	}
	for _, s := range p.Sew {
		for _, run := range pattern.OffFolds(s, p.Fold, p.Second) { // nothing is sewn along a fold
			switch {
			case !opt.Small:
				c.path(f, "sew", ink(look.Sew), run)
			case p.Cut == nil: // the sew line is the only outline
				c.path(f, "outline", ink(look.Cut), run)
			}
		}
	}
	for _, m := range p.Cutouts {
		c.path(f, "cutout", ink(look.Cutout), m)
	}
	if !opt.Small {
		c.segment(f, "grain", ink(look.Grain), p.Grain)
	}
	c.fold(f, p, ink(look.Fold))
	for _, m := range p.Marks {
		kind := look.KindOf(m.Role, m.Label)
		line := m.Path.Apply(f.m)
		if len(line.Points) == 1 {
			c.path(f, string(kind), ink(kind), m.Path)
		}
		for _, e := range look.Lines(kind, line) {
			c.add(string(kind), ink(kind), false, e.Points, e.Closed)
		}
		if n := len(line.Points); kind == look.Dart && n > 0 { // the tip, where both legs end
			c.add("dart", Ink{Colour: ink(kind).Colour, Width: ink(kind).Width}, false, circle(line.Points[n-1], 4), true)
		}
	}
	if opt.Small {
		return
	}
	for _, n := range p.Notches {
		c.notch(f, p, n, ink(look.Notch))
	}
	for _, d := range p.Drills {
		c.cross(f.at(d.At), ink(look.Drill))
		if r := f.scale * d.Diameter / 2; r > 1 {
			c.add("drill", ink(look.Drill), false, circle(f.at(d.At), r), true)
		}
	}
	if !opt.Points || grey {
		return
	}
	c.letterPoints(f, p)
}

// fault circles and numbers one finding; nth counts the findings shown before at the same place.
func (c *Canvas) fault(f frame, fd pattern.Finding, number, nth int) {
	col := severityInk(fd.Severity)
	if len(fd.Stretch) > 1 {
		pts := make([]orb.Point, len(fd.Stretch))
		for i, p := range fd.Stretch {
			pts[i] = f.at(p)
		}
		c.add("fault", Ink{Colour: col, Width: 4}, false, pts, false)
	}
	at := f.at(*fd.At)
	c.shapes = append(c.shapes, shape{ink: Ink{Colour: col, Width: 2.2}, class: "fault", finding: number, alone: true, lines: []line{{circle(at, 13), true}}})
	flag := orb.Point{at[0] + 22, at[1] - 22}
	step := 22.0
	if flag[0] > c.Width-14-step*float64(nth) {
		flag[0], step = at[0]-22, -step
	}
	flag[0] += step * float64(nth)
	if flag[1] < 14 {
		flag[1] = at[1] + 22
	}
	c.add("fault", Ink{Colour: col}, true, circle(flag, 10), true)
	c.text(orb.Point{flag[0], flag[1] + 4.5}, fmt.Sprint(number), 9, look.Paper, middle)
}

func bound(p *pattern.Piece) orb.Bound {
	all := orb.MultiPoint(nil).Bound()
	with := func(points []orb.Point) { all = orb.MultiPoint(points).Bound().Union(all) }
	if p.Cut != nil {
		with(p.Cut.Points)
	}
	for _, s := range p.Sew {
		with(s.Points)
	}
	for _, m := range p.Marks {
		with(m.Path.Points)
	}
	return all
}
