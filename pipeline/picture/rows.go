package picture

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// slot is the space that a piece needs in a row, with its caption.
type slot struct {
	of      *pattern.Pattern
	piece   int
	bound   orb.Bound
	caption string
	// wordsWide are the widths of the caption's words.
	wordsWide []float64
	// words are the lines of the caption, wide and high the space, at the slot's scale.
	words      []string
	wide, high float64
	after      float64 // the gap to the next in the row
}

// besideGap is the distance between a piece and the one beside it.
const besideGap = gutter / 2

// at is the slot at a scale.
func (s slot) at(k float64, c *Canvas) slot {
	s.wide, s.high = k*(s.bound.Max[0]-s.bound.Min[0]), k*(s.bound.Max[1]-s.bound.Min[1])
	if c.wordless {
		return s
	}
	most, wide := c.Width-2*gutter, 0.0
	if c.wraps {
		s.words, wide = s.wrapped(math.Min(most, math.Max(s.wide, captionLeast)))
	} else {
		s.words, wide = []string{s.caption}, letters.Width(s.caption, captionHeight)
	}
	s.wide = math.Max(s.wide, math.Min(wide, most))
	return s
}

// Wrapped captions: least width and line spacing, in picture units.
const (
	captionLeast = 60.0
	captionStep  = 15.0
)

// wrapped wraps the caption into lines of at most that width; a word that is wider has a line of its own.
func (s slot) wrapped(most float64) (lines []string, widest float64) {
	line := 0.0
	for i, word := range strings.Fields(s.caption) {
		if with := line + captionHeight*0.6 + s.wordsWide[i]; i > 0 && with <= most {
			lines[len(lines)-1] += " " + word
			line = with
		} else {
			lines, line = append(lines, word), s.wordsWide[i]
		}
		widest = math.Max(widest, line)
	}
	return lines, widest
}

// slotOf is a piece of a draft with its caption.
func slotOf(p *pattern.Pattern, i int, caption string) slot {
	s := slot{of: p, piece: i, bound: bound(&p.Pieces[i]), caption: caption}
	for _, word := range strings.Fields(caption) {
		s.wordsWide = append(s.wordsWide, letters.Width(word, captionHeight))
	}
	return s
}

// groups are the pieces in the order in which they are placed, the tallest first, each with the piece beside it.
func (c *Canvas) groups(p *pattern.Pattern, list []int, opt Options) (out [][]slot) {
	high := func(g []slot) (high float64) {
		for _, s := range g {
			high = math.Max(high, s.bound.Max[1]-s.bound.Min[1])
		}
		return high
	}
	for _, i := range list {
		out = append(out, []slot{slotOf(p, i, captionOf(p, i))})
	}
	if was := opt.Beside; was != nil {
		for i := range was.Pieces {
			s := slotOf(was, i, was.Pieces[i].Name+"  "+cmp.Or(opt.Before, "as it was"))
			if s.bound.IsEmpty() {
				continue
			}
			if k := slices.IndexFunc(out, func(g []slot) bool {
				return len(g) == 1 && g[0].of == p && p.Pieces[g[0].piece].Name == was.Pieces[i].Name
			}); k >= 0 {
				out[k] = append(out[k], s)
			} else {
				out = append(out, []slot{s})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b []slot) int { return cmp.Compare(high(b), high(a)) })
	return out
}

// scaleFor picks one scale for all pieces: the widest fits the page, and the page is not much higher than wide.
func (c *Canvas) scaleFor(groups [][]slot, opt Options) float64 {
	k, high := math.Inf(1), 0.9*c.Width
	if opt.FaultsLarge {
		high = 480 // fits beside the words of a report on one page
	}
	var area float64
	for _, s := range slices.Concat(groups...) {
		w, h := math.Max(s.bound.Max[0]-s.bound.Min[0], 1), math.Max(s.bound.Max[1]-s.bound.Min[1], 1)
		k = math.Min(k, math.Min((c.Width-2*gutter)/w, high/h))
		area += w * h
	}
	if area == 0 {
		return 1
	}
	return math.Min(k, math.Sqrt(c.Width*(high+100)*0.55/area))
}

// scaleWithin is the largest scale at which all pieces fit in the frame, with the legend at its foot. Where there are
// too many captions for any scale, the picture is higher than the frame.
func (c *Canvas) scaleWithin(p *pattern.Pattern, groups [][]slot, opt Options) float64 {
	if len(groups) == 0 {
		return 1
	}
	legend := (&Canvas{Width: c.Width}).foot(p, 1, 0, opt)
	most := math.Inf(1)
	for _, s := range slices.Concat(groups...) {
		most = math.Min(most, (c.Width-2*gutter)/math.Max(s.bound.Max[0]-s.bound.Min[0], 1))
		most = math.Min(most, opt.High/math.Max(s.bound.Max[1]-s.bound.Min[1], 1))
	}
	for k := most; k > most/40; k *= 0.98 {
		high := gutter + legend + gutter/2
		for _, r := range c.inRows(groups, k) {
			high += r.high
		}
		if high <= opt.High {
			return k
		}
	}
	return c.scaleFor(groups, opt)
}

// row is a row of pieces.
type row struct {
	slots []slot
	// wide is the width without the gutters at its ends, tall the height of its tallest piece, high the height with
	// captions and the gutter below.
	wide, tall, high float64
}

// inRows breaks groups into rows. A piece and the one beside it are in one row where they fit.
func (c *Canvas) inRows(groups [][]slot, k float64) (rows []row) {
	most := c.Width - 2*gutter
	put := func(slots []slot, wide float64) {
		if n := len(rows); n == 0 || rows[n-1].wide+gutter+wide > most {
			rows = append(rows, row{wide: -gutter})
		}
		r := &rows[len(rows)-1]
		r.slots, r.wide = append(r.slots, slots...), r.wide+gutter+wide
	}
	for _, g := range groups {
		sized, wide := make([]slot, len(g)), -besideGap
		for i, s := range g {
			sized[i] = s.at(k, c)
			sized[i].after = besideGap
			wide += besideGap + sized[i].wide
		}
		if wide <= most {
			sized[len(g)-1].after = gutter
			put(sized, wide)
			continue
		}
		for _, s := range sized {
			s.after = gutter
			put([]slot{s}, s.wide)
		}
	}
	for i := range rows {
		r, lines := &rows[i], 1
		for _, s := range r.slots {
			r.tall, lines = math.Max(r.tall, s.high), max(lines, len(s.words))
		}
		r.high = r.tall + caption + captionStep*float64(lines-1) + gutter
	}
	return rows
}

// rows draws groups in rows from y down, each piece by draw, and gives the y below them.
func (c *Canvas) rows(groups [][]slot, k, y float64, draw func(slot, frame)) float64 {
	for _, r := range c.inRows(groups, k) {
		x := (c.Width - gutter - r.wide) / 2
		for _, s := range r.slots {
			draw(s, frameAt(s.bound, x, y, s.wide, r.tall, k))
			for i, words := range s.words {
				c.text(orb.Point{x + s.wide/2, y + r.tall + 20 + captionStep*float64(i)}, words, captionHeight, look.Slate, middle)
			}
			x += s.wide + s.after
		}
		y += r.high
	}
	return y
}
