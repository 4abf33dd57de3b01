package check_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/pattern"
)

// sleeveless is half of a vest, its middle on x = 0, whose shoulder drops by a number of either side.
const sleeveless = `style: Vest
unit: cm
card: cast
numbers:
  drop: 4
draft fore:
  O: start
  N: from O down 8
  S: from O out 12, down drop
  U: from O out 22, down 22
  E: from O down 60
  F: from E out 22
  neck: line N to S
  shoulder: line S to U
  side: line U to F
  hem: line F to E
  centre: line E to N
  outline: neck, shoulder, side, hem, centre
pieces:
  fore: fore; cut 2, a pair
allow: 1
`

// readSided reads a draft for a wearer of whom the card says more.
func readSided(t *testing.T, source, card string) *pattern.Pattern {
	t.Helper()
	pt, err := draft.Read([]byte(source), "vest.yaml", draft.Options{Card: func(string) ([]byte, error) {
		return []byte("unit: cm\nmeasures:\n  bust: 92\n" + card), nil
	}})
	if err != nil {
		t.Fatalf("%v\n%s", err, source)
	}
	return pt
}

// told are the messages of a pattern's findings that hold some words.
func told(pt *pattern.Pattern, sev pattern.Severity, words string) int {
	n := 0
	for _, f := range check.Run(pt, check.Limits{}, nil) {
		if f.Severity == sev && strings.Contains(f.Message+"; "+f.Mend, words) {
			n++
		}
	}
	return n
}

// TestHandOfAPiece: seen right side up, a front that is drawn out to the right from the middle of the wearer is the left one, a back
// the right one (common practice: a pattern is drawn as the cloth is seen from outside). What is meant to lie with its right side to
// the body, a facing or a lining, is for the other side. Which side cannot be told is said.
func TestHandOfAPiece(t *testing.T) {
	with := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(sleeveless) }
	const line = "  fore: fore; cut 2, a pair\n"
	for _, c := range []struct {
		what, source, piece string
		out                 string // the side that lies out to the right, "" where that is not told
	}{
		{"of no word", sleeveless, "fore", ""},
		{"of its name", with(line, "  vest front: fore; cut 2, a pair\n"), "vest front", "left"},
		{"of another name", with(line, "  forepart: fore; cut 2, a pair\n"), "forepart", "left"},
		{"of its drawing", with("draft fore", "draft front", line, "  vest: front; cut 2, a pair\n"), "vest", "left"},
		{"of its edge", with("  centre: line", "  centre front: line", "hem, centre", "hem, centre front"), "fore", "left"},
		{"a back", with("draft fore", "draft back", line, "  vest: back; cut 2, a pair\n"), "vest", "right"},
		{"of a lining", with(line, "  front: fore; cut 2, a pair; in lining\n"), "front", "right"},
		{"of a facing", with("draft fore", "draft front", line, "  neckline: facing 4 deep along front shoulder; cut 2, a pair\n"), "neckline", "right"},
		{"drawn out to the left", with("draft fore", "draft front", line, "  vest: front; cut 2, a pair\n", "out 12", "back 12", "out 22", "back 22"), "vest", "left"},
	} {
		pt := readSided(t, c.source, "  left drop: 5.7\n")
		if got := told(pt, pattern.Warning, `say front or back in its name`) > 0; got != (c.out == "") {
			t.Errorf("%s: told %v that its side is not known", c.what, got)
		}
		if c.out == "" {
			continue
		}
		for _, side := range []string{"right", "left"} {
			i := slices.IndexFunc(pt.Pieces, func(p pattern.Piece) bool { return p.Name == side+" "+c.piece })
			if i < 0 {
				t.Errorf("%s: no %s %s", c.what, side, c.piece)
				continue
			}
			x := pt.Pieces[i].EdgeLine().Bound().Center()[0]
			if (x > 0) != (side == c.out) {
				t.Errorf("%s: the %s piece lies out to x = %.0f", c.what, side, x)
			}
		}
	}
}

