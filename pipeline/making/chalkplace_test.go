package making

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/lay"
)

// uneven are pieces none of which is its own mirror image or the same turned round, without allowances, so that what is
// chalked is what is cut: a half on the fold, a pair, a lone one, two alike, one on the bias and one along its length.
const uneven = `style: Uneven pieces
unit: cm
bodies:
  A: {waist: 70}
draft half:
  A: start
  B: from A out 20
  C: from B down 30
  D: from A down 44
  shoulder: line A to B
  side: line B to C
  hem: line C to D
  middle: line D to A
  outline: shoulder, side, hem, middle on the fold
draft wedge:
  A: start
  B: from A out 11
  C: from B down 33
  D: from A down 21
  one: line A to B
  two: line B to C
  three: line C to D
  four: line D to A
  outline: one, two, three, four
pieces:
  body: half; cut 1 on the fold
  side: wedge; cut 2, a pair
  tab: wedge; cut 1
  ear: wedge; cut 2, alike
  slant: wedge; cut 1; on the bias
  band: wedge; cut 1; grain level
allow:
  all: 0
`

// told is a place as the list's text says it.
var told = regexp.MustCompile(`(?m)^  on the cloth main, (?:copies (\d+) and (\d+), from two layers at once: |(both copies), from two layers at once: |copy (\d+): )?(\S.*) lies (\S+) from the cut end and (\S+) from (the [a-z ]+); down runs (.+), across (.+?)(; turned round)?(; the other way up: the mirror image of the picture)?(; in one layer: .*)?$`)

// aside is a direction that is neither along the cloth nor across it.
var aside = regexp.MustCompile(`^aslant, (\S+) degrees from the length, (.+ the cut end) and (.+)$`)

// TestChalkedPlace chalks every piece by the words of its list alone, as a person does who stands before the cloth with its
// cut end at the left: from the place that is told, across and down as they are told to run. What is chalked must be the
// line that the lay's own JSON says is cut (outline_mm), for every copy, folded in every way; the place at which a piece
// begins is a corner of it.
func TestChalkedPlace(t *testing.T) {
	for _, cloth := range []string{"main: 150 wide, folded once", "main: 150 wide, folded twice", "main: 150 wide, part folded", "main: 150 wide, in one layer",
		"main: 150 wide, one way", "main: 90 wide", ""} {
		text := uneven
		if cloth != "" {
			text += "cloth:\n  " + cloth + "\n"
		}
		m, r := New(Sample()), Request{Name: "uneven.yaml", Source: []byte(text)}
		f, err := m.Chalking(t.Context(), r, cloths.Wish{})
		if err != nil {
			t.Fatalf("%s: %v", cloth, err)
		} else if f.Unlaid != "" || len(f.Cloths) != 1 {
			t.Fatalf("%s: %q, %d cloths", cloth, f.Unlaid, len(f.Cloths))
		}
		if f.Cloths[0].Usual != (cloth == "") || f.Cloths[0].Usual != strings.Contains(f.ClothWords(f.Cloths[0]), "Nobody says how wide") {
			t.Errorf("%s: that the width is the usual one: %v", cloth, f.Cloths[0].Usual)
		}
		l, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Unsaid: cloths.UsualWidth})
		if err != nil {
			t.Fatal(err)
		}
		var js, list, bought bytes.Buffer
		var s lay.Sheet
		if err := l.WriteJSON(&js); err != nil {
			t.Fatal(err)
		} else if err := json.Unmarshal(js.Bytes(), &s); err != nil {
			t.Fatal(err)
		} else if err := f.Text(&list); err != nil {
			t.Fatal(err)
		}
		if l.WriteText(&bought); !strings.Contains(bought.String(), f.Cloths[0].Buy) || math.Abs(10*number(t, f.Cloths[0].Laid)-s.Length) > 1 {
			t.Errorf("%s: the list tells %+v, the lay %s", cloth, f.Cloths[0], bought.String())
		}
		n, last := chalkAll(t, f, list.String(), s), -1.0
		if n != len(s.Placements) {
			t.Errorf("%s: %d of %d copies told:\n%s", cloth, n, len(s.Placements), list.String())
		}
		for _, pc := range f.Pieces { // in the order in which they lie
			least := cutEnd(pc, s)
			if least < last-0.01 {
				t.Errorf("%s: %s is told behind a piece that lies farther from the cut end", cloth, pc.Name)
			}
			last = least
		}
	}
}

