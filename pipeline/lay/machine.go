package lay

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/lay/exact"
	"tracewheel/pipeline/pattern"
)

// OnMachine lays the pieces in one layer, whatever the material says of folds: a folded lay is never sent to a
// machine. A lay is sought for opt.Time, the first one taken where that is 0; and for opt.Steps only where it is too
// long for the material then. On sheets and frames a piece that one of them holds lies on one. Where coordinates are
// rounded to opt.Grid the lay keeps the gap after that too, unless the material is too short for it: rounding may then
// bring two pieces nearer by 1.42 of the grid. See OnCloth.
func OnMachine(ctx context.Context, ready []pattern.Ready, m pattern.Material, opt Options) (pattern.Lay, []pattern.Finding) {
	m.Fold = pattern.FoldNone
	if opt.Grid > 0 {
		opt.Time /= 2
	}
	l, found := onBed(ctx, ready, m, opt)
	if opt.Grid == 0 || len(found) > 0 || soundRounded(&l, ready, opt.Grid) {
		return l, found
	}
	apart := m
	apart.Gap += math.Sqrt2 * opt.Grid // each of two points moves by half a grid along both axes
	if wide, found := onBed(ctx, ready, apart, opt); len(found) == 0 {
		wide.Material = m
		return wide, nil
	}
	return l, nil
}

// onBed lays the pieces on a machine's bed, roll or sheets with the gap as it is.
func onBed(ctx context.Context, ready []pattern.Ready, m pattern.Material, opt Options) (pattern.Lay, []pattern.Finding) {
	first, more := opt, opt
	first.Steps, more.Time, more.Best = 0, 0, false
	if m.Pages.Step > 0 {
		return onPages(ctx, ready, m, first)
	}
	l, found := OnCloth(ctx, ready, m, first)
	if len(found) == 1 && found[0].Index < 0 && opt.Steps > 0 {
		return OnCloth(ctx, ready, m, more)
	}
	return l, found
}

// soundRounded tells whether no two pieces come nearer than the gap when each point is rounded to a grid.
func soundRounded(l *pattern.Lay, ready []pattern.Ready, grid float64) bool {
	round := func(line []orb.Point, by geom.Affine) []orb.Point {
		out := make([]orb.Point, len(line))
		for i, p := range line {
			p = by.Apply(p)
			out[i] = orb.Point{math.Round(p[0]/grid) * grid, math.Round(p[1]/grid) * grid}
		}
		return out
	}
	pieces := make([]exact.Piece, len(l.Placements))
	for i, p := range l.Placements {
		r := &ready[p.Ready]
		pieces[i].Outline = round(r.Outline.Points, p.Map)
		for _, c := range r.Cutouts() {
			pieces[i].Holes = append(pieces[i].Holes, round(c.Points, p.Map))
		}
	}
	return !slices.ContainsFunc(exact.Check(exact.Strip{Width: l.Material.Width, Gap: l.Material.Gap}, pieces),
		func(f exact.Fault) bool { return f.B >= 0 })
}
