package calibration

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/geom/letters"
)

// Plot is what is drawn or cut for measuring, lengths in mm on the device.
type Plot struct {
	// Width and Height are the size of every square, Places their lower left corners.
	Width  float64     `json:"width_mm"`
	Height float64     `json:"height_mm"`
	Places []orb.Point `json:"places_mm"`
	// Long is the length of the lines along both edges of a roll, 0 for none; LongAt is the start of the lower line
	// and LongApart the distance of the upper one.
	Long      float64   `json:"long_mm,omitempty"`
	LongAt    orb.Point `json:"long_at_mm,omitempty"`
	LongApart float64   `json:"long_apart_mm,omitempty"`
	// Ladder are the blade offsets to try, one small square each.
	Ladder []float64 `json:"ladder_mm,omitempty"`
}

// Places spreads n squares over a device's reach: one in the lower left, the second at the other end of the width
// where both fit across it, further ones along x. They do not overlap. Reach 0 along x is a roll.
func Places(n int, w, h, reachX, reachY, margin float64) ([]orb.Point, error) {
	if h+2*margin > reachY || reachX > 0 && w+2*margin > reachX {
		greatest := math.Floor((reachY - 2*margin) / 10)
		if reachX > 0 {
			greatest = math.Min(greatest, math.Floor((reachX-2*margin)/10))
		}
		return nil, fmt.Errorf("a square of %.0f by %.0f mm does not fit: the device reaches %.0f mm across and %s, %.0f mm of that free at each edge; at most --size %.0fmm fits",
			w, h, reachY, along(reachX), margin, 10*greatest)
	}
	low, high, rows := margin, reachY-margin-h, 2
	if 2*h+3*margin > reachY {
		rows = 1
	}
	var out []orb.Point
	for i := range n {
		column, row := i/rows, i%rows
		at := orb.Point{margin + float64(column)*(w+2*margin), low}
		if reachX > 0 && column > 0 {
			at[0] = reachX - margin - w
		}
		if row == 1 {
			at[1] = high
		}
		if reachX > 0 && (column > 1 || column > 0 && 2*w+3*margin > reachX) {
			return nil, fmt.Errorf("%d squares of %.0f by %.0f mm do not fit beside one another here: ask for fewer or smaller squares", n, w, h)
		}
		out = append(out, at)
	}
	return out, nil
}

func along(reach float64) string {
	if reach == 0 {
		return "as far as the roll along"
	}
	return fmt.Sprintf("%.0f mm along", reach)
}

// Draw gives the strokes of the squares and the long lines. With letters, for a pen, every side is named. A cutter
// without a pen cuts only the outlines, each with a short nick inside its lower left corner that shows its
// orientation. A cut square is measured from corner to corner.
func (p Plot) Draw(tool devices.Tool, lettered bool, title string) []devices.Stroke {
	d := drawing{tool: tool, lettered: lettered, height: math.Max(2.5, math.Min(8, p.Height/25))}
	for i, at := range p.Places {
		d.piece = i
		d.name = fmt.Sprintf("test square %d", i+1)
		d.square(at, p.Width, p.Height, fmt.Sprintf("%s, square %d", title, i+1))
	}
	if p.Long > 0 {
		d.piece, d.name = len(p.Places), "long lines"
		d.long(p.LongAt, p.Long, p.LongApart)
	}
	return d.out
}

type drawing struct {
	tool     devices.Tool
	lettered bool
	height   float64
	piece    int
	name     string
	out      []devices.Stroke
}

func (d *drawing) add(role string, path geom.Path) {
	d.out = append(d.out, devices.Stroke{Tool: d.tool, Role: role, Path: path, Piece: d.piece, Name: d.name, Fixed: true})
}

func line(pts ...orb.Point) geom.Path {
	p := geom.Path{Points: pts, Corners: make([]bool, len(pts))}
	for i := range p.Corners {
		p.Corners[i] = true
	}
	return p
}

func (d *drawing) square(at orb.Point, w, h float64, title string) {
	a, b := at, orb.Point{at[0] + w, at[1]}
	c, e := orb.Point{at[0] + w, at[1] + h}, orb.Point{at[0], at[1] + h}
	role := "cut"
	if d.tool == devices.Pen {
		role = "check"
		d.add(role, line(a, c))
		d.add(role, line(e, b))
	}
	if d.lettered {
		k := d.height
		d.words(fmt.Sprintf("bottom %.0f mm", w), orb.Point{at[0] + w/2, at[1] + k/2}, 0)
		d.words(fmt.Sprintf("top %.0f mm", w), orb.Point{at[0] + w/2, at[1] + h - 1.5*k}, 0)
		d.words(fmt.Sprintf("left %.0f mm", h), orb.Point{at[0] + 1.5*k, at[1] + h/2}, math.Pi/2)
		d.words(fmt.Sprintf("right %.0f mm", h), orb.Point{at[0] + w - k/2, at[1] + h/2}, math.Pi/2)
		turn := math.Atan2(h, w)
		d.words(fmt.Sprintf("rising %v mm", geom.Rounded(math.Hypot(w, h), 1)), geom.Add(at, orb.Point{0.7*w - k/2, 0.7*h + k/2}), turn)
		d.words(fmt.Sprintf("falling %v mm", geom.Rounded(math.Hypot(w, h), 1)), geom.Add(at, orb.Point{0.3*w + k/2, 0.7*h + k/2}), -turn)
		if letters.Width(title, d.height) < 0.8*w {
			d.words(title, orb.Point{at[0] + w/2, at[1] + 0.2*h}, 0)
		}
		d.outline(role, a, b, c, e)
		return
	}
	nick := math.Min(10, w/5)
	d.add("mark", line(orb.Point{at[0] + nick, at[1] + nick/2}, orb.Point{at[0] + 2*nick, at[1] + nick/2}))
	d.outline(role, a, b, c, e)
}

