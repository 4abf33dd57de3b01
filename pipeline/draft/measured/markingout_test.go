package measured

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/pleats"
)

// tapeRead reads "5 1/2" or "5.5" as a person does who knows only the list.
func tapeRead(t *testing.T, s string) float64 {
	var sum float64
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		return -tapeRead(t, rest)
	}
	for _, f := range strings.Fields(s) {
		var a, b float64
		if n, _ := fmt.Sscanf(f, "%g/%g", &a, &b); n == 2 {
			sum += a / b
			continue
		}
		if _, err := fmt.Sscanf(f, "%g", &a); err != nil {
			t.Fatalf("%q cannot be read", s)
		}
		sum += a
	}
	return sum
}

// drawnByEye is what a person draws who reads the list: a straight stroke, a swing of the tape round its centre, or a line
// by eye - here parabolas - through the places told from the straight line to the next place. It is in mm, y up, and knows
// nothing but the words of the list.
func drawnByEye(t *testing.T, m, next figures.MarkOut, at func(across, down string) orb.Point, mm, outside float64) []orb.Point {
	a, b := at(m.Across, m.Down), at(next.Across, next.Down)
	switch {
	case m.Swing != nil:
		c := at(m.Swing.Across, m.Swing.Down)
		r := tapeRead(t, m.Swing.Radius) * mm
		u, v := geom.Sub(a, c), geom.Sub(b, c)
		sweep := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
		out := []orb.Point{a}
		for k := range 63 {
			out = append(out, geom.Add(c, geom.Mul(geom.Unit(geom.Rotate(sweep*float64(k+1)/64).Vector(u)), r)))
		}
		return out
	case len(m.Offsets) > 0:
		way := geom.Unit(geom.Sub(b, a))
		away := geom.Mul(geom.Left(way), outside)
		x, y := []float64{0}, []float64{0}
		for _, o := range m.Offsets {
			x, y = append(x, tapeRead(t, o.Along)*mm), append(y, tapeRead(t, o.Out)*mm)
		}
		x, y = append(x, geom.Dist(a, b)), append(y, 0)
		out := []orb.Point{a}
		for i := 0; i+1 < len(x); i++ {
			for k := range 8 {
				s := x[i] + (x[i+1]-x[i])*float64(k)/8
				j := max(0, min(i, len(x)-3))
				v := 0.0
				for p := j; p < j+3; p++ {
					w := y[p]
					for q := j; q < j+3; q++ {
						if q != p {
							w *= (s - x[q]) / (x[p] - x[q])
						}
					}
					v += w
				}
				out = append(out, geom.Add(a, geom.Add(geom.Mul(way, s), geom.Mul(away, v))))
			}
		}
		return out
	}
	return []orb.Point{a}
}

// chalkRow is a row of the list: letters, across and down, and what stands behind them.
var chalkRow = regexp.MustCompile(`^  (.*?) {2,}(` + tapeNumber + `) {2,}(` + tapeNumber + `)(?:   (.*))?$`)

const tapeNumber = `-?(?:\d+ )?\d+(?:\.\d+|/\d)?`

// chalkList is what a person reads of one piece in the printed list.
type chalkList struct {
	lines   [][2]string // where the tape lies, and the places in a row
	outline []figures.MarkOut
	inside  []figures.MarkOut
}

// readChalkList reads the list of a piece from the words that figures print, and from nothing else.
func readChalkList(t *testing.T, text, piece string) (l chalkList) {
	t.Helper()
	_, text, ok := strings.Cut("\n"+text, "\n"+piece+": cut ")
	if !ok {
		t.Fatalf("%s is not in the list", piece)
	}
	text, _, _ = strings.Cut(text, "\n\n")
	_, text, _ = strings.Cut(text, "  to chalk it: ")
	part := ""
	for _, s := range strings.Split(text, "\n") {
		row := chalkRow.FindStringSubmatch(s)
		switch {
		case strings.HasPrefix(s, "  where the tape lies"), strings.HasPrefix(s, "  joined in this order"), strings.HasPrefix(s, "  and on it"):
			part = s[2:7]
		case part == "where":
			along, places, _ := strings.Cut(s, "   ")
			l.lines = append(l.lines, [2]string{strings.TrimSpace(along), strings.TrimSpace(places)})
		case row != nil && part == "joine":
			m := figures.MarkOut{Point: row[1], Across: row[2], Down: row[3]}
			readWay(t, &m, row[4])
			l.outline = append(l.outline, m)
		case row != nil:
			l.inside = append(l.inside, figures.MarkOut{Across: row[2], Down: row[3], Edge: row[4]})
		}
	}
	return l
}

var (
	swungFrom = regexp.MustCompile(`^swing (` + tapeNumber + `) from (.*)$`)
	tapedFrom = regexp.MustCompile(`^(` + tapeNumber + `) (across|beyond the plumb line), (` + tapeNumber + `) (down|up)$`)
	besideIt  = regexp.MustCompile(`at (` + tapeNumber + `): (` + tapeNumber + `) (inside|outside)`)
)

