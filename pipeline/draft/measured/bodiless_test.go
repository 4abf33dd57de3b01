package measured

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/wearers"
)

// ofABody are the lines of a starter that say whom it is for.
var ofABody = regexp.MustCompile(`(?m)^(bodies|body|sizes|card):.*\n(  [A-Z][0-9]?: \{.*\}\n)*`)

// TestWithoutABody: a draft that has no measures at all says once which it needs, and none of the errors that only follow from
// that: those of each starter's own bodies, which it uses all (sewn.NoteUnused), also where one is called as an edge of the
// draft is. A slip of the pen beside it is told too.
func TestWithoutABody(t *testing.T) {
	tried := 0
	for _, name := range samples.Starters() {
		name += ".yaml"
		source := string(samples.Read(name))
		bare := ofABody.ReplaceAllString(source, "")
		if bare == source || strings.Contains(source, "\nfrom:") {
			continue
		}
		tried++
		_, err := draw([]byte(bare), name, Options{})
		var refused *sentence.Error
		if !errors.As(err, &refused) || len(refused.List) != 1 {
			t.Errorf("%s: %v", name, err)
			continue
		}
		_, list, _ := strings.Cut(refused.List[0].Text, "it has none: ")
		got, want := strings.Split(list, ", "), wearers.Asked(source)
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) || !strings.Contains(refused.List[0].Mend, "--body") {
			t.Errorf("%s needs %q, its bodies have %q", name, got, want)
		}
	}
	if tried < 10 {
		t.Errorf("only %d starters were tried", tried)
	}
	slip := strings.Replace(ofABody.ReplaceAllString(string(samples.Read("yoke-shirt.yaml")), ""), "from O down neck width", "form O down neck width", 1)
	_, err := draw([]byte(slip), "yoke-shirt.yaml", Options{})
	var refused *sentence.Error
	if !errors.As(err, &refused) || len(refused.List) != 2 || !strings.Contains(err.Error(), `"form`) {
		t.Errorf("with a slip: %v", err)
	}
	if _, err := draw([]byte("style: S\nunit: cm\npieces:\n  a: rectangle 4 by waist; cut 1; allowance included\nnumbers:\n  waist: wast/2\n"), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), `"wast" is no measure`) {
		t.Errorf("a draft that names no measure: %v", err)
	}
}
