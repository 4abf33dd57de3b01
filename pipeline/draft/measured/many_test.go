package measured

import (
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/tree"
)

const plainBag = "  A: start\n  B: from A out 30\n  C: from B down 40\n  D: from A down 40\n" +
	"  top: line A to B\n  side: line B to C\n  bottom: line C to D\n  back: line D to A\n  outline: top, side, bottom, back\n"

// named is the i-th of many names that are one like another.
func named(i int) string { return fmt.Sprintf("num%c%c%c", 'a'+i%26, 'a'+i/26%26, 'a'+i/676%26) }

// many are drafts that have something n times for nothing.
var many = map[string]func(n int) string{
	"unused numbers": func(n int) string {
		return draftWith("numbers:\n"+times(n, func(i int) string { return fmt.Sprintf("  %s: %d\n", named(i), i%50+1) }), "", "")
	},
	"unknown numbers": func(n int) string {
		return draftWith("numbers:\n"+times(n, func(i int) string { return fmt.Sprintf("  %s: %sx + 1\n", named(i), named(i)) }), "", "")
	},
	"unused points that are traced": func(n int) string {
		return draftWith("", times(n, func(i int) string { return fmt.Sprintf("  P%d: from A out %d\n", i, i%50+1) }),
			"draft two:\n  trace: bag\n  outline: top, side, bottom, back\n")
	},
}

func draftWith(numbers, points, more string) string {
	return "style: Bag\nunit: cm\n" + numbers + "draft bag:\n" + points + plainBag + more + "pieces:\n  bag: bag; cut 2\nallow:\n  all: 1\n"
}

func times(n int, line func(int) string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(line(i))
	}
	return b.String()
}

// TestManyNames: ten times as many names take about ten times the work, not a hundred times. The work is counted in what is
// allocated: each comparison of two names allocates.
func TestManyNames(t *testing.T) {
	for name, text := range many {
		work := func(n int) float64 {
			data := []byte(text(n))
			return testing.AllocsPerRun(1, func() {
				_, err := Read(data, "x.yaml", Options{})
				if wrong := strings.HasPrefix(name, "unknown"); wrong != (err != nil) {
					t.Errorf("%s: %v", name, err)
				}
			})
		}
		if few, all := work(400), work(4000); all > 15*few {
			t.Errorf("%s: 400 take %.0f allocations, and 4,000 take %.0f", name, few, all)
		} else {
			t.Logf("%s: %.0f and %.0f", name, few, all)
		}
	}
}

// TestFewSlipsHaveTheirWord: what bounds the comparisons leaves a common draft all of its suggestions.
func TestFewSlipsHaveTheirWord(t *testing.T) {
	const n = 150
	_, err := Read([]byte(many["unknown numbers"](n)), "x.yaml", Options{})
	if got := strings.Count(fmt.Sprint(err), "did you mean"); err == nil || got < 100 {
		t.Errorf("%d of %d slips have a suggestion: %.300v", got, n, err)
	}
}

// Names for nothing, which ten times as many take about ten times as long to read.
func BenchmarkManyNames(b *testing.B) {
	for name, text := range many {
		for _, n := range []int{490, 4900} {
			data := []byte(text(n))
			b.Run(name+" "+strconv.Itoa(n), func(b *testing.B) {
				for b.Loop() {
					_, _ = Read(data, "x.yaml", Options{})
				}
			})
		}
	}
}

// TestGivenUp: once nobody waits, no further sentence is worked out.
func TestGivenUp(t *testing.T) {
	gone := make(chan struct{})
	fetched := 0
	opt := Options{Body: "card", Done: gone, Card: func(string) ([]byte, error) {
		if fetched++; fetched == 1 {
			close(gone) // while the draft is worked out
		}
		return []byte("measures:\n  bust: 88\n"), nil
	}}
	data := []byte(strings.Replace(many["unused numbers"](100), "unit: cm\n", "unit: cm\nbody: card\n", 1))
	if p, err := Read(data, "x.yaml", opt); fetched == 0 || !errors.Is(err, tree.ErrGivenUp) || p != nil {
		t.Errorf("%v, %d cards", err, fetched)
	}
	if f, err := FiguresOf(data, "x.yaml", opt); !errors.Is(err, tree.ErrGivenUp) || f != nil {
		t.Errorf("%v", err)
	}
}

// TestGivenUpAnywhere: wherever in its work a draft is given up, nothing comes of it but ErrGivenUp; where it is not, it is whole.
func TestGivenUpAnywhere(t *testing.T) {
	data := samples.Read("princess-tunic.yaml")
	began := time.Now()
	whole, err := Read(data, "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	long := time.Since(began)
	for k := range 40 {
		gone := make(chan struct{})
		timer := time.AfterFunc(long*time.Duration(k)/40, func() { close(gone) })
		p, err := Read(data, "x.yaml", Options{Done: gone})
		if err != nil && (!errors.Is(err, tree.ErrGivenUp) || p != nil) {
			t.Errorf("given up after %d of 40: %v", k, err)
		}
		if err == nil && !reflect.DeepEqual(p, whole) {
			t.Errorf("given up after %d of 40, a part of it is taken for the draft: %d pieces of %d", k, len(p.Pieces), len(whole.Pieces))
		}
		timer.Stop()
	}
}