// TestCentresOfSides: the two fronts of a wearer meet in the middle, so that it is told where they are unlike there.
func TestCentresOfSides(t *testing.T) {
	front := strings.ReplaceAll(sleeveless, "draft fore", "draft front")
	front = strings.ReplaceAll(front, "fore: fore", "front: front")
	const words = "the centre of the right front is 52 cm long and that of the left front 51 cm"
	if pt := readSided(t, strings.ReplaceAll(front, "down 8", "down 4 + drop"), "  left drop: 5\n"); told(pt, pattern.Warning, words) != 1 {
		t.Errorf("not told: %v", pt.Findings)
	}
	if pt := readSided(t, front, "  left drop: 5\n"); told(pt, pattern.Warning, "the centre of") != 0 {
		t.Errorf("told of centres that are alike: %v", pt.Findings)
	}
}

// TestSideAsAPersonSays: a fitting of one side is understood however the side is said, and a name that is misspelt is told.
func TestSideAsAPersonSays(t *testing.T) {
	front := strings.ReplaceAll(strings.ReplaceAll(sleeveless, "draft fore", "draft front"), "fore: fore", "front: front")
	for _, name := range []string{"right side", "the right side seam", "Right side", "side right", "front right side", "the right front side", "right-hand side", "the wearer's right side"} {
		pt := readSided(t, front, "changes:\n  2026-11-20: let out "+name+" 0.6 at F\n")
		if len(pt.Pieces) != 2 || pt.Pieces[0].Name != "right front" || pt.Fitted == "" {
			t.Errorf("%q: %d pieces, fitted %q, %v", name, len(pt.Pieces), pt.Fitted, pt.Findings)
		}
	}
	for _, name := range []string{"left and right side", "Side"} {
		if pt := readSided(t, front, "changes:\n  2026-11-20: let out "+name+" 0.6 at F\n"); len(pt.Pieces) != 1 || pt.Fitted == "" {
			t.Errorf("%q: %d pieces, fitted %q, %v", name, len(pt.Pieces), pt.Fitted, pt.Findings)
		}
	}
	for drop, want := range map[string]int{"5": 0, "7.9": 0, "12": 1} { // 4 for the other side
		if pt := readSided(t, front, "  left drop: "+drop+"\n"); told(pt, pattern.Warning, "was it taken in another unit") != want {
			t.Errorf("left drop %s: %v", drop, pt.Findings)
		}
	}
	for card, mend := range map[string]string{
		"changes:\n  2026-11-20: let out right sside 0.6 at F\n": `did you mean "side"?`,
		"changes:\n  2026-11-20: let out rihgt side 0.6 at F\n":  `did you mean "right side"?`,
		"changes:\n  2026-11-20: {drop lft: 1 more}\n":           `did you mean "left drop"?`,
		"  lft drop: 5\n":       `did you mean "left drop"?`,
		"  left left drop: 5\n": `did you mean "left drop"?`,
		"  Left drop: 5\n":      `did you mean "left drop"?`,
		"  drop left: 5\n":      `did you mean "left drop"?`,
		"  left drop: 5\n":      "",
	} {
		pt := readSided(t, front, card)
		if got := told(pt, pattern.Warning, mend); mend != "" && got != 1 || mend == "" && told(pt, pattern.Warning, "is of one side") > 0 {
			t.Errorf("%q: told %d times: %v", card, got, fmt.Sprint(pt.Findings))
		}
	}
}

// TestFiguresOfUnlikeHalves: the list to chalk from says that the halves of a front on the fold do not meet, as the check does.
func TestFiguresOfUnlikeHalves(t *testing.T) {
	text := strings.NewReplacer("draft fore", "draft front", "fore: fore; cut 2, a pair", "front: front; cut 1 on the fold", "hem, centre", "hem, centre on the fold", "down 8", "down 4 + drop").Replace(sleeveless)
	for card, want := range map[string]string{"  left drop: 5\n": "the right side and the left one do not go together", "  drop: 5\n": ""} {
		f, err := measured.FiguresOf([]byte(text), "vest.yaml", measured.Options{Card: func(string) ([]byte, error) {
			return []byte("unit: cm\nmeasures:\n  bust: 92\n" + card), nil
		}})
		if err != nil {
			t.Fatal(err)
		}
		if got := f.NotKept(); got != want {
			t.Errorf("%q: %q, want %q", card, got, want)
		}
	}
}

