package pattern

import (
	"regexp"
	"testing"
)

// The names are a surface other programs rely on, so each stands in the list once, spelt like the
// others, with a severity and a text.
func TestRulesAreWhole(t *testing.T) {
	name := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[string]bool{}
	for i, r := range Rules() {
		if !name.MatchString(r.Name) {
			t.Errorf("rule %d: odd name %q", i, r.Name)
		}
		if seen[r.Name] {
			t.Errorf("rule %q stands twice", r.Name)
		}
		seen[r.Name] = true
		if rank(r.Default) == 0 || r.Text == "" {
			t.Errorf("rule %q lacks a severity or a text", r.Name)
		}
		if got, place, ok := RuleNamed(r.Name); !ok || place != i || got != r {
			t.Errorf("RuleNamed(%q) = %v, %d, %v", r.Name, got, place, ok)
		}
	}
	// The names promised by the surface that must stay stable.
	for _, want := range []string{
		"outline-open", "outline-crosses-itself", "outline-doubled", "gap-bridged", "overlap-trimmed",
		"no-sew-line", "sew-line-outside", "allowance-missing", "allowance-unstated", "allowance-narrow",
		"allowance-wide", "notch-deeper-than-allowance", "notch-off-cut-line", "notch-points-outward",
		"notch-without-depth", "notch-near-corner", "notch-without-partner", "seam-lengths-differ",
		"corner-not-true", "grain-missing", "grain-outside", "fold-not-straight", "units-unknown",
		"units-disagree", "units-assumed", "size-implausible", "too-wide", "too-fine-for-blade",
		"left-out", "quantity-missing", "label-missing", "mark-outside",
	} {
		if !seen[want] {
			t.Errorf("rule %q is promised and missing", want)
		}
	}
}

func TestNewFindingTakesTheDefault(t *testing.T) {
	f := NewFinding(RuleLeftOut, "m", "e")
	if f.Severity != Note || f.Index != -1 || f.Rule != "left-out" {
		t.Errorf("got %+v", f)
	}
	if _, place, ok := RuleNamed("no-such"); ok || place != len(Rules()) {
		t.Error("an unknown name was found")
	}
}
