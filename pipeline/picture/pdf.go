package picture

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pdf"
)

// PDF draws the canvas into the upper part of a box of a page, as large as fits, and gives its height there, mm; a nil
// canvas draws nothing. Words are text, so that they can be searched and read aloud.
func (c *Canvas) PDF(d *pdf.Document, in orb.Bound) float64 {
	if c == nil {
		return 0
	}
	k := min((in.Max[0]-in.Min[0])/c.Width, (in.Max[1]-in.Min[1])/c.Height)
	to := geom.Translate(in.Min[0], in.Max[1]).After(geom.Scale(k, -k))
	for _, s := range c.shapes {
		if s.handle != nil || s.class == "words" {
			continue
		}
		var paths []geom.Path
		for _, l := range s.lines {
			paths = append(paths, geom.Path{Points: l.points, Closed: l.closed}.Apply(to))
		}
		rgb := rgbOf(s.ink.Colour)
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
	for _, w := range c.captions {
		d.Op("q " + rgbOf(w.colour) + " rg")
		d.Text(to.Apply(w.at), pdf.Lettering{Height: w.height * k, Most: w.width * k, Angle: w.turn}, w.words)
		d.Op("Q")
	}
	return c.Height * k
}

func rgbOf(ink look.Ink) string {
	c := ink.Light
	return fmt.Sprintf("%.3f %.3f %.3f", float64(c.R)/255, float64(c.G)/255, float64(c.B)/255)
}
