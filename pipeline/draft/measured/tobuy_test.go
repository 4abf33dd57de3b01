package measured

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"sort"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/wearers"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// TestClothToBuyForEightBodies lays each starter of recipes for each of the eight bodies that it is drawn for, and the pieces
// that are told once more by another way: plain rows of their boxes across the same width. What is to be bought is never
// more than rows take and never less than area over width, shrinkage and the two cut ends counted in both.
func TestClothToBuyForEightBodies(t *testing.T) {
	t.Parallel()
	lays, refused := 0, 0
	for _, r := range recipes {
		for _, body := range []byte(wearers.Eight) {
			if e, err := r.drawn(t, body); err == nil && r.without[body] == "" {
				n, fits := r.laidInRows(t, body, figures.Pattern(e))
				lays += n
				if !fits {
					refused++
				}
			}
		}
	}
	t.Logf("%d lays; %d drafts had no lay", lays, refused)
	if lays < 5*len(recipes) || refused > len(recipes)/4 {
		t.Errorf("%d lays of %d starters; %d drafts had no lay", lays, len(recipes), refused)
	}
}

// laidInRows tells how many cloths were laid, and whether all pieces fit on them.
func (r recipe) laidInRows(t *testing.T, body byte, p *pattern.Pattern) (lays int, fits bool) {
	t.Helper()
	made, err := prepare.Run(p, pattern.Ticket{}, prepare.Options{})
	if err != nil {
		t.Errorf("%s for %c: %v", r.file, body, err)
		return 0, true
	}
	l := cloths.New(nil, "mm")
	l.Drafts = []*pattern.Pattern{p}
	l.Deal(0, made.Ready)
	l.Lay(t.Context(), cloths.Wish{Unsaid: cloths.UsualWidth, Alone: true})
	var out bytes.Buffer
	if err := l.WriteJSON(&out); err != nil {
		t.Fatal(err)
	}
	for dec := json.NewDecoder(&out); dec.More(); lays++ {
		var s lay.Sheet
		if err := dec.Decode(&s); err != nil {
			t.Fatal(err)
		}
		shop, area, boxes := l.Cloths[lays].Shop, 0.0, []orb.Point{}
		for _, p := range s.Placements {
			ring := ringOf(p.Outline)
			b := ring.Bound()
			area += math.Abs(planar.Area(ring))
			boxes = append(boxes, orb.Point{b.Max[0] - b.Min[0], b.Max[1] - b.Min[1]})
			for _, c := range p.Cutouts { // other pieces may lie there
				area -= math.Abs(planar.Area(ringOf(c)))
			}
		}
		rows := inRows(boxes, s.Width)
		least, most := area/s.Width/(1-shop.Shrinkage)+60, math.Ceil((rows/(1-shop.Shrinkage)+60-0.01)/100)*100
		if s.Length > rows+0.01 || s.Length < area/s.Width-0.01 || s.Buy < least-0.1 || s.Buy > most+0.1 {
			t.Errorf("%s for %c, %s: laid %.1f mm (area %.1f, rows %.1f), to buy %.1f mm (%.1f to %.1f)",
				r.file, body, s.Cloth, s.Length, area/s.Width, rows, s.Buy, least, most)
		}
	}
	return lays, pattern.Worst(l.Findings) != pattern.Error
}

func ringOf(pts [][2]float64) (ring orb.Ring) {
	for _, q := range append(pts, pts[0]) {
		ring = append(ring, q)
	}
	return ring
}

// inRows is the length that boxes (along, across) take in rows across a width, the longest first, each in the first
// row with room.
func inRows(boxes []orb.Point, width float64) (length float64) {
	boxes = slices.Clone(boxes)
	sort.Slice(boxes, func(i, j int) bool { return boxes[i][0] > boxes[j][0] })
	var taken []float64
	for _, b := range boxes {
		k := slices.IndexFunc(taken, func(used float64) bool { return used+b[1] <= width+0.001 })
		if k < 0 {
			k, taken, length = len(taken), append(taken, 0), length+b[0]
		}
		taken[k] += b[1]
	}
	return length
}
