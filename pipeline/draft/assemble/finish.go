package assemble

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// checkSide is the side of the square that proves the scale, and how far its measured side may be
// off, in mm.
const checkSide, checkTol = 100.0, 0.2

// qualityTol is how far the drawn line may leave the finer one that the draft gives beside it, mm.
const qualityTol = 0.3

// checkScale measures the squares and lines that are drawn to prove the scale.
func (j *job) checkScale() {
	for i := range j.items {
		it := &j.items[i]
		if it.Role != pattern.RoleCheck || len(it.Path.Points) < 2 {
			continue
		}
		b := it.Path.Bound()
		w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
		sides := []float64{w, h}
		if len(it.Path.Points) == 2 {
			sides = []float64{geom.Dist(it.Path.Points[0], it.Path.Points[1])}
		} else if it.Path.Closed && len(it.Path.Points) == 4 { // a square may lie askew
			sides = []float64{geom.Dist(it.Path.Points[0], it.Path.Points[1]), geom.Dist(it.Path.Points[1], it.Path.Points[2])}
		}
		for _, s := range sides {
			if math.Abs(s-checkSide) <= checkTol {
				continue
			}
			f := pattern.NewFinding(pattern.RuleUnitsDisagree,
				fmt.Sprintf("the check square measures %s where it should measure %s: the draft would come out at %v %% of its size",
					pattern.FineLength(s, j.told), pattern.Length(checkSide, j.told), geom.Rounded(100*s/checkSide, 2)),
				"state the draft's unit in its file or on the ticket, or draw the check square true")
			f.Severity, f.Line = pattern.Error, it.Line
			f.At = pattern.Place(b.Center())
			j.add(f)
			break
		}
	}
}

// finish names the pieces, fills in what the groups and texts say, and puts them in order.
func (j *job) finish() {
	for _, b := range j.pieces {
		j.grain(b)
		j.describe(b)
		j.quality(b)
		slices.SortStableFunc(b.Notches, func(x, y pattern.Notch) int { return comparePoints(x.At, y.At) })
		slices.SortStableFunc(b.Drills, func(x, y pattern.Drill) int { return comparePoints(x.At, y.At) })
	}
	j.sortPieces()
	j.namePieces()
}

// grain takes the longest grain line; shorter ones that touch it are its arrow heads.
func (j *job) grain(b *builder) {
	slices.SortStableFunc(b.grains, func(x, y Item) int { return cmp.Compare(y.Path.Length(), x.Path.Length()) })
	for i := range b.grains {
		it := &b.grains[i]
		switch {
		case len(it.Path.Points) < 2:
			j.leave("point with the role grain", "a point is no line", "draw the grain as one line", it)
		case b.Grain == nil:
			u, v := straightest(it.Path)
			b.Grain = &pattern.Segment{A: u, B: v}
		case it.Path.Nearest(b.Grain.A).Dist > touchTol && it.Path.Nearest(b.Grain.B).Dist > touchTol:
			j.leave("second grain line of a piece", "the longer one is used", "leave one of them", it)
		}
	}
}

// describe fills in particulars from the group, then from the texts in the piece.
func (j *job) describe(b *builder) {
	b.Name, b.Named = b.known.Name, b.known.Name != ""
	b.Size, b.Quantity, b.Pair, b.Alike = b.known.Size, b.known.Quantity, b.known.Pair, b.known.Alike
	b.Material, b.Note = b.known.Material, b.known.Note
	fromTitle := b.known.Loose
	var plain []string
	slices.SortStableFunc(b.texts, func(x, y Item) int {
		return comparePoints(y.Path.Points[0], x.Path.Points[0]) // the uppermost first
	})
	for _, it := range b.texts {
		said := false
		for line := range strings.Lines(it.Text) {
			if key, value, ok := keyValue(line); ok {
				said = true
				b.take(key, value, fromTitle)
			}
		}
		if !said { // particulars are no lettering
			plain = append(plain, it.Text)
			b.Labels = append(b.Labels, pattern.Label{At: it.Path.Points[0], Text: it.Text, Height: it.Height, AngleDeg: it.AngleDeg})
		}
	}
	if !b.Named && len(plain) == 1 {
		first, _, _ := strings.Cut(plain[0], "\n")
		b.Name = strings.TrimSpace(first)
		b.Named = b.Name != ""
	}
	if b.Quantity < 0 {
		b.Quantity = 0
		j.addAbout(b, pattern.NewFinding(pattern.RuleUnreadable, fmt.Sprintf("the draft asks for more than %d of this piece", maxQuantity),
			"write how many to cut of it"))
	}
}

// take fills in one particular that is not known yet. The name in a text comes before a title.
func (b *builder) take(key, value string, fromTitle bool) {
	switch key {
	case "PIECE NAME":
		if value != "" && (!b.Named || fromTitle) {
			b.Name, b.Named = value, true
		}
	case "SIZE":
		b.Size = cmp.Or(b.Size, value)
	case "MATERIAL":
		b.Material = cmp.Or(b.Material, value)
	case "ANNOTATION", "CATEGORY":
		b.Note = cmp.Or(b.Note, value)
	case "QUANTITY":
		if b.Quantity == 0 {
			b.Quantity, b.Pair, b.Alike = Quantity(value)
		}
	}
}

