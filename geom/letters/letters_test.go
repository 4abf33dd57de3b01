package letters

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The counts of points in the published table of the simplex set (A. V. Hershey, "Calligraphy for
// computers", NWL Report 1810, 1967, as numbered in the file form by J. Hurt): the character, how
// many pairs stand in its line with the pair for its sides.
func TestBasicSetIsWhole(t *testing.T) {
	if len(basic) != 95 {
		t.Fatalf("%d characters, want the 95 from blank to tilde", len(basic))
	}
	for r, pairs := range map[rune]int{' ': 1, '!': 9, '&': 35, 'H': 9, '-': 3, '/': 3} {
		line := strings.Split(simplex, "\n")[r-32]
		if len(line) != 2*pairs {
			t.Errorf("%q has %d pairs, want %d", r, len(line)/2, pairs)
		}
	}
}

func TestCapitalsStandOnTheBaselineAtTheirHeight(t *testing.T) {
	for _, text := range []string{"H", "E", "HOIST", "ÆØÐÞ", "ÍÏ", "ïî"} {
		strokes, width := Strokes(text, 5)
		var all orb.MultiPoint
		for _, s := range strokes {
			all = append(all, s.Points...)
		}
		b := all.Bound()
		if text[0] < 0x80 && (math.Abs(b.Min[1]) > 1e-9 || math.Abs(b.Max[1]-5) > 1e-9) {
			t.Errorf("%q runs from %g to %g, want 0 to 5", text, b.Min[1], b.Max[1])
		}
		if b.Min[0] < 0 || b.Max[0] > width {
			t.Errorf("%q runs from %g to %g in a width of %g", text, b.Min[0], b.Max[0], width)
		}
	}
}

func TestScaleAndPlaceFollowTheHeight(t *testing.T) {
	small, w := Strokes("Hem ½", 2)
	large, v := Strokes("Hem ½", 6)
	if len(small) != len(large) || math.Abs(v-3*w) > 1e-9 {
		t.Fatalf("%d strokes over %g and %d over %g", len(small), w, len(large), v)
	}
	for i := range small {
		for k, p := range small[i].Points {
			if geom.Dist(geom.Mul(p, 3), large[i].Points[k]) > 1e-9 {
				t.Fatalf("stroke %d does not scale", i)
			}
		}
	}
}

// Every printable character of the Unicode blocks Basic Latin, Latin-1 Supplement and Latin
// Extended-A has a form of its own: no box, and no two letters that look the same.
func TestLatinIsCovered(t *testing.T) {
	forms := map[string]rune{}
	alike := map[rune]rune{'Đ': 'Ð', 'l': 'I', 'ĺ': 'Í'} // the first by Unicode's charts, the others in this set
	for r := rune(0x20); r <= 0x17f; r++ {
		if !unicode.IsPrint(r) {
			continue
		}
		if lost := replaced(string(r)); lost != nil {
			t.Errorf("%q (%U) is drawn as a box or without %U", r, r, lost)
		}
		strokes, width := Strokes(string(r), 21)
		if width <= 0 {
			t.Errorf("%q has no width", r)
		}
		var key strings.Builder
		for _, s := range strokes {
			for _, p := range s.Points {
				key.WriteString(strings.TrimSpace(pointKey(p)))
			}
			key.WriteByte('|')
		}
		if other, ok := forms[key.String()]; ok && alike[r] != other && unicode.IsLetter(r) {
			t.Errorf("%q and %q are drawn alike", r, other)
		}
		forms[key.String()] = r
	}
}

func pointKey(p orb.Point) string {
	return string(rune(0x1000+int(math.Round(p[0]*20)))) + string(rune(0x1000+int(math.Round(p[1]*20))))
}

func TestOtherFormsAndSigns(t *testing.T) {
	for _, text := range []string{"⅓ ⅝ ¼", "— – … “x” ‘y’ „z“ €", "ﬁ", "Ｈ", "e\u0301", "ạ", "№ ™ → −"} {
		if lost := replaced(text); lost != nil {
			t.Errorf("%q loses %U", text, lost)
		}
	}
	whole, w := Strokes("é", 5)
	parts, v := Strokes("e\u0301", 5)
	if len(whole) != len(parts) || w != v {
		t.Error("é is drawn differently when its accent comes apart")
	}
}

func TestWhatCannotBeDrawnIsSeen(t *testing.T) {
	text := "A\u4e2d\x1bB\x03\u4e2d\xff"
	got := replaced(text)
	want := []rune{'\u4e2d', 0x1b, 0x03, unicode.ReplacementChar}
	if string(got) != string(want) {
		t.Errorf("replaced %U, want %U", got, want)
	}
	strokes, _ := Strokes("\u4e2d", 7)
	if len(strokes) != 1 || !strokes[0].Closed || math.Abs(strokes[0].Bound().Max[1]-7) > 1e-9 {
		t.Errorf("a box of capital height expected, got %v", strokes)
	}
}

func TestEveryTableEntryReads(t *testing.T) {
	for r, s := range drawn {
		g := readDrawn(s)
		b, ok := g.bound()
		if !ok || b.Min[0] < 0 || b.Max[0] > g.width || b.Max[1] > 26 || b.Min[1] < -8 {
			t.Errorf("%q lies %v in a width of %g", r, b, g.width)
		}
	}
	for r, s := range marks {
		if _, ok := readDrawn(s).bound(); !ok {
			t.Errorf("%U is blank", r)
		}
	}
	for r, b := range barred {
		if _, ok := basic[b.base]; !ok || len(readDrawn(b.stroke).lines) == 0 {
			t.Errorf("%q is not a letter with a stroke", r)
		}
	}
}

// replaced lists the characters of the text that are drawn as a box, or whose marks are left out,
// each once, in their order.
func replaced(text string) []rune {
	var lost []rune
	for _, c := range clusters(text) {
		_, missing := c.glyph()
		for _, r := range missing {
			if !slices.Contains(lost, r) {
				lost = append(lost, r)
			}
		}
	}
	return lost
}
