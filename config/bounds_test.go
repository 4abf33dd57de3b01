package config

import (
	"fmt"
	"strings"
	"testing"
)

// nested is a YAML text in which each alias stands for three of the one before it.
func nested() string {
	var b strings.Builder
	b.WriteString("devices:\n  d0: &a0 {gantry: {header: [x, x]}}\n")
	for i := 1; i < 25; i++ {
		fmt.Fprintf(&b, "  d%d: &a%d {a: *a%d, gantry: *a%d, pen: *a%d}\n", i, i, i-1, i-1, i-1)
	}
	return b.String()
}

// TestTooMuchIsRefused holds that a workroom file beyond what a person writes is refused for that, with a
// place. Before there were bounds, the aliases ended the program for want of memory.
func TestTooMuchIsRefused(t *testing.T) {
	var chain strings.Builder
	for i := range 20000 {
		fmt.Fprintf(&chain, "%d: 1\n", i)
	}
	var devices strings.Builder
	devices.WriteString("materials:\n")
	for i := range 6000 {
		fmt.Fprintf(&devices, "  m%d: {}\n", i)
	}
	for name, c := range map[string]struct{ text, want string }{
		"nested aliases":  {nested(), "more than 10000 keys and values"},
		"alias of itself": {"devices: &a\n  x: *a\n", "this stands for itself"},
		"a chain":         {chain.String(), "the file holds"},
		"many keys":       {devices.String(), "more than 10000 keys and values"},
		"a key of 10 MB":  {strings.Repeat("k", 10<<20) + ": 1", "the file holds 10240 KB"},
		"a long key":      {"units: mm\n" + strings.Repeat("k", 300) + ": 1", "w:2:1: this name has 300 letters"},
		"a long value":    {"workroom: " + strings.Repeat("k", 20000), "w:1:11: this value has 20000 letters"},
		"deep":            {"checks: " + strings.Repeat("[", 60) + strings.Repeat("]", 60), "more than 40 blocks"},
	} {
		w, err := parseFile([]byte(c.text), "w", someRules)
		if w != nil || err == nil || !strings.Contains(err.Error(), c.want) || len(err.Error()) > 1000 {
			t.Errorf("%s: %.300v", name, err)
		}
	}
}

// TestNotEveryFaultIsTold holds that the faults of one file stay readable.
func TestNotEveryFaultIsTold(t *testing.T) {
	_, err := parseFile([]byte("devices: {"+strings.Repeat("a ,", 3000)+"}"), "w", someRules)
	if err == nil || !strings.HasSuffix(err.Error(), "more faults") || strings.Count(err.Error(), "\n") != maxFaults {
		t.Errorf("%.300v", err)
	}
}

func BenchmarkTooMuch(b *testing.B) {
	for name, text := range map[string]string{
		"aliases": nested(),
		"items":   "devices: {" + strings.Repeat("a ,", 4900) + "}",
		"opens":   "checks: " + strings.Repeat("[a,", maxFile/3-9),
		"key":     strings.Repeat("k", maxFile-9) + ": 1",
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := parseFile([]byte(text), "w", someRules); err == nil {
					b.Fatal("accepted")
				}
			}
		})
	}
}
