package tape

import (
	"fmt"
	"html/template"
	"maps"
	"math"
	"slices"
	"strings"
)

// spot is a place of a figure: to the right and down, where a standing figure is 165 high, eight heads as drawing
// masters count them (common practice).
type spot struct{ x, y float64 }

// figure is a drawing on which the tape is shown.
type figure struct {
	word   string // what is seen, in words
	mirror bool   // the other half is the same, about x = 40
	lines  [][]spot
	points map[string]spot
}

// bodyViews are the figures, by the word with which a measure's row names them.
var bodyViews = map[string]figure{
	"front": {"front", true, frontLines(spot{37.6, 12}, spot{36.8, 11.6}, spot{37.6, 12}), frontPoints},
	"back":  {"back", true, frontLines(spot{33.4, 16}, spot{34.5, 24}, spot{40, 25.5}), frontPoints},
	"side":  {"side", false, append(slices.Clone(sideUpper), sideLegs...), sidePoints},
	"arm": {"side, arm bent", false, append(slices.Concat(sideUpper, sideLegs),
		[]spot{{37.5, 39}, {34.5, 52}, {34.4, 63}, {36, 67}, {46, 69.5}, {57, 68}, {62, 69.5}, {66, 67}},
		[]spot{{45, 39}, {43.5, 52}, {42, 61}, {48, 63.4}, {57, 64}, {62, 63.5}, {66, 67}}), sidePoints},
	"sitting": {"side, sitting", false, append(slices.Clone(sideUpper),
		[]spot{{33, 74}, {29.5, 84}, {32, 91}, {46, 92}, {62, 91}, {62.5, 106}, {60, 120}, {59, 132}, {70, 132}},
		[]spot{{47.5, 76}, {52, 79}, {64, 78}, {71, 82}, {71, 96}, {66, 112}, {64, 126}, {70, 132}},
		[]spot{{20, 93}, {57, 93}}, []spot{{22, 93}, {22, 132}}, []spot{{55, 93}, {55, 132}}), sidePoints},
	"front piece": pieceFigure("front, the paper", 32),
	"back piece":  pieceFigure("back, the paper", 18),
	"bag": {"the bag", false, [][]spot{{{15, 40}, {15, 95}}, {{55, 40}, {55, 95}}, {{69, 28}, {69, 83}}, {{15, 40}, {55, 40}}, {{55, 40}, {69, 28}}, {{69, 28}, {29, 28}}, {{29, 28}, {15, 40}},
		{{15, 95}, {55, 95}}, {{55, 95}, {69, 83}}, {{28, 40}, {29, 22}, {41, 22}, {42, 40}}},
		map[string]spot{"mouth": {15, 40}, "bottom": {15, 95}, "corner": {55, 95}, "far corner": {69, 83}}},
	"tool": {"the tool", false, [][]spot{{{36, 30}, {34.5, 45}, {36, 62}}, {{44, 30}, {45.5, 45}, {44, 62}}, {{36, 30}, {40, 28.5}, {44, 30}}, {{36, 62}, {44, 62}}, {{38, 62}, {38, 76}}, {{42, 62}, {42, 76}}, {{38, 76}, {33, 82}}, {{42, 76}, {47, 82}}, {{33, 82}, {33, 102}}, {{47, 82}, {47, 102}}, {{33, 102}, {47, 102}}},
		map[string]spot{"top": {52, 28.5}, "end": {52, 102}, "edge left": {33, 92}, "edge right": {47, 92}}},
}

// frontLines is the left half of a standing figure seen from the front or from behind, with a line of the face or of
// the hair.
func frontLines(face ...spot) [][]spot {
	return [][]spot{
		{{40, 3}, {35, 4.6}, {32.4, 10}, {33, 16}, {36, 22.5}, {40, 24}},
		face,
		{{36.6, 23}, {36, 28.5}, {31, 31.5}, {26.5, 33.5}, {23.4, 39}, {21, 50}, {18.6, 64}, {15.6, 75}, {14.4, 84}, {12.6, 91}, {14, 97}, {17, 96.5}, {18.6, 91}, {18.4, 84.5}, {21.5, 75}, {24.4, 65}, {27, 56}, {29.4, 47}},
		{{29.4, 47}, {28.6, 51}, {30, 58}, {31, 66}, {28.6, 74}, {26.6, 83}, {27, 98}, {29.4, 113}, {30.2, 124}, {29.6, 136}, {32.4, 152}, {33, 160}, {29.6, 165}, {37, 165}, {37.4, 158}, {37.6, 140}, {37.4, 124}, {39, 104}, {40, 88}},
	}
}

