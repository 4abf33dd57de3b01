package hpgl

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// tile divides the plot into frames or sheets. A piece that fits on one page, overlap included, is drawn there whole. Of a
// longer piece the lines that fit on a page are drawn whole, and the others are cut in the middle of the overlap; it takes as
// few pages as possible. Sheets on which nothing is drawn are left out; blank frames are fed. Registration crosses are drawn
// where a piece continues.
func tile(parts []part, strokes []devices.Stroke, end float64, p devices.Profile) ([]page, []string, error) {
	t, err := newTiling(p)
	if err != nil {
		return nil, nil, err
	}
	n := 1
	if over := end - t.room - t.slack; over > 0 {
		n += int(math.Ceil(over / t.step))
	}
	if n > maxPages {
		return nil, nil, fmt.Errorf("the plot is %.0f mm long and would need %d frames of %v mm: the greatest length that would do is %.0f mm", end, n, geom.Rounded(t.room, 1), maxPages*t.step)
	}
	pages := make([]page, n)
	for i := range pages {
		pages[i] = page{index: i, from: float64(i) * t.step, length: p.Plot.FrameLength}
	}
	spans := t.spans(pages, parts, strokes)
	for _, pt := range parts {
		on := spans[owner(pt, strokes)]
		t.deal(pages[on[0]:on[1]+1], pt)
	}
	if p.Plot.Long == LongSheets {
		pages = slices.DeleteFunc(pages, func(g page) bool { return len(g.parts) == 0 })
	}
	if len(pages) < 2 {
		return pages, nil, nil
	}
	divided := dividedOver(pages, strokes)
	if t.overlap() >= 2*crossArm {
		for i := range pages {
			t.crosses(pages, i, divided, p.Width)
		}
	}
	return pages, t.notes(len(pages), end, divided, p), nil
}

// owner is the piece of a part, or a number for its stroke where it belongs to no piece.
func owner(pt part, strokes []devices.Stroke) int {
	if piece := strokes[pt.stroke].Piece; piece >= 0 {
		return piece
	}
	return -1 - pt.stroke
}

// spans are the first and the last page that each piece needs.
func (t tiling) spans(pages []page, parts []part, strokes []devices.Stroke) map[int][2]int {
	type reach struct{ lo, hi float64 }
	far := map[int]reach{}
	for _, pt := range parts {
		of := owner(pt, strokes)
		r, known := far[of]
		if !known {
			r = reach{math.Inf(1), math.Inf(-1)}
		}
		for _, q := range pt.pts {
			r.lo, r.hi = math.Min(r.lo, q[0]), math.Max(r.hi, q[0])
		}
		far[of] = r
	}
	out := map[int][2]int{}
	for of, r := range far {
		if i := t.holding(pages, r.lo, r.hi); i >= 0 {
			out[of] = [2]int{i, i}
			continue
		}
		on := [2]int{0, len(pages) - 1}
		for i, g := range pages {
			if r.lo >= g.from-t.slack {
				on[0] = i
			}
			if r.hi <= g.from+t.room+t.slack {
				on[1] = min(on[1], i)
			}
		}
		out[of] = on
	}
	return out
}

// holding is the first page that holds the range from lo to hi whole, -1 for none.
func (t tiling) holding(pages []page, lo, hi float64) int {
	return slices.IndexFunc(pages, func(g page) bool { return lo >= g.from-t.slack && hi <= g.from+t.room+t.slack })
}

// crossing is a piece or stroke that is drawn on more than one page, with those pages.
type crossing struct {
	name  string
	piece int
	on    []int // indices into the pages
}

func dividedOver(pages []page, strokes []devices.Stroke) (out []crossing) {
	at := map[int]int{}
	for i, g := range pages {
		for _, pt := range g.parts {
			of := owner(pt, strokes)
			k, known := at[of]
			if !known {
				k = len(out)
				at[of], out = k, append(out, crossing{name: strokes[pt.stroke].Name, piece: of})
			}
			if d := &out[k]; !slices.Contains(d.on, i) {
				d.on = append(d.on, i)
			}
		}
	}
	return slices.DeleteFunc(out, func(d crossing) bool { return len(d.on) < 2 })
}

// tiling is the spacing of pages along the plot, in mm of the plot: room is the length that one page holds, step the
// distance from one page to the next.
type tiling struct{ room, step, slack float64 }

func (t tiling) overlap() float64 { return t.room - t.step }

// Pages is the spacing of a device's sheets or frames along a plot, step, and the length that each holds, room, mm; 0
// for a device that draws on one page, or whose pages are too short.
func Pages(p devices.Profile) (step, room float64) {
	if p.Language != devices.HPGL || p.Plot.Long != LongFrames && p.Plot.Long != LongSheets {
		return 0, 0
	}
	p, err := settle(p)
	if err != nil { // Encode reports it
		return 0, 0
	}
	t, err := newTiling(p)
	if err != nil {
		return 0, 0
	}
	return t.step, t.room
}

