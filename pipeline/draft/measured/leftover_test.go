package measured

import (
	"fmt"
	"strings"
	"testing"
)

// TestSaidAsAPersonSays: words that a person says at the first try and the language does not have are answered with those that it
// has there.
func TestSaidAsAPersonSays(t *testing.T) {
	const base = "style: Bound\nunit: cm\nnumbers:\n  wide: 10\ndraft a:\n  O: start\n  P: from O out wide\n  Q: from P down 20\n  R: from O down 20\n  top: line O to P\n  end: line P to Q\n  foot: line Q to R\n  near: line R to O\n  outline: top, end, foot, near\n" +
		"pieces:\n  a: a; cut 1\n  c: strip 4 wide, 10 long; cut 1\nallow: 1\nmarks:\n  a:\n    - buttonholes 2, from P to Q, 0.3 past the line, 1.6 long\nsewn:\n  - a top = c long edge\n"
	drawText(t, base)
	for _, c := range []struct{ was, is, want string }{
		{"  a: a; cut 1\n", "  lining: a; cut 1\n", `"a top" is no edge of a piece; say of which of its pieces: "lining top"`},
		{"c long edge\n", "c long edge, at the middle\n", `"at" is not what is said of a seam; say 0.5 longer or`},
		{"c long edge\n", "c long edge, 3\n", `longer or shorter is wanted here, not the end of the sentence; say 0.5 longer or`},
		{"c long edge\n", "c long edge, gathered to fit\n", `"to fit" is no number of times; say gathered alone`},
		{"  - a top = c long edge\n", "  a top = c long edge\n  a foot = c long edge\n", `each sentence of a list stands in a line of its own, behind a dash and a space`},
		{"0.3 past the line", "0.3 past the edge", `is not what buttonholes begin past; say past the centre, or past the line`},
		{"wide: 10", "wide: sewn length of a top", `is not known here, before the pieces are; say it under pieces, ease or sewn`},
	} {
		text := strings.Replace(base, c.was, c.is, 1)
		if _, err := draw([]byte(text), "x.yaml", Options{}); !strings.Contains(fmt.Sprint(err), c.want) {
			t.Errorf("%q: %v, want %s", c.is, err, c.want)
		}
	}
}

// TestCauseOfASoughtNumber: where nothing can be drawn for a sought number, the number is told with what stands in its way, also
// where that lies in a block; a line of the card is told by itself.
func TestCauseOfASoughtNumber(t *testing.T) {
	const draft = "style: Band\nunit: cm\nfrom: block.yaml\nnumbers:\n  reach: between 1 and 5 so that distance front O to front P is 3\npieces:\n  front: front; cut 1\nallow: 1\n"
	block := blockFiles(map[string]string{"block": "style: Block\nunit: cm\nnumbers:\n  reach: 4\ndraft front:\n  O: start\n  P: from O toward O reach\n  Q: from O down 5\n  top: line O to P\n  side: line P to Q\n  near: line Q to O\n  outline: top, side, near\n"})
	_, err := draw([]byte(draft), "x.yaml", block)
	if got := fmt.Sprint(err); !strings.Contains(got, "nothing between 1 and 5 can be drawn: ") {
		t.Errorf("a cause in a block: %s", got)
	}
	sought := strings.Replace(shiftDress, "draft front:", "numbers:\n  n: between 1 and 5 so that n is length of front side - 33\ndraft front:", 1)
	_, err = fitted(t, sought, "2026-11-20: let out side 0.6 at S")
	if got := fmt.Sprint(err); !strings.Contains(got, `chorus-4.yaml:5:35: "S" is no place along the side of front`) || strings.Contains(got, "nothing between") {
		t.Errorf("a line of the card: %s", got)
	}
}
