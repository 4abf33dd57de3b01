// Package lay places cut-ready pieces on a material and says what length they take. It knows grain, nap, folds,
// selvedges and flaws; of the machine it knows only the material's size. pipeline/lay/separation searches for the
// places.
package lay

import (
	"context"
	"errors"
	"math"
	"runtime"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/lay/separation"
	"tracewheel/pipeline/pattern"
)

// rounding is how far a piece may overhang, in mm: as much as the test of a lay allows.
const rounding = 0.005

// slack is added to a strip's width, so that pieces that fill it exactly find a place, mm.
const slack = 0.002

// Options bound the search for a lay.
type Options struct {
	// Steps bounds the search such that the same seed gives the same lay; 0 searches until Time is over, and gives the
	// first lay where both are 0.
	Steps int
	Time  time.Duration
	Seed  uint64
	// Cores is the number of cores to use; 0 for all, or all but one where Busy is set, which leaves one for sending.
	Cores int
	// Grid is the unit to which a device rounds coordinates, mm; 0 where it is finer than the tolerance of a lay.
	Grid float64
	// Best continues the search after the pieces fit on the material, to waste less of it.
	Best bool
	// Busy tells when the search must pause, as separation.Options.Busy does; nil for never.
	Busy func() bool
	// Progress is called with the length of each shorter lay, mm. It may be nil.
	Progress func(length float64)
	// Unit is the unit of lengths in messages; "" is mm.
	Unit string
	// Bed means that the machine's bed limits the lay, not the material: messages say so.
	Bed bool
	// Over receives the lay that is refused because it is too long for the material; it may be nil.
	Over *pattern.Lay
}

// part gives the options for a part of the search.
func (o Options) part(share float64) Options {
	if o.Steps > 0 {
		o.Steps = max(1, int(math.Round(share*float64(o.Steps))))
	}
	o.Time = time.Duration(share * float64(o.Time))
	return o
}

func (o Options) cores() int {
	if o.Cores == 0 && o.Busy != nil {
		return max(1, runtime.GOMAXPROCS(0)-1)
	}
	return o.Cores
}

// quick is a search long enough to compare ways of folding and widths.
func (o Options) quick() Options {
	q := Options{Seed: o.Seed, Cores: o.Cores, Busy: o.Busy, Steps: o.Steps / 10, Time: o.Time / 10}
	if o.Steps > 0 {
		q.Steps = max(q.Steps, 1)
	}
	return q
}

// OnCloth lays the pieces. Grain lines are along the length on cloth, and point along it where all pieces point one
// way; paper, and cloth pieces without a grain line, may be turned by quarters. On folded cloth pieces on the fold are
// on a folded edge, pairs are cut from two layers, and pieces cut from one layer are laid behind them on cloth opened
// out; FoldBest is the fold with the shortest lay. On cloth with its wrong side up each piece of one layer is turned
// over. Findings, without a lay, are a piece that fits in no turn and pieces longer than the material. Nothing
// overlaps; gap, margin, selvedges and zones to avoid are kept to 0.005 mm. The search ends early with ctx, with the
// best lay so far.
func OnCloth(ctx context.Context, ready []pattern.Ready, m pattern.Material, opt Options) (pattern.Lay, []pattern.Finding) {
	empty := pattern.Lay{Material: m, Fold: pattern.FoldNone}
	if len(ready) == 0 {
		return empty, nil
	}
	if !m.Cloth {
		m.Fold = pattern.FoldNone
	}
	s := seeker{ctx: ctx, ready: ready, m: m, opt: opt}
	if f := s.beyond(); len(f) > 0 {
		return empty, f
	}
	fold := m.Fold
	if fold == pattern.FoldBest {
		fold = s.bestFold()
	}
	l, err := s.lay(fold, opt)
	if err != nil {
		return empty, []pattern.Finding{s.refused(fold, err)}
	}
	if m.Length > 0 && l.LengthUsed > m.Length+rounding {
		if opt.Over != nil {
			*opt.Over = l
		}
		return empty, []pattern.Finding{tooLong(ready, l, opt)}
	}
	return l, nil
}

// seeker searches lays of some pieces on one material.
type seeker struct {
	ctx   context.Context
	ready []pattern.Ready
	m     pattern.Material
	opt   Options
	// wholes are the pieces as they are laid in one layer, cached.
	wholes []*unit
	// around are the garments whose grain points against the length.
	around map[int]bool
}

// bestFold is the way of folding with the shortest lay in a short search. Of equal ones, cloth in one layer is
// preferred.
func (s *seeker) bestFold() pattern.Folding {
	best, least := pattern.FoldNone, math.Inf(1)
	folds := []pattern.Folding{pattern.FoldNone}
	if s.folds() {
		folds = append(folds, pattern.FoldOnce, pattern.FoldPart, pattern.FoldTwo)
	}
	if len(folds) == 1 {
		return best
	}
	for _, f := range folds {
		if l, err := s.lay(f, s.opt.quick()); err == nil && l.LengthUsed < least-1 {
			best, least = f, l.LengthUsed
		}
	}
	return best
}