func (d *drawing) outline(role string, pts ...orb.Point) {
	p := line(pts...)
	p.Closed = true
	d.add(role, p)
}

// words are lettered in strokes, centred above the place.
func (d *drawing) words(text string, at orb.Point, turn float64) {
	strokes, width := letters.Strokes(text, d.height)
	m := geom.Translate(at[0], at[1]).After(geom.Rotate(turn)).After(geom.Translate(-width/2, 0))
	for _, s := range strokes {
		d.out = append(d.out, devices.Stroke{Tool: devices.Pen, Role: "text", Path: s.Apply(m), Piece: d.piece, Name: d.name, Fixed: true})
	}
}

// long draws both lines, with a cross stroke at each end to measure from.
func (d *drawing) long(at orb.Point, length, apart float64) {
	for i, name := range []Side{LowLine, HighLine} {
		a := geom.Add(at, orb.Point{0, apart * float64(i)})
		b := geom.Add(a, orb.Point{length, 0})
		d.add("check", line(a, b))
		for _, q := range []orb.Point{a, b} {
			d.add("check", line(geom.Add(q, orb.Point{0, -4}), geom.Add(q, orb.Point{0, 4})))
		}
		if d.lettered {
			above := 2.0
			if i == 1 {
				above = -2 - d.height // towards the middle of the roll
			}
			d.words(fmt.Sprintf("%s %.0f mm", name, length), geom.Add(a, orb.Point{length / 2, above}), 0)
		}
	}
}

// A rung of the ladder: a small square, whose corners show the offset, and under it as many nicks as its number.
const (
	rungSide = 30
	rungStep = 60
	nickLong = 6
	nickStep = 4
)

// Rung gives the strokes of one offset of the ladder; the squares stand in a row from at on.
func (p Plot) Rung(i int, at orb.Point) []devices.Stroke {
	d := drawing{tool: devices.Knife, piece: i, name: fmt.Sprintf("offset %v mm, rung %d", geom.Rounded(p.Ladder[i], 2), i+1)}
	x := at[0] + float64(i)*rungStep
	for k := range i + 1 {
		q := orb.Point{x + float64(k)*nickStep, at[1]}
		d.add("mark", line(q, geom.Add(q, orb.Point{0, nickLong})))
	}
	y := at[1] + nickLong + 6
	d.outline("cut", orb.Point{x, y}, orb.Point{x + rungSide, y}, orb.Point{x + rungSide, y + rungSide}, orb.Point{x, y + rungSide})
	return d.out
}

// AlignAt is the start of the stroke in waste that aligns the blade for a rung: beside its square, where it is not
// taken for a nick.
func (p Plot) AlignAt(i int, at orb.Point) orb.Point {
	return orb.Point{at[0] + float64(i)*rungStep - (rungStep-rungSide)/2, at[1] + nickLong + 6 + 5}
}

// ladderAlign is the length of that stroke, in offsets, as is the knife's default.
const ladderAlign = 15

// LadderSize is the size of a ladder along x and y, mm.
func LadderSize(ladder []float64) (x, y float64) {
	n := len(ladder)
	return float64(n-1)*rungStep + math.Max(rungSide, float64(n)*nickStep),
		nickLong + 6 + math.Max(rungSide, 5+ladderAlign*slices.Max(ladder))
}

// GoodLadder reports faults in the offsets of a ladder. Blades of 0.2 to 1 mm are usual (from memory).
func GoodLadder(ladder []float64) error {
	if len(ladder) < 2 {
		return errors.New("a ladder has two offsets or more, as 0.3,0.4,0.5,0.6,0.7")
	}
	for i, d := range ladder {
		switch {
		case !(d >= 0.05) || d > 5:
			return fmt.Errorf("%v mm is no blade offset to try: 0.2 to 1 mm is usual, 0.05 to 5 can be tried", geom.Rounded(d, 2))
		case slices.Contains(ladder[:i], d):
			return fmt.Errorf("%v mm stands twice in the ladder", geom.Rounded(d, 2))
		}
	}
	return nil
}
