package picture

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pdf"
)

// PDF draws the canvas into the upper part of a box of a page, as large as it fits, and gives its height there, mm; nothing of no canvas.
func (c *Canvas) PDF(d *pdf.Document, in orb.Bound) float64 {
	if c == nil {
		return 0
	}
	k := min((in.Max[0]-in.Min[0])/c.Width, (in.Max[1]-in.Min[1])/c.Height)
	to := geom.Translate(in.Min[0], in.Max[1]).After(geom.Scale(k, -k))
	for _, s := range c.shapes {
		if s.handle != nil {
			continue
		}
		var paths []geom.Path
		for _, l := range s.lines {
			paths = append(paths, geom.Path{Points: l.points, Closed: l.closed}.Apply(to))
		}
		colour := s.ink.Colour.Light
		rgb := fmt.Sprintf("%.3f %.3f %.3f", float64(colour.R)/255, float64(colour.G)/255, float64(colour.B)/255)
		d.Op("q " + rgb + " RG")
		if s.fill {
			d.FillColour(rgb, paths...)
		} else {
			var dashes []string
			for _, v := range s.ink.Dash {
				dashes = append(dashes, fmt.Sprintf("%.3f", v*k*pdf.Points))
			}
			d.Op("[" + strings.Join(dashes, " ") + "] 0 d")
			d.Stroke(s.ink.Width*k, paths...)
		}
		d.Op("Q")
	}
	return c.Height * k
}