// folds reports whether a piece needs folded cloth: one on the fold or a pair.
func (s *seeker) folds() bool {
	if len(s.m.Turns) > 0 {
		return false
	}
	for i := range s.ready {
		if r := &s.ready[i]; r.OnFold != nil || r.Mirrored || r.BothHands && r.Copies > 1 {
			return true
		}
	}
	return false
}

// lay lays all pieces on cloth that is folded in one way.
func (s *seeker) lay(fold pattern.Folding, opt Options) (pattern.Lay, error) {
	if fold != pattern.FoldNone && s.m.Nap == pattern.NapGarment {
		return s.garments(fold, opt)
	}
	l := pattern.Lay{Material: s.m, Fold: fold}
	sections, err := s.sections(fold)
	if err != nil {
		return l, err
	}
	l.FoldDepth = sections.depth
	total := 0
	for _, st := range sections.all() {
		total += len(st.units)
	}
	x := s.m.Margin
	for k, group := range [][]*strip{sections.folded, sections.open} {
		end := x
		for _, st := range group {
			if len(st.units) == 0 {
				continue
			}
			from := x
			if k > 0 && len(l.Placements) > 0 {
				from += s.m.Gap
			}
			part := opt.part(float64(len(st.units)) / float64(total))
			if told := opt.Progress; told != nil {
				part.Progress = func(length float64) { told(from + length + s.m.Margin) }
			}
			length, err := s.fill(st, from, &l, part)
			if err != nil {
				return l, err
			}
			end = math.Max(end, from+length)
		}
		if x = end; k == 0 && fold != pattern.FoldNone {
			l.Opened = end
		}
	}
	l.LengthUsed = x + s.m.Margin
	l.Efficiency = Area(s.ready) / (s.m.Width * l.LengthUsed)
	return l, nil
}

// fill lays the units of a strip behind x and adds their placements.
func (s *seeker) fill(st *strip, x float64, l *pattern.Lay, opt Options) (length float64, err error) {
	items := make([]separation.Item, len(st.units))
	for i, u := range st.units {
		items[i] = separation.Item{Outline: u.outline, Turns: u.turns, Group: u.group, Holes: u.holes}
		if u.half {
			items[i].Edge = separation.Bottom
		}
	}
	room := separation.Strip{Width: st.width + slack, Gap: s.m.Gap, Avoid: st.avoid(s.m, x)}
	if s.m.Length > 0 && !opt.Best {
		room.Length = math.Max(s.m.Length-s.m.Margin-x, 1)
	}
	ctx := s.ctx
	if opt.Steps == 0 {
		end, cancel := context.WithTimeout(ctx, max(opt.Time, time.Nanosecond))
		defer cancel()
		ctx = end
	}
	o := separation.Options{Seed: opt.Seed, Steps: opt.Steps, Cores: opt.cores(), Busy: opt.Busy}
	if opt.Progress != nil {
		o.Progress = func(l separation.Layout) { opt.Progress(l.Length) }
	}
	lay, err := separation.Search(ctx, room, items, o)
	if err != nil {
		var wide *separation.TooWide
		if errors.As(err, &wide) {
			return 0, &narrow{unit: st.units[wide.Item], least: wide.Least, strip: st}
		}
		var bad *separation.BadItem
		if errors.As(err, &bad) {
			return 0, &unfit{unit: st.units[bad.Item], why: bad.Why}
		}
		return 0, err
	}
	for _, p := range lay.Placements {
		u := st.units[p.Item]
		in := geom.Translate(p.At[0], p.At[1]).After(geom.Rotate(p.Turn * math.Pi / 180))
		u.place(st.layer(x).After(in), st, s.ready, l)
	}
	return lay.Length, nil
}

// Area is the area within the pieces' cut lines in mm2, without openings, in which other pieces may lie.
func Area(ready []pattern.Ready) float64 {
	var sum float64
	for i := range ready {
		sum += ready[i].Outline.Area()
		for _, c := range ready[i].Cutouts() {
			sum -= c.Area()
		}
	}
	return sum
}

// inWords describes a rigid map as steps in their order: mirrored (x becomes -x), rotated about the origin, moved.
func inWords(m geom.Affine) (at orb.Point, deg float64, mirrored bool) {
	mirrored = m.Det() < 0
	a, b := m.A, m.B
	if mirrored {
		a, b = -a, -b
	}
	return orb.Point{m.E, m.F}, degrees(math.Atan2(b, a)), mirrored
}

func degrees(angle float64) float64 {
	d := math.Mod(angle*180/math.Pi, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360-1e-9 || math.Abs(d) < 1e-12 {
		return 0
	}
	return d
}
