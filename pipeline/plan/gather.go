package plan

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// cutPiece is the knife's work on one placed piece: all lines within it, then the outline.
type cutPiece struct {
	inner   []devices.Stroke
	outline devices.Stroke
}

func allCuts(pieces []cutPiece) []devices.Stroke {
	var out []devices.Stroke
	for _, c := range pieces {
		out = append(append(out, c.inner...), c.outline)
	}
	return out
}

// gather maps the pieces' lines onto the material and assigns them to pen and knife. Lines that the device cannot make
// are counted in the report.
func gather(ready []pattern.Ready, l pattern.Lay, p devices.Profile, rep *Report) (drawn []devices.Stroke, cut []cutPiece) {
	knife := p.Kind.Cuts()
	for _, pl := range l.Placements {
		if pl.Ready < 0 || pl.Ready >= len(ready) {
			continue
		}
		r := ready[pl.Ready]
		stroke := func(tool devices.Tool, role pattern.Role, label string, path geom.Path, m geom.Affine) devices.Stroke {
			return devices.Stroke{Tool: tool, Role: string(role), Kind: string(look.KindOf(role, label)), Path: path.Apply(m), Piece: pl.Ready, Name: r.Name}
		}
		var piece cutPiece
		var words []*pattern.Word
		for _, line := range r.Lines {
			if len(line.Path.Points) == 0 {
				continue
			}
			m := line.PlacedBy(pl.Map)
			switch {
			case knife && line.Cut:
				piece.inner = append(piece.inner, stroke(devices.Knife, line.Role, line.Label, line.Path, m))
			case p.HasPen() && line.Word != nil && lettersItself(p) && pl.Map.Det() > 0:
				if !slices.Contains(words, line.Word) {
					words = append(words, line.Word)
					drawn = append(drawn, worded(stroke(devices.Pen, line.Role, line.Label, geom.Path{}, m), *line.Word, m))
				}
			case p.HasPen():
				for _, path := range drawnAs(line) {
					drawn = append(drawn, stroke(devices.Pen, line.Role, line.Label, path, m))
				}
			default:
				rep.leaveOut(string(line.Role))
			}
		}
		switch {
		case len(r.Outline.Points) == 0:
		case knife:
			piece.outline = stroke(devices.Knife, pattern.RoleCut, "", r.Outline, pl.Map)
			cut = append(cut, piece)
		default:
			for _, path := range r.CutLines() {
				drawn = append(drawn, stroke(devices.Pen, pattern.RoleCut, "", path, pl.Map))
			}
		}
	}
	return drawn, cut
}

// lettersItself reports whether the device is sent words instead of their strokes. A mirrored piece keeps its strokes,
// because devices do not letter mirrored.
func lettersItself(p devices.Profile) bool {
	return p.Language != devices.GCode && p.Plot.Labels == "text"
}

// worded makes a stroke whose words the device letters itself.
func worded(s devices.Stroke, w pattern.Word, m geom.Affine) devices.Stroke {
	s.Path = geom.Path{Points: []orb.Point{m.Apply(w.At), m.Apply(geom.Add(w.At, w.Along))}}
	s.Label, s.Fixed = &devices.Label{Text: w.Text, Height: w.Height}, true
	return s
}

// crossArm is half the cross that a pen draws for a place without a known diameter, mm.
const crossArm = 2.5

// drawnAs are the paths that a pen draws for one line. A single place, such as a drill mark, becomes a cross, in a
// circle of its diameter where one is known; some kinds have more strokes than their line.
func drawnAs(line pattern.Line) []geom.Path {
	if len(line.Path.Points) > 1 {
		return look.Lines(look.KindOf(line.Role, line.Label), line.Path)
	}
	c := line.Path.Points[0]
	cross := []geom.Path{
		{Points: []orb.Point{{c[0] - crossArm, c[1]}, {c[0] + crossArm, c[1]}}},
		{Points: []orb.Point{{c[0], c[1] - crossArm}, {c[0], c[1] + crossArm}}},
	}
	if r := line.Diameter / 2; r > 0 {
		round := geom.FlattenArc(nil, c, orb.Point{r, 0}, orb.Point{0, r}, 0, 2*math.Pi, geom.FlattenTol)
		corners := make([]bool, len(round))
		cross = append(cross, geom.Path{Points: round, Corners: corners, Closed: true})
	}
	return cross
}
