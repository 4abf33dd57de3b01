package measured

import (
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// TestUsualOfEachMeasure: each measure of a body that a starter asks for has a usual range for a woman, a man and a child; a
// tenth of it lies outside of each.
func TestUsualOfEachMeasure(t *testing.T) {
	files, err := fs.Glob(samples.Drafts(), "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, file := range files {
		for _, body := range regexp.MustCompile(`(?m)^  [A-Z]\d?: \{(.*)\}`).FindAllStringSubmatch(string(samples.Read(file)), -1) {
			for _, m := range regexp.MustCompile(`([a-z][a-z ]*): `).FindAllStringSubmatch(body[1], -1) {
				names[m[1]] = true
			}
		}
	}
	for _, thing := range []string{"bag width", "bag height", "bag depth", "longest tool"} { // of no body
		delete(names, thing)
	}
	if len(names) < 20 {
		t.Fatalf("only %d measures: %v", len(names), names)
	}
	for name := range names {
		for _, kind := range []string{"woman", "man", "child"} {
			got := said(t, fmt.Sprintf("style: S\nunit: cm\nkind: %s\nbody: {%s: 5}\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n", kind, name), "")
			if !strings.Contains(got, name+" 5 cm lies outside what is usual") {
				t.Errorf("%s of a %s: %s", name, kind, got)
			}
		}
	}
}

// TestUsualForAHeight: the waists of girls of 7 1/2 to 8 1/2 years, 125.9 cm tall on the average, are 57.0 cm with a deviation of
// 6.4, those of boys, 127.8 cm tall, 56.6 with 5.7 (Snyder and others, Anthropometry of Infants, Children, and Youths to Age 18,
// UM-HSRI-77-17, 1977, computed from its records): of ten children nine are usual, and one four deviations off is not.
func TestUsualForAHeight(t *testing.T) {
	for _, c := range []struct{ height, mean, deviation float64 }{{125.9, 57.0, 6.4}, {127.8, 56.6, 5.7}} {
		for share, usual := range map[float64]bool{-1.645: true, 0: true, 1.645: true, 4: false} {
			got := said(t, fmt.Sprintf("style: S\nunit: cm\nkind: child\nbody: {height: %v, waist: %.1f}\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n", c.height, c.mean+share*c.deviation), "")
			if strings.Contains(got, "outside what is usual") == usual {
				t.Errorf("%v deviations: %s", share, got)
			}
		}
	}
	if got := said(t, "style: S\nunit: cm\nkind: child\nbody: {height: 170, waist: 60}\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n", ""); !strings.Contains(got, "height 170 cm lies outside what is usual for a child of 4 to 12") {
		t.Error("a child 170 cm tall is told nothing of")
	}
}