// newTiling takes what the frame's length and the range of coordinates leave after the correction. Frames advance by
// the device's own measure, which the correction turns into true mm; sheets are joined by hand, so their spacing is
// free.
func newTiling(p devices.Profile) (tiling, error) {
	q, scale := p.Plot, p.Correction.ScaleX
	reach := q.FrameLength
	if !q.CentreOrigin {
		reach = math.Min(reach, float64(q.MaxCoord)*q.Unit)
	}
	t := tiling{slack: seamTol * q.Unit, room: (reach - math.Max(0, p.Correction.Skew)*p.Width) / scale}
	t.step = t.room - q.FrameOverlap
	if q.Long == LongFrames {
		t.step = (q.FrameLength - q.FrameOverlap) / scale
	}
	switch {
	case t.step < 1:
		return t, fmt.Errorf("one frame reaches %v mm and plot.frame_overlap takes %v mm of it: nothing is left to draw on", geom.Rounded(t.room, 1), q.FrameOverlap)
	case t.overlap() < 0:
		return t, fmt.Errorf("frames follow each other by %v mm and the coordinates reach %v mm: a gap would stay undrawn; make plot.frame_length shorter", geom.Rounded(t.step, 1), geom.Rounded(t.room, 1))
	}
	return t, nil
}

// maxPages is the greatest number of pages; nobody joins more by hand.
const maxPages = 1000

func (t tiling) notes(n int, end float64, divided []crossing, p devices.Profile) []string {
	what := "frame"
	if p.Plot.Long == LongSheets {
		what = "sheet"
	}
	note := fmt.Sprintf("the plot is %.0f mm long and drawn on %d %ss of %v mm", end, n, what, geom.Rounded(t.room, 1))
	if len(divided) == 0 {
		return append([]string{note + "; no piece is divided"}, t.stopped(p)...)
	}
	notes := []string{note + fmt.Sprintf(", %v mm of which two share", geom.Rounded(t.overlap(), 1))}
	for _, d := range divided {
		if d.piece < 0 {
			continue
		}
		var on []string
		for _, i := range d.on {
			on = append(on, strconv.Itoa(i+1))
		}
		name := cmp.Or(d.name, fmt.Sprintf("piece %d", d.piece+1))
		last := len(on) - 1
		notes = append(notes, fmt.Sprintf("%s is divided over %ss %s and %s", name, what, strings.Join(on[:last], ", "), on[last]))
	}
	notes = append(notes, t.stopped(p)...)
	if t.overlap() < 2*crossArm {
		notes = append(notes, fmt.Sprintf("an overlap under %d mm has no room for registration crosses", 2*crossArm))
	}
	return notes
}

// stopped says how to go on after a plot in frames was stopped.
func (t tiling) stopped(p devices.Profile) []string {
	if p.Plot.Long != LongFrames {
		return nil
	}
	return []string{"a plot in frames that was stopped after its first frame is best begun again: devices differ in what they keep of the frame"}
}

// deal puts a part on the first page of its piece that holds it whole, or cuts it at the seams.
func (t tiling) deal(pages []page, pt part) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range pt.pts {
		lo, hi = math.Min(lo, q[0]), math.Max(hi, q[0])
	}
	if i := t.holding(pages, lo, hi); i >= 0 {
		pages[i].add(pt, pt.pts, pt.last)
		return
	}
	pieces := make([][][]orb.Point, len(pages))
	last := 0
	for i := range pages {
		a, b := t.seam(pages[i].index), t.seam(pages[i].index+1)
		if i == 0 {
			a = math.Inf(-1)
		}
		if i == len(pages)-1 {
			b = math.Inf(1)
		}
		pieces[i] = between(pt.pts, a, b)
		if len(pieces[i]) > 0 {
			last = i
		}
	}
	for i, list := range pieces {
		for j, pts := range list {
			pages[i].add(pt, pts, pt.last && i == last && j == len(list)-1)
		}
	}
}

// seam is the place at which lines are cut between page i-1 and page i.
func (t tiling) seam(i int) float64 { return float64(i)*t.step + t.overlap()/2 }

// crossArm is half of a registration cross, mm.
const crossArm = 5

// crosses draws the registration marks of a page first: two in the middle of each overlap across which a piece
// continues, on both pages that share it, so that they coincide when the pages are aligned.
func (t tiling) crosses(pages []page, i int, divided []crossing, width float64) {
	g := &pages[i]
	var marks []part
	for k := i; k <= i+1; k++ { // the seam between pages k-1 and k
		if k == 0 || k == len(pages) || pages[k].index != pages[k-1].index+1 || !slices.ContainsFunc(divided, func(d crossing) bool {
			return slices.Contains(d.on, k-1) && slices.Contains(d.on, k)
		}) {
			continue
		}
		x := t.seam(pages[k].index) - g.from
		for _, y := range []float64{2 * crossArm, math.Max(width-2*crossArm, 4*crossArm)} {
			marks = append(marks,
				part{stroke: -1, pts: []orb.Point{{x - crossArm, y}, {x + crossArm, y}}},
				part{stroke: -1, pts: []orb.Point{{x, y - crossArm}, {x, y + crossArm}}})
		}
	}
	g.parts = append(marks, g.parts...)
}