// cutEnd is how near to the cut end a copy of the piece lies, mm.
func cutEnd(pc figures.PieceFigures, s lay.Sheet) float64 {
	least := math.Inf(1)
	for _, p := range s.Placements {
		if p.Piece == pc.Name {
			for _, q := range p.Outline {
				least = math.Min(least, q[0])
			}
		}
	}
	return least
}

// chalkAll chalks each place of a list and counts the copies that are as the sheet has them.
func chalkAll(t *testing.T, f *figures.Figures, list string, s lay.Sheet) (n int) {
	parts := strings.Split(list, "\n\n")
	for _, pc := range f.Pieces {
		text := ""
		for _, p := range parts {
			if strings.HasPrefix(p, pc.Name+": cut") {
				text = p
			}
		}
		for _, w := range told.FindAllStringSubmatch(text, -1) {
			var copies []int
			switch {
			case w[3] != "":
				copies = []int{1, 2}
			case w[1] != "":
				copies = []int{int(number(t, w[1])), int(number(t, w[2]))}
			case w[4] != "":
				copies = []int{int(number(t, w[4]))}
			default:
				copies = []int{1}
			}
			edge, beyond := lineOf(t, s, w[8])
			at := orb.Point{10 * number(t, w[6]), edge + beyond*10*number(t, w[7])}
			down, across := wayOf(t, w[9], beyond), wayOf(t, w[10], beyond)
			if (geom.Cross(across, down) > 0) != (w[12] != "") {
				t.Errorf("%s: %q, but down is %v and across %v", pc.Name, w[12], down, across)
			}
			first := pc.Marking.Outline[0]
			var line []orb.Point
			for _, q := range pc.Marking.Outline {
				x, y := 10*(number(t, q.Across)-number(t, first.Across)), 10*(number(t, q.Down)-number(t, first.Down))
				line = append(line, geom.Add(at, geom.Add(geom.Mul(across, x), geom.Mul(down, y))))
				if p := line[len(line)-1]; beyond*(p[1]-edge) < -1.6 || p[0] < -1.6 {
					t.Errorf("%s: chalked at %v, beyond %s: there is no cloth", pc.Name, p, w[8])
				}
			}
			for _, c := range copies {
				if cutSo(s, pc.Name, c, line, edge, pc.OnFold) {
					n++
				} else {
					t.Errorf("%s copy %d, %s fold: chalked at %v, which is not cut there\n%s", pc.Name, c, s.Fold, line, text[:min(len(text), 700)])
				}
			}
			if len(copies) == 1 && w[11] != "" != turned(s, pc.Name, copies[0], pc.Grain) {
				t.Errorf("%s: %q", pc.Name, w[11])
			}
		}
	}
	return n
}

// lineOf is where a fold or selvedge lies on the cloth opened out, and on which side of it a person sees cloth.
func lineOf(t *testing.T, s lay.Sheet, name string) (y, beyond float64) {
	switch name {
	case "the near selvedge":
		return 0, 1
	case "the far selvedge":
		return s.Width, -1
	case "the near fold":
		return s.Width / 4, 1
	case "the far fold":
		return 3 * s.Width / 4, -1
	case "the fold":
		if s.Fold == "once" {
			return s.Width / 2, 1
		}
		for _, p := range s.Placements { // the piece on it is as wide on either side
			if p.Piece == "body" {
				b := orb.MultiPoint{}
				for _, q := range p.Outline {
					b = append(b, q)
				}
				return b.Bound().Center()[1], 1
			}
		}
	}
	t.Fatalf("%q is told, on cloth folded %q", name, s.Fold)
	return 0, 0
}

// wayOf reads a direction.
func wayOf(t *testing.T, words string, beyond float64) orb.Point {
	one := func(w string) orb.Point {
		v := orb.Point{0, beyond}
		if strings.HasSuffix(w, "the cut end") {
			v = orb.Point{1, 0}
		}
		if strings.HasPrefix(w, "towards ") {
			v = geom.Mul(v, -1)
		} else if !strings.HasPrefix(w, "away from ") {
			t.Fatalf("which way is %q", w)
		}
		return v
	}
	if w := aside.FindStringSubmatch(words); w != nil {
		a := number(t, w[1]) * math.Pi / 180
		return geom.Add(geom.Mul(one(w[2]), math.Cos(a)), geom.Mul(one(w[3]), math.Sin(a)))
	}
	return one(words)
}

