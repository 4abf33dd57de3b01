package pattern

import (
	"strings"
	"testing"
)

// The same finding on many pieces is told once; findings that differ in a word, a weight or a line are not.
func TestTell(t *testing.T) {
	about := func(rule, piece, message string, line int) Finding {
		f := NewFinding(rule, message, "mend it")
		f.Piece, f.Line = piece, line
		return f
	}
	var fs []Finding
	for _, piece := range []string{"front", "back", "pocket"} {
		fs = append(fs, about(RuleGrainMissing, piece, "no grain line", 0), about(RuleQuantityMissing, piece, "no number", 0), about(RuleLabelMissing, piece, "no name", 0))
	}
	fs = append(fs, about(RuleGrainMissing, "cuff", "another grain line", 0), about(RuleGrainMissing, "cuff", "no grain line", 7))
	got := Group(fs)
	var lines []string
	for _, f := range got {
		lines = append(lines, f.Where()+": "+f.Message+" ["+strings.Join(f.Rules, ", ")+"]")
	}
	want := "front, back, pocket: no grain line [grain-missing]\nfront, back, pocket: no number; no name [quantity-missing, label-missing]\ncuff: another grain line [grain-missing]\ncuff: no grain line [grain-missing]"
	if s := strings.Join(lines, "\n"); s != want {
		t.Errorf("%s", s)
	}
	fs[1].Severity = Error
	if n := len(Group(fs)); n != 6 {
		t.Errorf("%d told, though one is graver", n)
	}
	var many []Finding
	for _, piece := range strings.Fields("a b c d e f g h i j k") {
		many = append(many, about(RuleGrainMissing, piece, "no grain line", 0))
	}
	if w := Group(many)[0].Where(); w != "a, b, c, d, e, f, g, h, and others" {
		t.Error(w)
	}
}
