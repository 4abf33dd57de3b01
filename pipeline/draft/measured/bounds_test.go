package measured

import (
	"fmt"
	"strings"
	"testing"
)

// TestTooMuchIsRefused holds that a draft beyond what a person writes is refused for that.
func TestTooMuchIsRefused(t *testing.T) {
	const head = "style: x\nunit: cm\nnumbers:\n  n0: 1\n"
	chain := func(n int) string {
		var b strings.Builder
		b.WriteString(head)
		for i := 1; i < n; i++ {
			fmt.Fprintf(&b, "  n%d: n%d + 1\n", i, i-1)
		}
		return b.String()
	}
	var aliases strings.Builder
	aliases.WriteString("style: x\nunit: cm\nnumbers:\n  a0: &a0 [x, x]\n")
	for i := 1; i < 25; i++ {
		fmt.Fprintf(&aliases, "  a%d: &a%d [*a%d, *a%d, *a%d]\n", i, i, i-1, i-1, i-1)
	}
	for name, c := range map[string]struct{ text, want string }{
		"a chain of 20,000 numbers": {chain(20000), "the file holds 388 KB; at most 128 KB are read; see whether"},
		"a chain of 6,000 numbers":  {chain(6000), "more than 10000 keys and values"},
		"nested aliases":            {aliases.String(), "more than 10000 keys and values"},
		"a key of 10 MB":            {head + strings.Repeat("k", 10<<20) + ": 1\n", "the file holds 10240 KB"},
		"a key of 1,000 letters":    {head + "  " + strings.Repeat("k", 1000) + ": 1\n", "x.yaml:5:3: this name has 1000 letters"},
		"brackets":                  {head + "  a: " + strings.Repeat("(", 20000), "this value has 20000 letters"},
	} {
		_, err := Read([]byte(c.text), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %.300v", name, err)
		}
	}
}