// cutSo tells whether a copy is cut along a line within what a tape shows: as it is seen, or through the layer below.
func cutSo(s lay.Sheet, piece string, c int, line []orb.Point, fold float64, half bool) bool {
	for _, p := range s.Placements {
		if p.Piece != piece || p.Copy != c {
			continue
		}
		corner := func(q orb.Point) bool {
			for _, o := range p.Outline {
				if geom.Dist(q, o) < 1.6 {
					return true
				}
			}
			return false
		}
		seen, under := 0, 0
		for _, q := range line {
			if corner(q) || half && onLine(p.Outline, q) {
				seen++
			}
			if q[1] = 2*fold - q[1]; corner(q) {
				under++
			}
		}
		return seen == len(line) || under == len(line)
	}
	return false
}

// onLine tells a place that lies on a ring, or inside it as the ends of a fold do.
func onLine(ring [][2]float64, q orb.Point) bool {
	p := geom.Path{Closed: true}
	for _, o := range ring {
		p.Points = append(p.Points, o)
	}
	return p.Nearest(q).Dist < 1.6
}

// turned tells from the JSON whether the piece's grain points to the cut end: 90 degrees clockwise brings what is plumb
// along the cloth, and what is turned over keeps its top.
func turned(s lay.Sheet, piece string, c int, grain string) bool {
	for _, p := range s.Placements {
		if p.Piece != piece || p.Copy != c {
			continue
		}
		way := 90.0
		switch {
		case strings.HasPrefix(grain, "level"):
			way = 0
		case strings.HasPrefix(grain, "on the bias"):
			way = 45
		}
		if p.Mirrored {
			way = 180 - way
		}
		return math.Cos((way+p.Rotation)*math.Pi/180) < -1e-6
	}
	return false
}

// TestTapeIsSwungOnTheCloth: no arc of a starter's list is swung round a place beside the cloth, reckoned by the words of
// the list alone; arcs whose centre lies off it are told from a straight line, and so are those of more than 150 cm.
func TestTapeIsSwungOnTheCloth(t *testing.T) {
	swung, straight := 0, 0
	for _, name := range []string{"princess-tunic.yaml", "gore-cloak.yaml", "ferry-smock.yaml", "half-circle-skirt.yaml", "waistcoat.yaml"} {
		m, r := New(Sample()), Request{Name: name, Source: samples.Read(name)}
		f, err := m.Chalking(t.Context(), r, cloths.Wish{})
		if err != nil {
			t.Fatal(name, err)
		}
		plain, err := measured.FiguresOf(r.Source, name, measured.Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		for _, pc := range f.Pieces {
			i := slices.IndexFunc(plain.Pieces, func(o figures.PieceFigures) bool { return o.Name == pc.Name })
			for k, q := range pc.Marking.Outline {
				if q.Swing == nil {
					if plain.Pieces[i].Marking.Outline[k].Swing != nil {
						if straight++; len(q.Offsets) == 0 {
							t.Errorf("%s %s: the arc at %s, %s is told neither way", name, pc.Name, q.Across, q.Down)
						}
					}
					continue
				}
				swung++
				if number(t, q.Swing.Radius) > 150 {
					t.Errorf("%s %s: a tape of %s is swung", name, pc.Name, q.Swing.Radius)
				}
				for _, p := range pc.Places {
					first := pc.Marking.Outline[0]
					if strings.Contains(p.Edge, "fold") || strings.HasPrefix(p.Down, "aslant") {
						continue // TestChalkedPlace knows how wide the cloth is seen there
					}
					x, y := number(t, q.Swing.Across)-number(t, first.Across), number(t, q.Swing.Down)-number(t, first.Down)
					c := geom.Add(orb.Point{number(t, p.FromCutEnd), number(t, p.FromEdge)}, geom.Add(geom.Mul(wayOf(t, p.Across, 1), x), geom.Mul(wayOf(t, p.Down, 1), y)))
					long, wide := number(t, f.Cloths[0].Laid), number(t, f.Cloths[0].Width)
					if c[0] < -0.6 || c[1] < -0.6 || c[0] > long+0.6 || c[1] > wide+0.6 {
						t.Errorf("%s %s: the tape is swung round %v, on a cloth of %g by %g", name, pc.Name, c, long, wide)
					}
				}
			}
		}
	}
	if swung == 0 || straight == 0 {
		t.Errorf("%d arcs are swung, %d told from a straight line", swung, straight)
	}
	t.Logf("%d arcs are swung, %d told from a straight line", swung, straight)
}