// readWay reads the way to the next place.
func readWay(t *testing.T, m *figures.MarkOut, words string) {
	t.Helper()
	if _, after, ok := strings.Cut(words, ": "); ok && !strings.HasPrefix(words, "curve; ") {
		words = after
	}
	switch w := swungFrom.FindStringSubmatch(words); {
	case w != nil:
		m.Swing = &figures.Swing{Radius: w[1], Point: w[2]}
		if c := tapedFrom.FindStringSubmatch(w[2]); c != nil {
			m.Swing.Point = ""
			m.Swing.Across, m.Swing.Down = signed(c[1], c[2] != "across"), signed(c[3], c[4] == "up")
		}
	case strings.HasPrefix(words, "curve; "):
		for _, o := range besideIt.FindAllStringSubmatch(words, -1) {
			m.Offsets = append(m.Offsets, figures.Offset{Along: o[1], Out: signed(o[2], o[3] == "inside")})
		}
		if len(m.Offsets) != strings.Count(words, "side,")+1 {
			t.Errorf("%d places are read of %q", len(m.Offsets), words)
		}
	}
}

func signed(v string, minus bool) string {
	if minus && v != "0" {
		return "-" + v
	}
	return v
}

var tapeLies = regexp.MustCompile(`^(?:along the (level line|fold|plumb line), (?:across|down)|level, (` + tapeNumber + `) (down|up): across|plumb, (` + tapeNumber + `) across: down|from (.+) straight to (.+))$`)

// chalkedLetters are the lettered places that the tape lines tell, in tape units across and down; rests, which lie between
// two places of a straight edge, come back by the letters between which they lie.
func (l chalkList) chalkedLetters(t *testing.T) map[string]orb.Point {
	t.Helper()
	out := map[string]orb.Point{}
	named := func(s string) orb.Point {
		if c := tapedFrom.FindStringSubmatch(s); c != nil {
			return orb.Point{tapeRead(t, signed(c[1], c[2] != "across")), tapeRead(t, signed(c[3], c[4] == "up"))}
		}
		for _, m := range l.outline {
			if m.Point == s {
				return orb.Point{tapeRead(t, m.Across), tapeRead(t, m.Down)}
			}
		}
		t.Fatalf("%q is no place of the outline", s)
		return orb.Point{}
	}
	for _, line := range l.lines {
		w := tapeLies.FindStringSubmatch(line[0])
		if w == nil {
			t.Fatalf("where the tape lies is not understood: %q", line[0])
		}
		for _, s := range strings.Split(line[1], ", ") {
			k := regexp.MustCompile(` ` + tapeNumber + `$`).FindStringIndex(s)
			if k == nil {
				t.Fatalf("no place and number: %q", s)
			}
			at := tapeRead(t, s[k[0]+1:])
			var q orb.Point
			switch {
			case w[1] == "level line":
				q = orb.Point{at, 0}
			case w[1] != "":
				q = orb.Point{0, at}
			case w[2] != "":
				q = orb.Point{at, tapeRead(t, signed(w[2], w[3] == "up"))}
			case w[4] != "":
				q = orb.Point{tapeRead(t, w[4]), at}
			default:
				a, b := named(w[5]), named(w[6])
				q = geom.Add(a, geom.Mul(geom.Unit(geom.Sub(b, a)), at))
			}
			if _, twice := out[s[:k[0]]]; twice {
				t.Errorf("%s is chalked twice", s[:k[0]])
			}
			out[s[:k[0]]] = q
		}
	}
	return out
}