// TestEaseOfBothSides: what is told of all four quarters is proved of the right half and the left one together. By hand: 96 finished,
// 97.6 where each quarter is let out 0.4, and half of that, 96.8, where those of one side are.
func TestEaseOfBothSides(t *testing.T) {
	text := strings.NewReplacer("draft fore", "draft front", "fore: fore", "front: front", "  neck:", "  W: from U down 10\n  neck:", "out 22", "out 24").Replace(sleeveless) +
		"ease:\n  bust: 3 to 5, finished 4*width of front at W\n"
	for _, c := range []struct {
		change, want string
		finished     float64
	}{
		{"let out right side 0.4", "", 96.8},
		{"let out left side 0.4", "", 96.8},
		{"take in left side 0.4", "", 95.2},
		{"let out right side 0.8", "the ease at the bust is 5.6 cm, not 3 to 5 as the draft says: finished 97.6 cm", 97.6},
		{"let out side 0.4", "the ease at the bust is 5.6 cm", 97.6},
	} {
		card := "changes:\n  2026-11-20: " + c.change + "\n"
		pt := readSided(t, text, card)
		if got := told(pt, pattern.Error, "the ease at the bust"); got != min(len(c.want), 1) || told(pt, pattern.Error, c.want) != got {
			t.Errorf("%s: told %d times: %v", c.change, got, pt.Findings)
		}
		for _, f := range pt.Findings {
			if strings.HasPrefix(f.Message, "the right side: the ease") || strings.HasPrefix(f.Message, "the left side: the ease") {
				t.Errorf("%s: of one side: %s", c.change, f.Message)
			}
		}
		f, err := measured.FiguresOf([]byte(text), "vest.yaml", measured.Options{Card: func(string) ([]byte, error) {
			return []byte("unit: cm\nmeasures:\n  bust: 92\n" + card), nil
		}})
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Girths) != 1 || math.Abs(f.Girths[0].Finished-c.finished) > 0.001 || f.Girths[0].Kept != (c.want == "") {
			t.Errorf("%s: %+v", c.change, f.Girths)
		}
	}
}

// TestOwnPiecesOfASide: what the draft itself says of one side is drawn by that side's measures, once, and not turned over. The
// shoulder's end lies 4 cm down at the right and 5 at the left.
func TestOwnPiecesOfASide(t *testing.T) {
	text := strings.NewReplacer("draft fore", "draft right front", "  fore: fore; cut 2, a pair\n", "  right front: right front; cut 1\n  other: left front; cut 1\n  back: right front; cut 2, a pair\n",
		"pieces:\n", "draft left front:\n  trace: right front\n  outline: neck, shoulder, side, hem, centre\npieces:\n").Replace(sleeveless) +
		"sewn:\n  - right front side = back side\n  - other side = back side\n"
	pt := readSided(t, text, "  left drop: 5\n")
	var names []string
	for _, p := range pt.Pieces {
		names = append(names, p.Name)
	}
	if want := []string{"right front", "other", "right back", "left back"}; !slices.Equal(names, want) {
		t.Fatalf("pieces %q, want %q", names, want)
	}
	for i, want := range []float64{40, 50, 40, 50} {
		top := math.Inf(-1)
		for _, q := range pt.Pieces[i].EdgeLine().Points {
			if math.Abs(math.Abs(q[0])-120) < 0.01 {
				top = q[1]
			}
		}
		if math.Abs(top+want) > 0.01 {
			t.Errorf("the shoulder of %s ends %.1f mm down, want %.0f", names[i], -top, want)
		}
	}
	if got := fmt.Sprint(pt.Seams); !strings.Contains(got, "right back") || !strings.Contains(got, "left back") {
		t.Errorf("the seams are %s", got)
	}
	for _, f := range check.Run(pt, check.Limits{}, nil) {
		if f.Severity == pattern.Error {
			t.Errorf("%s: %s", f.Piece, f.Message)
		}
	}
}
