package jobtext

import (
	"strings"
	"testing"
)

// TestReleased: a release that only takes an answer, or has a job made, is not called one that lets a
// machine move, and a word for the bed that is not taken is said to be none.
func TestReleased(t *testing.T) {
	unit := map[string]string{"unit": "mm", "allowance": "included"}
	for _, c := range []struct {
		answers        map[string]string
		made, bedClear bool
		words, not     string
	}{
		{nil, true, true, "job 38 is released;", "not taken"},
		{nil, false, false, "job 38 is made first; if it then waits for release, release it again", "is released"},
		{nil, false, true, "--bed-clear then: it was not taken now", "is released"},
		{unit, true, true, "--bed-clear then: it was not taken now", "is released"},
		{unit, false, false, "job 38 takes the answer allowance included, unit mm and is made with it", "is released"},
	} {
		if got := Released(38, c.answers, c.made, c.bedClear); !strings.Contains(got, c.words) || strings.Contains(got, c.not) {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