var frontPoints = map[string]spot{
	"crown": {40, 3}, "over crown": {40, 1}, "brow left": {32.4, 10}, "brow right": {47.6, 10}, "beside head left": {30.6, 15}, "beside head right": {49.4, 15},
	"neck left": {36, 28.5}, "neck right": {44, 28.5}, "nape": {40, 28.5}, "tip right": {53.5, 33.5},
	"crease left": {29.6, 42}, "crease right": {50.4, 42}, "underarm left": {29.2, 46}, "underarm right": {50.8, 46}, "underarm": {40, 47},
	"bust left": {28.6, 51.5}, "bust right": {51.4, 51.5}, "bust point left": {34.6, 52}, "bust point right": {45.4, 52}, "under bust right": {45, 60},
	"waist left": {31, 66}, "waist right": {49, 66}, "waist": {40, 66}, "waist before": {45, 67}, "hip left": {26.6, 83}, "hip right": {53.4, 83},
	"arm inside": {51.4, 50}, "arm outside": {58.6, 47}, "wrist inside": {61.6, 84.5}, "wrist outside": {65.6, 84}, "hand inside": {61.4, 91}, "hand outside": {67.4, 91},
	"crotch": {40, 88}, "floor": {40, 165}, "thigh outside": {53.4, 98}, "knee inside": {42.6, 124}, "knee outside": {49.8, 124}, "calf outside": {51, 136}, "floor outside": {51, 165},
}

var sideUpper = [][]spot{
	{{46, 24}, {43.6, 25.4}, {43.5, 30}, {46, 38}, {50.4, 50}, {48.6, 58}, {46.6, 66}, {47.5, 76}},
	{{36.6, 20}, {36.6, 28}, {33, 36}, {32.2, 46}, {34.4, 58}, {35, 66}, {33, 74}},
	{{36.6, 20}, {33.4, 15}, {33.4, 8}, {38, 3.4}, {43, 3}, {48, 7}, {48.4, 12}, {50.6, 16}, {48.6, 17.4}, {49, 21}, {46, 24}},
}

var sideLegs = [][]spot{
	{{33, 74}, {30.4, 84}, {33, 96}, {36, 112}, {36, 124}, {33.6, 136}, {36, 152}, {35, 163}, {37, 165}, {52, 165}},
	{{47.5, 76}, {48.4, 86}, {47.4, 104}, {45, 122}, {44, 138}, {41.6, 154}, {44.6, 159}, {52, 163}, {52, 165}},
}

var sidePoints = map[string]spot{
	"over crown": {60, 3}, "floor": {60, 165}, "tip": {41, 35}, "elbow": {36, 65}, "wrist": {57, 66},
	"waist": {41, 66}, "hip": {41, 84}, "seat": {41, 92}, "heel": {34.6, 163.4}, "instep": {43.6, 157.6},
}

// pieceFigure is half a bodice of paper, its neck so deep.
func pieceFigure(word string, neck float64) figure {
	return figure{word, false, [][]spot{{{46, 14}, {26, 22}}, {{26, 22}, {31, 38}, {27, 50}, {14, 58}}, {{14, 58}, {18, 104}}, {{18, 104}, {62, 104}}, {{62, 104}, {62, neck}}, {{62, neck}, {51, neck - (neck-14)/4}, {46, 14}}},
		map[string]spot{"tip": {26, 22}, "upper armhole": {31, 38}, "lower armhole": {27, 50}, "underarm": {14, 58}}}
}

// smooth is a line through places, round where there are more than two.
func smooth(places []spot) string {
	var b strings.Builder
	at := func(i int) spot { return places[min(max(i, 0), len(places)-1)] }
	fmt.Fprintf(&b, "M%.4g %.4g", places[0].x, places[0].y)
	for i := range len(places) - 1 {
		p0, p1, p2, p3 := at(i-1), at(i), at(i+1), at(i+2)
		fmt.Fprintf(&b, "C%.4g %.4g %.4g %.4g %.4g %.4g", p1.x+(p2.x-p0.x)/6, p1.y+(p2.y-p0.y)/6, p2.x-(p3.x-p1.x)/6, p2.y-(p3.y-p1.y)/6, p2.x, p2.y)
	}
	return b.String()
}

