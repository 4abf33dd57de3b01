package asker

import (
	"context"
	"strings"
	"testing"
)

// TestNames: a name is counted in characters, and what could end a line of the history or hide in it is refused.
func TestNames(t *testing.T) {
	for given, want := range map[string]string{" Nell ": "Nell", "": "", strings.Repeat("\u00fc", 60): strings.Repeat("\u00fc", 60)} {
		if got, err := Name(given); err != nil || got != want {
			t.Errorf("%q: %q, %v", given, got, err)
		}
	}
	for _, given := range []string{strings.Repeat("N", 61), "Nell\nSam", "Nell\x1b[2J"} {
		if got, err := Name(given); err == nil {
			t.Errorf("%q is taken as %q", given, got)
		}
	}
}

// TestSigned: what is known stands before what a person said, and a name cannot end its quotes or the brackets around both.
func TestSigned(t *testing.T) {
	for _, c := range []struct {
		ctx        context.Context
		text, want string
	}{
		{t.Context(), "held", "held"},
		{ByLogin(t.Context(), "sam", ""), "held", "held (login sam)"},
		{ByLogin(t.Context(), "sam", `N") (login root`), "held", `held (login sam, "N'] [login root")`},
		{ByLogin(t.Context(), "", "Nell"), "", `calls themselves "Nell"`},
		{ByPage(t.Context(), "Nell"), "held", `held (on the page, "Nell")`},
	} {
		if got := Sign(c.ctx, c.text); got != c.want {
			t.Errorf("%q becomes %q, not %q", c.text, got, c.want)
		}
	}
}
