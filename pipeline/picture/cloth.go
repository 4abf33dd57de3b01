package picture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Cloth draws the lay on a named cloth to scale: opened out, its folds and selvedges dashed.
func Cloth(name string, l *pattern.Lay, drawn []pattern.Ready, opt Options) *Canvas {
	m := l.Material
	v := View{Title: fmt.Sprintf("%s, %s wide, %s", name, length(math.Round(m.Width), opt), l.Fold.Words()), Width: m.Width, Length: l.LengthUsed, Laid: true}
	switch m.Nap {
	case pattern.NapAll:
		v.Title += ", one way"
		v.Nap = m.Cloth
	case pattern.NapGarment:
		v.Title += ", each garment one way"
	}
	if m.Length > 0 && l.LengthUsed > m.Length {
		v.End, v.Said = m.Length, beyondEnd(l, drawn, opt)
	}
	level := func(kind look.Kind, from, to, y float64) {
		v.Layers = append(v.Layers, Layer{Kind: kind, Paths: []geom.Path{{Points: []orb.Point{{from, y}, {to, y}}, Corners: []bool{true, true}}}})
	}
	for _, y := range l.FoldLines() {
		level(look.Fold, 0, l.Opened, y)
	}
	if side := m.Side(); side > 0 {
		level(look.Quality, 0, v.Length, side)
		level(look.Quality, 0, v.Length, m.Width-side)
	}
	for _, zone := range m.Avoid {
		v.Layers = append(v.Layers, Layer{Kind: look.Flaw, Paths: []geom.Path{{Points: within(zone, v.Length), Closed: true}}})
	}
	for _, p := range l.Placements {
		r := drawn[p.Ready]
		v.Layers = append(v.Layers, Layer{Kind: look.Cut, Paths: mapped(r.CutLines(), p.Map)})
		for _, ln := range r.Lines {
			if ln.Word == nil {
				v.Layers = append(v.Layers, Layer{Kind: look.KindOf(ln.Role, ln.Label), Paths: []geom.Path{ln.Path.Apply(p.Map)}})
			}
		}
		if g := r.Grain; g != nil && m.Cloth && !slices.ContainsFunc(r.Lines, func(ln pattern.Line) bool { return ln.Role == pattern.RoleGrain }) { // a machine without a pen leaves it out
			v.Layers = append(v.Layers, Layer{Kind: look.KindOf(pattern.RoleGrain, ""), Paths: mapped([]geom.Path{{Points: []orb.Point{g.A, g.B}, Corners: []bool{true, true}}}, p.Map)})
		}
		v.Words = append(v.Words, lettered(&r, p.Map))
	}
	return Device(v, opt)
}

// within clips a zone to the laid length, so that the picture is no longer than the lay.
func within(zone []orb.Point, length float64) []orb.Point {
	out := make([]orb.Point, len(zone))
	for i, p := range zone {
		out[i] = orb.Point{math.Min(p[0], length), p[1]}
	}
	return out
}

// beyondEnd says where the material ends, and names the pieces that lie wholly or partly beyond its end, as many as
// fit in a line.
func beyondEnd(l *pattern.Lay, drawn []pattern.Ready, opt Options) []string {
	var names []string
	for _, p := range l.Placements {
		r := &drawn[p.Ready]
		if r.Outline.Apply(p.Map).Bound().Max[0] > l.Material.Length && !slices.Contains(names, r.Name) {
			names = append(names, r.Name)
		}
	}
	line := func(n int) string {
		words := "beyond it lie " + strings.Join(names[:n], ", ")
		if n < len(names) {
			words += fmt.Sprintf(" and %d more", len(names)-n)
		}
		return words
	}
	n := len(names)
	for n > 1 && letters.Width(line(n), saidHeight) > pageWidth-2*gutter {
		n--
	}
	return []string{fmt.Sprintf("the cloth ends at %s, at the thick line: %s too short", length(l.Material.Length, opt), length(l.LengthUsed-l.Material.Length, opt)), line(n)}
}

func length(mm float64, opt Options) string { return pattern.Length(mm, cmp.Or(opt.Unit, "mm")) }

func mapped(paths []geom.Path, by geom.Affine) []geom.Path {
	out := make([]geom.Path, len(paths))
	for i, p := range paths {
		out[i] = p.Apply(by)
	}
	return out
}