// keyValue splits a line of system text such as "Piece Name: FRONT" into its key, in capitals with
// single blanks, and its value. ok is false for a key that means nothing here.
func keyValue(line string) (key, value string, ok bool) {
	k, v, found := strings.Cut(line, ":")
	if !found {
		return "", "", false
	}
	key = strings.ToUpper(strings.Join(strings.Fields(k), " "))
	switch key {
	case "PIECE NAME", "SIZE", "QUANTITY", "MATERIAL", "CATEGORY", "ANNOTATION":
		return key, strings.TrimSpace(v), true
	}
	return "", "", false
}

// maxQuantity bounds what a draft may ask to be cut of one piece.
const maxQuantity = 10000

// Quantity reads how many to cut in all: the first whole number of the text, 0 where there is none, less
// than 0 where there is none but one that is too large.
// pair is true where a word says that half of them are mirrored. "1 pair" is two pieces and "2
// pairs" are four, but "2 pair" is a quantity of two with a word behind it, as interchange files
// write it. alike is true where a word says that all are of one hand.
func Quantity(text string) (n int, pair, alike bool) {
	fields := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return (r < '0' || r > '9') && (r < 'a' || r > 'z') })
	over := false
	unit := 0 // how many pieces a counted pair is, where pairs are counted
	for _, f := range fields {
		v, err := strconv.Atoi(f)
		over = over || v > maxQuantity || errors.Is(err, strconv.ErrRange)
		if err == nil && n == 0 && v <= maxQuantity {
			n = v
		}
		switch f {
		case "pair":
			pair, unit = true, max(unit, 1)
		case "pairs":
			pair, unit = true, 2
		case "mirrored", "mirror":
			pair = true
		case "alike":
			alike = true
		}
	}
	switch {
	case n == 0 && over:
		n = -1
	case unit > 0 && n == 0:
		n = 2
	case unit == 2, unit == 1 && n%2 == 1:
		n *= 2
	}
	return n, pair, alike && !pair
}

// quality compares the drawn lines with the finer curves beside them.
func (j *job) quality(b *builder) {
	var drawn []geom.Path
	drawn = append(drawn, b.lines()...)
	for _, m := range b.Marks {
		if m.Role != pattern.RoleQuality {
			drawn = append(drawn, m.Path)
		}
	}
	if len(drawn) == 0 {
		return
	}
	var ix *geom.Index
	for _, m := range b.Marks {
		if m.Role != pattern.RoleQuality {
			continue
		}
		if ix == nil {
			ix = geom.NewIndex(drawn...)
		}
		far, at := 0.0, m.Path.Points[0]
		for _, p := range m.Path.Points {
			if _, n := ix.Nearest(p); n.Dist > far {
				far, at = n.Dist, p
			}
		}
		if far > qualityTol {
			f := pattern.NewFinding(pattern.RuleQualityDiffers,
				fmt.Sprintf("the line as drawn leaves the finer curve that the draft gives beside it by %s; it is used as drawn", pattern.FineLength(far, j.told)),
				"no action needed if the drawn line is right; sewing.finer_curves: finer in the workroom file takes the finer curve instead")
			f.At = pattern.Place(at)
			j.add(f)
		}
	}
}

// sortPieces puts the pieces of the draft's groups first, in their order, then the others top to
// bottom and left to right: what begins above the middle of a row's first piece is of that row.
func (j *job) sortPieces() {
	rank := map[string]int{}
	for i, g := range j.order {
		rank[g] = i + 1
	}
	place := func(b *builder) int {
		if r := rank[b.group]; r > 0 {
			return r
		}
		return math.MaxInt
	}
	slices.SortStableFunc(j.pieces, func(a, b *builder) int {
		return cmp.Or(cmp.Compare(place(a), place(b)), comparePoints(flipY(b), flipY(a)))
	})
	for i := 0; i < len(j.pieces); {
		first := j.pieces[i]
		middle := first.bound.Center()[1]
		k := i + 1
		for k < len(j.pieces) && place(j.pieces[k]) == place(first) && j.pieces[k].key[1] > middle {
			k++
		}
		slices.SortStableFunc(j.pieces[i:k], func(a, b *builder) int { return cmp.Compare(a.key[0], b.key[0]) })
		i = k
	}
}

func flipY(b *builder) [2]float64 { return [2]float64{-b.key[0], b.key[1]} }

// namePieces gives every piece a name, and tells pieces of one name and size apart by a number.
func (j *job) namePieces() {
	unnamed := 0
	seen := map[[2]string]int{}
	for _, b := range j.pieces {
		if !b.Named {
			unnamed++
			b.Name = fmt.Sprintf("piece %d", unnamed)
			continue
		}
		key := [2]string{b.Name, b.Size}
		seen[key]++
		if n := seen[key]; n > 1 {
			b.Name = fmt.Sprintf("%s (%d)", b.Name, n)
		}
	}
}
