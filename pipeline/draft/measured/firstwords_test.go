package measured

import (
	"strings"
	"testing"
)

// What a person writes at the first try is refused as the word it is, with the right one, and the slips behind it are
// told with it. "known here are" lists a point once.
func TestFirstWords(t *testing.T) {
	const text = "style: S\nunit: cm\ndraft p:\n  A: start\n  B: from A out 20\n  C: from B down 30\n  D: from A down 30\n  E: ?\n  F: from Q down 3\n" +
		"  top: line A to B\n  side: line B to C\n  hem: line C to D\n  back: line D to A\n  outline: top, side, hem, back\npieces:\n  p: p; cut 1\nallow: 1\n"
	for _, c := range [][3]string{
		{"E: ?", "E: from A out 2 cms", `x.yaml:8:19: unknown unit "cms"; did you mean "cm"?`},
		{"E: ?", "E: from A out 2cms, down 1", `x.yaml:8:18: unknown unit "cms"; did you mean "cm"?`},
		{"E: ?", "E: from A out 1,5, down 3", `x.yaml:8:17: "1,5" has a comma inside a number; did you mean "1.5"?`},
		{"E: ?", "E: from 0.5 of the way from A to B down 3", `x.yaml:8:11: "0.5 of the way" begins a sentence`},
		{"E: ?", "E: half-way between A and 1/3 of the way from A to B", `"1/3 of the way" begins a sentence`},
	} {
		source := strings.Replace(strings.Replace(text, c[0], c[1], 1), "E: ?", "E: from A down 1", 1)
		_, err := draw([]byte(source), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), c[2]) {
			t.Errorf("%s: %v, want %s", c[1], err, c[2])
			continue
		}
		if want := `"Q" is no point known here; known here are A, B, C, D, E, F`; !strings.Contains(err.Error()+"\n", want+"\n") {
			t.Errorf("%s hides the slip behind it: %v", c[1], err)
		}
	}
}
