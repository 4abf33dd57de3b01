package assemble

import (
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// TestLongNames: names and texts are cut where no piece can bear them, between letters, which is told once.
func TestLongNames(t *testing.T) {
	long := strings.Repeat("ä", 5000)
	framed := square(pattern.RoleCut, 0, 0, 100)
	framed.Group = "a"
	keyed := square(pattern.RoleCut, 200, 0, 100)
	keyed.Group = long
	pieces, fs := Pieces(Drawing{
		Groups: []Group{{Key: "a", Name: long, Named: true, Size: long, Material: long, Note: long}},
		Items: []Item{framed, keyed, square(pattern.RoleCut, 400, 0, 100), text(450, 50, "Piece name: "+long+"\nsize: "+long),
			square(pattern.RoleCut, 600, 0, 100), text(650, 50, "short\n"+long)}})
	if len(pieces) != 4 {
		t.Fatalf("%d pieces, %v", len(pieces), fs)
	}
	for _, p := range pieces {
		said := []string{p.Name, p.Size, p.Material, p.Note}
		for _, l := range p.Labels {
			said = append(said, strings.Split(l.Text, "\n")...)
		}
		for _, s := range said {
			if n := len([]rune(s)); n > mostLetters || strings.ContainsRune(s, '\uFFFD') {
				t.Errorf("piece %.10s: %d letters", p.Name, n)
			}
		}
	}
	told := 0
	for _, f := range fs {
		if f.Rule == pattern.RuleLeftOut && f.Severity == pattern.Warning && strings.Contains(f.Message, "a name or text has 5000 letters; only the first 200 are used") {
			told++
		}
	}
	if told != 1 {
		t.Errorf("told %d times: %v", told, fs)
	}
	page := strings.Repeat("words\n", 5000)
	pieces, fs = Pieces(Drawing{Items: []Item{square(pattern.RoleCut, 0, 0, 100), text(50, 50, page)}})
	if n := strings.Count(pieces[0].Labels[0].Text, "\n") + 1; n != mostLines || rulesOf(fs)[pattern.RuleLeftOut] != 1 {
		t.Errorf("%d lines, %v", n, fs)
	}
	if exact := strings.Repeat("b", mostLetters); Short(exact) != exact || Short(exact+"c") != exact {
		t.Error("200 letters are not the most")
	}
}
