package differing

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestLines: the lines are as few as those of diff(1) of POSIX, and they transform one text into the other.
func TestLines(t *testing.T) {
	diff, err := exec.LookPath("diff")
	if err != nil {
		t.Log("diff lacks; only what is told is applied")
	}
	const seed = 7
	t.Log("seed", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	text := func() string {
		var b strings.Builder
		for range 1 + r.IntN(30) {
			b.WriteString(string(rune('a'+r.IntN(6))) + "\n")
		}
		return b.String()
	}
	dir := t.TempDir()
	for n := range 200 {
		was, now := text(), text()
		lines := Lines(was, now)
		had := strings.Split(strings.TrimSuffix(was, "\n"), "\n")
		for _, l := range slices.Backward(lines) {
			if !l.New {
				if had[l.No-1] != l.Text {
					t.Fatalf("%d: line %d is %q, told as %q", n, l.No, had[l.No-1], l.Text)
				}
				had = slices.Delete(had, l.No-1, l.No)
			}
		}
		for _, l := range lines {
			if l.New {
				had = slices.Insert(had, l.No-1, l.Text)
			}
		}
		if strings.Join(had, "\n")+"\n" != now {
			t.Fatalf("%d: %q became %q, told is %v", n, was, now, lines)
		}
		if diff == "" || n >= 20 {
			continue
		}
		a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
		if os.WriteFile(a, []byte(was), 0o600) != nil || os.WriteFile(b, []byte(now), 0o600) != nil {
			t.Fatal("not written")
		}
		out, _ := exec.Command(diff, "--minimal", a, b).Output() //nolint:gosec // by its own name; it fails where they differ
		counted := 0
		for line := range strings.Lines(string(out)) {
			if strings.HasPrefix(line, "<") || strings.HasPrefix(line, ">") {
				counted++
			}
		}
		if counted != len(lines) {
			t.Errorf("%q to %q: %d lines are told, diff counts %d", was, now, len(lines), counted)
		}
	}
}

// TestFigures: measures on one line are listed one by one, with their whole number.
func TestFigures(t *testing.T) {
	got := Figures(Lines("bodies:\n  A: {bust: 97, hip depth: 7 1/8 in, shoulder: 9,5, waist: 70}\n", "bodies:\n  A: {bust: 95, hip depth: 7 3/8 in, shoulder: 9.5, waist: 70}\n"))
	if want := []string{"bust 95, was 97", "hip depth 7 3/8 in, was 7 1/8 in", "shoulder 9.5, was 9,5"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}