// Chalked from the printed words alone, each piece of each starter is the piece again: no point of either outline lies
// further from the other than what is lost by reading a tape to 1 mm or 1/8 in at three places, and 1 mm by eye. Lettered places
// are where their tape lines say, notches and lines where the list marks them.
func TestMarkingOut(t *testing.T) {
	digit := map[string]float64{"in": 25.4 / 8, "cm": 1, "mm": 1}
	ways := map[string]int{}
	bodies := map[string]string{"ferry-smock.yaml": "B", "lamplighter-jacket.yaml": "D", "tool-roll.yaml": "T2"}
	for _, file := range starterFiles(t) {
		f, err := FiguresOf(samples.Read(file), file, Options{Body: bodies[file]})
		if err != nil {
			t.Fatal(err)
		}
		var text, js, html bytes.Buffer
		if f.Text(&text) != nil || f.JSON(&js) != nil || f.HTML(&html) != nil || text.Len()*js.Len()*html.Len() == 0 {
			t.Error("not written")
		}
		e := drawn(t, file, bodies[file])
		for i, pc := range f.Pieces {
			list := readChalkList(t, text.String(), pc.Name)
			letters := list.chalkedLetters(t)
			line, _ := e.Flatten(e.Pieces[i].Edges)
			b := line.Bound()
			mm := tapeIn(f.Unit)
			place := func(across, down string) orb.Point {
				return orb.Point{b.Min[0] + tapeRead(t, across)*mm, b.Max[1] - tapeRead(t, down)*mm}
			}
			outside := -1.0
			if line.SignedArea() < 0 {
				outside = 1
			}
			chalk := geom.Path{Closed: true}
			for k, m := range list.outline {
				if m.Swing != nil && m.Swing.Point != "" {
					c, ok := letters[m.Swing.Point]
					if !ok {
						t.Fatalf("%s %s: nobody says where %s is, round which the tape is swung", file, pc.Name, m.Swing.Point)
					}
					m.Swing.Across, m.Swing.Down = fmt.Sprint(c[0]), fmt.Sprint(c[1])
				}
				chalk.Points = append(chalk.Points, drawnByEye(t, m, list.outline[(k+1)%len(list.outline)], place, mm, outside)...)
				switch {
				case m.Swing != nil:
					ways["swing"]++
				case len(m.Offsets) > 0:
					ways["offsets"]++
				default:
					ways["straight"]++
				}
				if c, ok := letters[m.Point]; ok && geom.Dist(c, orb.Point{tapeRead(t, m.Across), tapeRead(t, m.Down)})*mm > 0.01 {
					t.Errorf("%s %s: %s is chalked at %v and told at %s, %s", file, pc.Name, m.Point, c, m.Across, m.Down)
				}
			}
			off := 0.0
			for _, two := range [][2]geom.Path{{chalk, line}, {line, chalk}} {
				for _, q := range two[0].Points {
					if d := two[1].Nearest(q).Dist; d > off {
						off = d
					}
				}
			}
			if off > 1.2*digit[f.Unit]+1 {
				t.Errorf("%s %s: the chalked outline is %.2f mm off", file, pc.Name, off)
			}
			if n := len(list.outline); n > 30 {
				t.Errorf("%s %s: nobody chalks %d places", file, pc.Name, n)
			}
			checkInside(t, file+" "+pc.Name, e.Pieces[i], list.inside, func(m figures.MarkOut, q orb.Point) bool {
				return geom.Dist(place(m.Across, m.Down), e.ToMM(q)) < 2*digit[f.Unit]
			})
		}
	}
	if len(ways) != 3 {
		t.Errorf("not every way was read: %v", ways)
	}
	t.Log(ways)
}

func tapeIn(unit string) float64 { return map[string]float64{"in": 25.4, "cm": 10, "mm": 1}[unit] }

// checkInside looks for each notch, line and drill mark of a piece among the places that the list marks on it, and for no
// other; near tells whether a place is told where it is.
func checkInside(t *testing.T, name string, pc *pieces.Piece, told []figures.MarkOut, near func(figures.MarkOut, orb.Point) bool) {
	t.Helper()
	is := func(q orb.Point, words string) bool {
		return slices.ContainsFunc(told, func(m figures.MarkOut) bool {
			return strings.Contains(m.Edge, words) && near(m, q)
		})
	}
	n := len(pc.Drills) - shared(pc.Marks)
	for _, l := range pc.Marks {
		ends := []orb.Point{l.From, l.To}
		if l.Place { // the sign of one place, 6 mm wide, is chalked at its middle
			ends = []orb.Point{geom.Lerp(l.From, l.To, 0.5)}
		}
		n += len(ends) + len(l.Told)
		for _, q := range ends {
			if !is(q, l.Name) {
				t.Errorf("%s: nobody says that %q ends or lies at %v", name, l.Name, q)
			}
		}
	}
	for _, d := range pc.Drills {
		if !is(d, "drill mark") {
			t.Errorf("%s: the drill mark at %v is not told", name, d)
		}
	}
	for _, notch := range pc.Notches { // a notch at which a line ends is told with it
		if !slices.ContainsFunc(pc.Marks, func(l pleats.InnerLine) bool {
			return geom.Dist(l.From, notch.At) < 1e-3 || geom.Dist(l.To, notch.At) < 1e-3
		}) {
			n++
		}
		if !is(notch.At, "notch on "+pc.Edges[notch.Edge].Name) {
			t.Errorf("%s: the notch at %v is not told", name, notch.At)
		}
	}
	if len(told) != n {
		t.Errorf("%s: %d places inside, want %d", name, len(told), n)
	}
}

// shared is how many ends of the legs of darts are told with another one's: the legs of a dart are chalked in one stroke.
func shared(marks []pleats.InnerLine) (n int) {
	for k, l := range marks {
		if l.Name != "dart leg" {
			continue
		}
		n++ // each leg but the first of a stroke begins where one ended
		if !slices.ContainsFunc(marks[:k], func(o pleats.InnerLine) bool {
			return o.Name == l.Name && min(geom.Dist(o.From, l.From), geom.Dist(o.To, l.To), geom.Dist(o.From, l.To), geom.Dist(o.To, l.From)) < 1e-3
		}) {
			n--
		}
	}
	return n
}
