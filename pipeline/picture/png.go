package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"github.com/paulmach/orb"
	"golang.org/x/image/vector"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
)

// PNG writes the canvas with px pixels across. Widths from 100 to 8000 are allowed.
func (c *Canvas) PNG(px int) ([]byte, error) {
	if px < 100 || px > 8000 {
		return nil, fmt.Errorf("a picture may be 100 to 8000 pixels wide, not %d", px)
	}
	k := float64(px) / c.Width
	h := int(math.Ceil(c.Height * k))
	if h < 1 || h > 20000 {
		return nil, fmt.Errorf("the picture would be %d pixels high; 20000 is the most", h)
	}
	img := image.NewRGBA(image.Rect(0, 0, px, h))
	draw.Draw(img, img.Bounds(), image.NewUniform(look.Ground.Light), image.Point{}, draw.Src)
	p := painter{img: img, k: k, ras: vector.NewRasterizer(1, 1)}
	for _, s := range c.shapes {
		if s.handle == nil {
			p.shape(s)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("writing the picture: %w", err)
	}
	return b.Bytes(), nil
}

// mostAreas is how many areas are collected before they are painted.
const mostAreas = 20_000

type painter struct {
	img *image.RGBA
	k   float64
	ras *vector.Rasterizer
	// areas are the areas of the current shape, in pixels.
	areas [][]orb.Point
}

func (p *painter) shape(s shape) {
	p.areas = p.areas[:0]
	for _, l := range s.lines {
		pts := make([]orb.Point, len(l.points))
		for i, q := range l.points {
			pts[i] = geom.Mul(q, p.k)
		}
		switch {
		case s.fill:
			p.polygon(pts)
		default:
			for _, d := range dashes(pts, l.closed, s.ink.Dash, p.k) {
				p.stroke(d, math.Max(s.ink.Width*p.k/2, 0.45))
			}
			if len(p.areas) >= mostAreas { // a plot of a million strokes would need too much memory
				p.paint(s.ink.Colour.Light)
				p.areas = p.areas[:0]
			}
		}
	}
	p.paint(s.ink.Colour.Light)
}

// paint rasterizes the areas together, on the part of the picture that they cover. A lay has hundreds of short
// strokes, and rasterizing the whole page for each would be slow.
func (p *painter) paint(ink color.Color) {
	bound := orb.MultiPoint{}.Bound()
	for i, area := range p.areas {
		if b := orb.MultiPoint(area).Bound(); i == 0 {
			bound = b
		} else {
			bound = bound.Union(b)
		}
	}
	page := p.img.Rect
	at := image.Rect(pixel(bound.Min[0], page.Max.X), pixel(bound.Min[1], page.Max.Y),
		pixel(bound.Max[0]+1, page.Max.X), pixel(bound.Max[1]+1, page.Max.Y))
	if len(p.areas) == 0 || at.Empty() {
		return
	}
	p.ras.Reset(at.Dx(), at.Dy())
	for _, area := range p.areas {
		for i, q := range area {
			x, y := float32(q[0]-float64(at.Min.X)), float32(q[1]-float64(at.Min.Y))
			if i == 0 {
				p.ras.MoveTo(x, y)
			} else {
				p.ras.LineTo(x, y)
			}
		}
		p.ras.ClosePath()
	}
	p.ras.Draw(p.img, at, image.NewUniform(ink), image.Point{})
}

// pixel is the pixel of a coordinate, clamped to 0 to most.
func pixel(v float64, most int) int {
	return int(math.Floor(math.Max(0, math.Min(v, float64(most)))))
}

// polygon adds a closed area, always with the same orientation: the rasterizer adds up signed coverage, so that two
// areas of opposite orientation would cancel where they overlap.
func (p *painter) polygon(pts []orb.Point) {
	if (geom.Path{Points: pts, Closed: true}).SignedArea() < 0 {
		pts = geom.Path{Points: pts, Closed: true}.Reversed().Points
	}
	p.areas = append(p.areas, pts)
}

// stroke adds a line of half width r: a rectangle for each segment and a disc at each vertex.
func (p *painter) stroke(pts []orb.Point, r float64) {
	for i := range pts {
		if r > 0.8 || i == 0 || i == len(pts)-1 {
			p.polygon(octagon(pts[i], r))
		}
		if i == 0 {
			continue
		}
		n := geom.Mul(geom.Left(geom.Unit(geom.Sub(pts[i], pts[i-1]))), r)
		p.polygon([]orb.Point{geom.Add(pts[i-1], n), geom.Sub(pts[i-1], n), geom.Sub(pts[i], n), geom.Add(pts[i], n)})
	}
}

func octagon(at orb.Point, r float64) []orb.Point {
	d := r * math.Sqrt2 / 2
	return []orb.Point{{at[0] + r, at[1]}, {at[0] + d, at[1] + d}, {at[0], at[1] + r}, {at[0] - d, at[1] + d},
		{at[0] - r, at[1]}, {at[0] - d, at[1] - d}, {at[0], at[1] - r}, {at[0] + d, at[1] - d}}
}

// dashes divides a line into its drawn stretches.
func dashes(pts []orb.Point, closed bool, dash []float64, k float64) [][]orb.Point {
	if closed && len(pts) > 1 {
		pts = append(append([]orb.Point(nil), pts...), pts[0])
	}
	if len(dash) == 0 || len(pts) < 2 {
		return [][]orb.Point{pts}
	}
	var out [][]orb.Point
	cur, left, on := []orb.Point{pts[0]}, dash[0]*k, 0
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		for d := geom.Dist(a, b); d > left; d = geom.Dist(a, b) {
			a = geom.Lerp(a, b, left/d)
			if on%2 == 0 {
				out = append(out, append(cur, a))
			}
			on++
			cur, left = []orb.Point{a}, dash[on%len(dash)]*k
		}
		left -= geom.Dist(a, b)
		cur = append(cur, b)
	}
	if on%2 == 0 {
		out = append(out, cur)
	}
	return out
}
