package pattern

import "tracewheel/geom"

// OffFolds is what is left of a closed line without its stretches on any of some folds, of which each may be nil.
func OffFolds(line geom.Path, folds ...*Segment) []geom.Path {
	runs := []geom.Path{line}
	for _, f := range folds {
		var left []geom.Path
		for _, r := range runs {
			left = append(left, OffFold(r, f)...)
		}
		runs = left
	}
	return runs
}

// OffFold is what is left of a closed line without its stretches on the fold: open paths, each
// running the way the line does, or the line itself where nothing lies on the fold. A line that is
// all fold leaves nothing.
func OffFold(line geom.Path, fold *Segment) []geom.Path {
	n := line.Segments()
	if fold == nil || n == 0 {
		return []geom.Path{line}
	}
	on := make([]bool, n)
	first := -1 // a stretch on the fold, where the walk begins
	for i := range n {
		a, b := line.Segment(i)
		on[i] = fold.Holds(a, b)
		if on[i] && first < 0 {
			first = i
		}
	}
	if first < 0 {
		return []geom.Path{line}
	}
	if !line.Closed {
		first = 0
	}
	var runs []geom.Path
	var run geom.Path
	for k := range n {
		i := (first + k) % n
		if on[i] {
			runs, run = keepRun(runs, run, line.Corners != nil), geom.Path{}
			continue
		}
		if len(run.Points) == 0 {
			run.Points, run.Corners = append(run.Points, line.Points[i]), append(run.Corners, true)
		}
		j := (i + 1) % len(line.Points)
		run.Points, run.Corners = append(run.Points, line.Points[j]), append(run.Corners, line.Corner(j))
	}
	return keepRun(runs, run, line.Corners != nil)
}

func keepRun(runs []geom.Path, run geom.Path, corners bool) []geom.Path {
	if len(run.Points) < 2 {
		return runs
	}
	if !corners {
		run.Corners = nil
	}
	return append(runs, run)
}
