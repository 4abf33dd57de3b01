package draft

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const (
	// finerReach is how far, in mm, a finer curve may lie from the line that it renders: the chords of
	// a coarse curve leave it by a millimetre or two.
	finerReach = 3.0
	// keepTol is how near, in mm, a corner or a notch lies to the line on which it stands.
	keepTol = 0.5
)

// takeFiner puts the finer curves in the place of the lines that they render, corners and notches
// with them, and says so.
func takeFiner(p *pattern.Pattern, room string) {
	for i := range p.Pieces {
		piece := &p.Pieces[i]
		lines := []*geom.Path{}
		if piece.Cut != nil {
			lines = append(lines, piece.Cut)
		}
		for k := range piece.Sew {
			lines = append(lines, &piece.Sew[k])
		}
		for k := range piece.Cutouts {
			lines = append(lines, &piece.Cutouts[k])
		}
		for _, m := range piece.Marks {
			if m.Role != pattern.RoleQuality || !m.Path.Closed {
				continue
			}
			if line, far := rendered(lines, m.Path); line != nil && far > 0 {
				exchange(piece, line, m.Path)
				p.Findings = append(dropDiffers(p.Findings, i), tellFiner(piece, i, far, p.ReadIn(room)))
			}
		}
	}
}

// rendered is the drawn line that the finer one follows, and the most that they are apart.
func rendered(lines []*geom.Path, finer geom.Path) (line *geom.Path, far float64) {
	far = finerReach
	for _, l := range lines {
		if !l.Closed {
			continue
		}
		if d := math.Max(farthest(*l, finer), farthest(finer, *l)); d < far {
			line, far = l, d
		}
	}
	return line, far
}

func farthest(from, to geom.Path) float64 {
	ix, far := geom.NewIndex(to), 0.0
	for _, p := range from.Points {
		_, n := ix.Nearest(p)
		far = math.Max(far, n.Dist)
	}
	return far
}

func exchange(piece *pattern.Piece, line *geom.Path, finer geom.Path) {
	old := *line
	ix := geom.NewIndex(old)
	for i, n := range piece.Notches {
		if _, at := ix.Nearest(n.At); at.Dist <= keepTol {
			piece.Notches[i].At = finer.Nearest(n.At).Point
		}
	}
	corners := make([]bool, len(finer.Points))
	for i := range old.Points {
		if !old.Corner(i) {
			continue
		}
		best, least := -1, keepTol
		for k, q := range finer.Points {
			if d := geom.Dist(old.Points[i], q); d < least {
				best, least = k, d
			}
		}
		if best >= 0 {
			corners[best] = true
		}
	}
	if line == piece.EdgeLine() {
		piece.Edges = nil // they count the old line's vertices; corners find them again
	}
	*line = geom.Path{Points: finer.Points, Corners: corners, Closed: true}
}

func dropDiffers(fs []pattern.Finding, piece int) []pattern.Finding {
	var out []pattern.Finding
	for _, f := range fs {
		if f.Rule != pattern.RuleQualityDiffers || f.Index != piece {
			out = append(out, f)
		}
	}
	return out
}

func tellFiner(piece *pattern.Piece, index int, far float64, unit string) pattern.Finding {
	f := pattern.NewFinding(pattern.RuleQualityDiffers,
		fmt.Sprintf("the finer curve that the draft gives beside its outline is used, up to %s from the line as drawn", pattern.FineLength(far, unit)),
		"nothing; sewing.finer_curves: drawn in the workroom file takes the line as drawn")
	f.Piece, f.Index = piece.Name, index
	return f
}
