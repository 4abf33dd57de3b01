package testsquare

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/picture"
)

// enlarged is the factor by which a square's error is enlarged in its picture, so that the largest corner is off by
// about a tenth of the square.
func enlarged(r calibration.Result) float64 {
	worst := max(math.Abs(r.ScaleX-1), math.Abs(r.ScaleY-1), math.Abs(r.Shear), 1e-5)
	ten := math.Pow(10, math.Floor(math.Log10(0.1/worst)))
	for _, times := range []float64{5, 2} {
		if times*ten*worst <= 0.1 {
			ten *= times
			break
		}
	}
	return math.Max(1, ten)
}

// Picture shows the wanted square pale and the drawn one over it, its error enlarged, each side with its wanted length
// and its reading; ext is ".svg" or ".png".
func Picture(room *config.Workroom, device string, e Calibrated, ext string) ([]byte, error) {
	if len(e.Measured.Squares) == 0 {
		return nil, errors.New("there is no square to show: nothing but long lines or a blade was measured")
	}
	s, r := e.Measured.Squares[0], e.Result
	k := enlarged(r)
	box := line(true, orb.Point{}, orb.Point{s.Width, 0}, orb.Point{s.Width, s.Height}, orb.Point{0, s.Height})
	m := geom.Affine{A: 1 + k*(r.ScaleX-1), C: k * math.Sin(r.Shear), D: 1 + k*(r.ScaleY-1)}
	rising, falling := line(false, orb.Point{}, orb.Point{s.Width, s.Height}), line(false, orb.Point{0, s.Height}, orb.Point{s.Width, 0})
	wanted := picture.Layer{Kind: look.Wanted, Paths: []geom.Path{box, rising, falling}}
	drawn := picture.Layer{Kind: look.Check, Paths: []geom.Path{box.Apply(m), rising.Apply(m), falling.Apply(m)}}
	at := geom.Translate(0.2*s.Width, 0.2*s.Height)
	v := picture.View{Width: 1.4 * s.Height, Length: 1.4 * s.Width, Layers: []picture.Layer{wanted, drawn}, Words: sideWords(e.Measured, m, room.Units),
		Title: fmt.Sprintf("%s%s, calibration %d: wanted pale and dashed, drawn dark, its error enlarged %.0f times", device, on(e.onPaper()), e.No, k)}
	for _, l := range v.Layers {
		for i := range l.Paths {
			l.Paths[i] = l.Paths[i].Apply(at)
		}
	}
	for i := range v.Words {
		v.Words[i].At = at.Apply(v.Words[i].At)
	}
	c := picture.Device(v, picture.Options{Unit: room.Units})
	switch strings.ToLower(ext) {
	case ".svg":
		return c.SVG(), nil
	case ".png":
		return c.PNG(1400)
	}
	return nil, fmt.Errorf("a picture's name ends in .svg or .png, not %q", ext)
}

func line(closed bool, pts ...orb.Point) geom.Path {
	return geom.Path{Closed: closed, Corners: make([]bool, len(pts)), Points: pts}
}

// sideWords letters the sides outside the larger of both squares, and the diagonals along their lines: the name, the
// wanted length, and the mean reading of all squares.
func sideWords(all calibration.Measured, m geom.Affine, unit string) []picture.Words {
	s := all.Squares[0]
	height := min(s.Width, s.Height) / 50
	reach := m.Apply(orb.Point{s.Width, s.Height})
	right, top := max(s.Width, reach[0]), max(s.Height, reach[1])
	var out []picture.Words
	for _, w := range []struct {
		side calibration.Side
		at   orb.Point
		turn float64
	}{
		{calibration.Bottom, orb.Point{s.Width / 2, -3 * height}, 0},
		{calibration.Top, orb.Point{s.Width / 2, top + 2*height}, 0},
		{calibration.Left, orb.Point{-2*height + min(0, m.Apply(orb.Point{0, s.Height})[0]), s.Height / 2}, math.Pi / 2},
		{calibration.Right, orb.Point{right + 3*height, s.Height / 2}, math.Pi / 2},
		{calibration.Rising, orb.Point{0.25 * s.Width, 0.25*s.Height + 2*height}, math.Atan2(s.Height, s.Width)},
		{calibration.Falling, orb.Point{0.75 * s.Width, 0.25*s.Height + 2*height}, -math.Atan2(s.Height, s.Width)},
	} {
		sum, n := 0.0, 0.0
		for _, q := range all.Squares {
			for _, v := range q.Readings[w.side] {
				sum, n = sum+v, n+1
			}
		}
		if n == 0 {
			continue
		}
		wanted, _ := asRead(s.Nominal(w.side), unit, 1)
		read, _ := asRead(sum/n, unit, 2)
		out = append(out, picture.Words{Text: fmt.Sprintf("%s: %v %s wanted, %v read", w.side, wanted, unit, read), At: w.at, Turn: w.turn, Height: height})
	}
	return out
}
