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

// OnMachine lays the pieces in one layer, whatever the material says about folds: a folded lay is never sent to a
// machine. It searches for opt.Time, or takes the first lay where that is 0; opt.Steps counts only where that lay is
// too long for the material. On sheets and frames a piece that fits on one is on one. Where coordinates are rounded to
// opt.Grid the lay keeps the gap after rounding too, unless the material is too short for it: then rounding may bring
// two pieces closer by 1.42 of the grid. See OnCloth.
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

// onBed lays the pieces on a machine's bed, roll or sheets with the given gap.
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

// soundRounded reports whether all pieces keep the gap when each point is rounded to a grid.
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
