package cloths

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// boards are cut-ready rectangles with their grain, of so many mm along it and across.
func boards(names []string, long, wide float64) (all []pattern.Ready) {
	for i, name := range names {
		r := pattern.Ready{Name: name, Index: i, Copy: 1, Copies: 1, Garment: 1,
			Outline: geom.Path{Points: []orb.Point{{0, 0}, {wide, 0}, {wide, long}, {0, long}}, Corners: []bool{true, true, true, true}, Closed: true},
			Grain:   &pattern.Segment{A: orb.Point{wide / 2, 20}, B: orb.Point{wide / 2, long - 20}}}
		if i%2 == 1 { // drawn upside down
			r.Grain.A, r.Grain.B = r.Grain.B, r.Grain.A
		}
		all = append(all, r)
	}
	return all
}

// xs are the x of the points of the one line of a class in a picture.
func xs(t *testing.T, svg, class string) (out []float64) {
	t.Helper()
	m := regexp.MustCompile(`<(?:path|polyline)[^>]*class="`+class+`"[^>]*>`).FindAllString(svg, -1)
	if len(m) == 0 {
		return nil
	}
	points := regexp.MustCompile(`(?:points|d)="([^"]*)"`).FindStringSubmatch(m[0])[1]
	for _, p := range regexp.MustCompile(`(-?[\d.]+)[ ,](-?[\d.]+)`).FindAllStringSubmatch(points, -1) {
		x, err := strconv.ParseFloat(p[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, x)
	}
	return out
}

func layBoards(t *testing.T, wish Wish) *Layout {
	t.Helper()
	l := New(nil, "mm")
	names := []string{"front", "back", "yoke", "cuff"}
	p := &pattern.Pattern{}
	for _, n := range names {
		p.Pieces = append(p.Pieces, pattern.Piece{Name: n})
	}
	l.Drafts = []*pattern.Pattern{p}
	l.Deal(0, boards(names, 400, 300))
	wish.Width, wish.Fold, wish.Alone, wish.Steps = 640, pattern.FoldNone, true, 20
	l.Lay(t.Context(), wish)
	return l
}

// TestPictureOfTheNap: on cloth with a nap its picture has a named arrow, and all pieces' grain lines point along it,
// also of pieces drawn upside down; without a nap there is none.
func TestPictureOfTheNap(t *testing.T) {
	for nap, want := range map[pattern.Nap]bool{pattern.NapAll: true, pattern.NapNone: false} {
		l := layBoards(t, Wish{Nap: nap})
		if len(l.Cloths) != 1 {
			t.Fatal(l.Findings)
		}
		c := l.Cloths[0]
		svg, err := l.Picture(c, ".svg")
		if err != nil {
			t.Fatal(err)
		}
		arrow := xs(t, string(svg), "nap")
		if (len(arrow) > 1) != want {
			t.Fatalf("nap %s: the arrow is %v", nap, arrow)
		}
		if !want {
			continue
		}
		for _, p := range c.Lay.Placements {
			g := c.Drawn[p.Ready].Grain
			if d := geom.Sub(p.Map.Apply(g.B), p.Map.Apply(g.A)); d[0]*(arrow[1]-arrow[0]) <= 0 || math.Abs(d[1]) > 0.01 {
				t.Errorf("%s points along %v, the arrow from %v to %v", c.Drawn[p.Ready].Name, d, arrow[0], arrow[1])
			}
		}
	}
}

// TestPictureOfAShortCloth: a lay longer than the cloth at hand is refused, and its picture shows the cloth's end, to
// scale, and names the pieces beyond it.
func TestPictureOfAShortCloth(t *testing.T) {
	l := layBoards(t, Wish{Length: 600, Nap: pattern.NapNone})
	if len(l.Cloths) != 0 || len(l.Short) != 1 || pattern.Worst(l.Findings) != pattern.Error {
		t.Fatalf("%d lays, %d short, %v", len(l.Cloths), len(l.Short), l.Findings)
	}
	files, err := l.Pictures("lay.svg")
	if err != nil || len(files) != 1 || files[0].File != "lay.svg" {
		t.Fatal(files, err)
	}
	svg := string(files[0].Data)
	end := xs(t, svg, "cloth-end")
	if len(end) != 2 || end[0] != end[1] {
		t.Fatalf("the end is %v", end)
	}
	least, most := math.Inf(1), math.Inf(-1) // two boards one after the other are 800 mm
	for _, m := range regexp.MustCompile(`<(?:path|polygon|polyline)[^>]*class="cut"[^>]*>`).FindAllString(svg, -1) {
		for _, p := range regexp.MustCompile(`(-?[\d.]+)[ ,](-?[\d.]+)`).FindAllStringSubmatch(regexp.MustCompile(`(?:points| d)="([^"]*)"`).FindStringSubmatch(m)[1], -1) {
			x, _ := strconv.ParseFloat(p[1], 64)
			least, most = math.Min(least, x), math.Max(most, x)
		}
	}
	if got := 800 * (end[0] - least) / (most - least); math.Abs(got-600) > 2 {
		t.Errorf("the end is drawn at %.1f mm of 600; pieces from %.1f to %.1f, end %.1f", got, least, most, end[0])
	}
	said := ""
	for _, c := range l.Short {
		for _, p := range c.over.Placements {
			if b := c.Drawn[p.Ready].Outline.Apply(p.Map).Bound(); b.Max[0] > 600 {
				said += c.Drawn[p.Ready].Name + " "
			}
		}
	}
	if n := len(strings.Fields(said)); n != 2 {
		t.Errorf("beyond the end lie %q", said)
	}
	if l := layBoards(t, Wish{Length: 900}); len(l.Short) != 0 || len(l.Cloths) != 1 {
		t.Errorf("a cloth that is long enough: %v", l.Findings)
	} else if f, err := l.Pictures("lay.svg"); err != nil || strings.Contains(string(f[0].Data), "cloth-end") {
		t.Errorf("its picture shows an end: %v", err)
	}
}

// TestWhosePieceItIs: a cloth with pieces of several sizes or bodies letters each with its own in the picture; a cloth
// with one does not.
func TestWhosePieceItIs(t *testing.T) {
	for _, sizes := range [][]string{{"A", "B"}, {"A", "A"}} {
		l := New(nil, "mm")
		for range sizes {
			l.Drafts = append(l.Drafts, &pattern.Pattern{Style: "smock", Pieces: []pattern.Piece{{Name: "sleeve"}}})
		}
		for i, size := range sizes {
			ready := boards([]string{"sleeve"}, 400, 300)
			ready[0].Size = size
			l.Deal(i, ready)
		}
		l.Lay(t.Context(), Wish{Width: 640, Fold: pattern.FoldNone, Alone: true, Steps: 20})
		var names []string
		for _, r := range l.lettered(l.Cloths[0]) {
			names = append(names, r.Name)
		}
		want := []string{"sleeve A", "sleeve B"}
		if sizes[1] == "A" {
			want = []string{"sleeve", "sleeve"}
		}
		if !slices.Equal(names, want) {
			t.Errorf("sizes %s: lettered %q, want %q", sizes, names, want)
		}
		if l.Cloths[0].Drawn[0].Name != "sleeve" {
			t.Errorf("the picture renames a piece: %q", l.Cloths[0].Drawn[0].Name)
		}
	}
}
