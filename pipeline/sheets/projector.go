package sheets

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices/paper"
	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Line widths for a projector, mm: two pixels of a common one, whose pixel is about 0.6 mm on a picture 1.2 m wide.
const (
	lightCut  = 2.0 // mm
	lightLine = 1.3
	gridStep  = 100.0
	border    = 60.0 // round the pieces, for the words at the edge
)

// ProjectorWidth is the default width of the picture, mm.
const ProjectorWidth = 1200.0

// Project draws all pieces at true size on one page, light on black, for projection onto cloth. A grid of 100 mm
// serves to set the projector up.
func Project(set Set, width float64, lay Lay) (*Book, error) {
	if len(set.Ready) == 0 {
		return nil, errors.New("there is no piece to draw")
	}
	shapes, _ := nest(set)
	var which []int
	for i := range shapes {
		which = append(which, i)
	}
	l, found := lay(pick(shapes, which), pattern.Material{Name: "picture", Width: width - 2*border, Gap: 20})
	if pattern.Worst(found) == pattern.Error || len(l.Placements) < len(shapes) {
		return nil, fmt.Errorf("the pieces do not fit on a picture that is %.0f mm wide: say a wider one with --paper, as in \"1500mm roll\"", width)
	}
	a := arranged{}
	for _, p := range l.Placements {
		a.pieces = append(a.pieces, newLaid(shapes, p.Ready, p.Map))
	}
	if turned(a.pieces...) {
		a.move(geom.Rotate(math.Pi))
		for i, p := range a.pieces { // dashes keep their places
			a.pieces[i] = newLaid(shapes, p.ready, p.place)
		}
	}
	all := a.box()
	long := math.Ceil((all.Max[0]-all.Min[0]+2*border)/gridStep) * gridStep
	if long > paper.Longest {
		return nil, fmt.Errorf("the picture would be %.1f m long, and a page has at most %.2f m: choose some with --pieces, or take a wider one with --paper", long/1000, paper.Longest/1000)
	}
	title := set.title()
	d := pdf.NewDocument(title)
	d.Page(long, width, geom.Identity)
	d.Fill(0, pdf.Box(orb.Bound{Max: orb.Point{long, width}}))
	d.Op("0.35 G")
	for x := 0.0; x <= long; x += gridStep {
		d.Line(0.8, orb.Point{x, 0}, orb.Point{x, width})
	}
	for y := 0.0; y <= width; y += gridStep {
		d.Line(0.8, orb.Point{0, y}, orb.Point{long, y})
	}
	d.Op("1 G")
	on := geom.Translate(border-all.Min[0], border-all.Min[1])
	b := &Book{Sheets: 1, Columns: 1, Rows: 1}
	for i := range a.pieces {
		p := &a.pieces[i]
		for _, ln := range p.lines {
			pen := lightLine
			if ln.kind == look.Cut || ln.kind == look.Cutout || ln.kind == look.Slit || ln.kind == look.Notch {
				pen = lightCut
			}
			var lines []geom.Path
			for _, q := range ln.paths {
				lines = append(lines, q.Apply(on))
			}
			d.Stroke(pen, lines...)
		}
		for _, w := range p.words {
			d.Text(on.Apply(w.At), pdf.Lettering{Height: w.Height, Shade: 1, Angle: math.Atan2(w.Along[1], w.Along[0]) * 180 / math.Pi, Most: w.wide}, w.Text)
		}
		for _, m := range shapes[p.ready].members {
			b.Placed = append(b.Placed, Placed{Ready: m.ready, Map: on.After(p.place).After(m.align), On: []string{"A1"}})
		}
	}
	d.Text(orb.Point{12, 14}, pdf.Lettering{Height: 10, Shade: 1, Most: long - 24},
		title+": the squares of the grid are 100 mm. Set the projector until they are, in the middle and at the corners, on the cloth and not on the bare table.")
	var err error
	b.PDF, err = d.Bytes()
	return b, err
}