// figureID is the name of a figure within a page.
func figureID(name string) string { return "figure-" + strings.ReplaceAll(name, " ", "-") }

// FiguresSVG holds each figure once, for the drawings of a page to use.
func FiguresSVG() template.HTML {
	var b strings.Builder
	b.WriteString(`<svg class="hidden" aria-hidden="true" focusable="false"><defs>`)
	for _, name := range slices.Sorted(maps.Keys(bodyViews)) {
		f := bodyViews[name]
		fmt.Fprintf(&b, `<g id="%s"><path class="figure" d="`, figureID(name))
		for _, l := range f.lines {
			b.WriteString(smooth(l))
			if f.mirror {
				other := make([]spot, len(l))
				for i, p := range l {
					other[i] = spot{80 - p.x, p.y}
				}
				b.WriteString(smooth(other))
			}
		}
		b.WriteString(`"/></g>`)
	}
	b.WriteString(`</defs></svg>`)
	return template.HTML(b.String()) //nolint:gosec // made of constants
}

// SVG draws where the tape goes for a measure: the nearer part of the figure, the tape upon it, and in words
// which side is seen. "" where no way is known. The line on how it is taken says the same in words, so the drawing is
// hidden from screen readers.
func SVG(name string) template.HTML {
	of, kind, places := wayOf(name)
	if len(places) < 2 {
		return ""
	}
	lo, hi := places[0], places[0]
	for _, p := range places {
		lo, hi = spot{min(lo.x, p.x), min(lo.y, p.y)}, spot{max(hi.x, p.x), max(hi.y, p.y)}
	}
	high := min(max(1.5*(hi.y-lo.y), 2*(hi.x-lo.x), 54), 176)
	wide := high * 3 / 4
	left, top := (lo.x+hi.x-wide)/2, min(max((lo.y+hi.y-high)/2, -4), max(172-high, -4))
	if _, is := bodyViews[of].points["floor"]; !is { // a thing is shown whole
		high, wide, left, top = 104, 78, 1, 8
	} else if high > 80 {
		left = 40 - wide/2
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<span class="tape" aria-hidden="true"><svg viewBox="%.4g %.4g %.4g %.4g" focusable="false"><use href="#%s"/>`, left, top, wide, high, figureID(of))
	if kind == "round" {
		a, z := places[0], places[1]
		sag := math.Hypot(z.x-a.x, z.y-a.y) * 0.16
		mx, my := (a.x+z.x)/2, (a.y+z.y)/2
		fmt.Fprintf(&b, `<path class="behind" d="M%.4g %.4gQ%.4g %.4g %.4g %.4g"/>`, a.x, a.y, mx, my-sag, z.x, z.y)
		fmt.Fprintf(&b, `<path class="way" d="M%.4g %.4gQ%.4g %.4g %.4g %.4g"/>`, a.x, a.y, mx, my+sag, z.x, z.y)
	} else {
		fmt.Fprintf(&b, `<path class="way" d="%s"/>`, smooth(places))
		a, z := places[0], places[len(places)-1]
		fmt.Fprintf(&b, `<path class="ends" d="M%.4g %.4gh0M%.4g %.4gh0"/>`, a.x, a.y, z.x, z.y)
	}
	fmt.Fprintf(&b, `</svg><span>%s</span></span>`, bodyViews[of].word)
	return template.HTML(b.String()) //nolint:gosec // made of constants
}

// wayOf reads a measure's row: the figure, whether the tape goes round or along, and its places.
func wayOf(name string) (of, kind string, places []spot) {
	of, way, _ := strings.Cut(rowOf(name).way, ": ")
	kind, named, _ := strings.Cut(way, " ")
	for point := range strings.SplitSeq(named, ", ") {
		p, is := bodyViews[of].points[point]
		if !is {
			return of, kind, nil
		}
		places = append(places, p)
	}
	return of, kind, places
}
