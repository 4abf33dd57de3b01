package prepare

import (
	"fmt"
	"strings"
	"testing"

	"tracewheel/config/samples"
	drawing "tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/pattern"
)

// TestOnly: pieces by their numbers, and none that is not there.
func TestOnly(t *testing.T) {
	all := []pattern.Ready{{Name: "front"}, {Name: "back"}, {Name: "tie"}}
	some := func(text string) ([]pattern.Ready, error) {
		only, err := numbers(text, len(all))
		if err != nil {
			return nil, err
		}
		return picked(all, only), nil
	}
	if got, err := some(""); err != nil || len(got) != 3 {
		t.Errorf("all: %v, %v", got, err)
	}
	if got, err := some("1,3"); err != nil || len(got) != 2 || got[0].Name != "front" || got[1].Name != "tie" {
		t.Errorf("1,3: %v, %v", got, err)
	}
	for _, bad := range []string{"0", "4", "front", "1,,2"} {
		if got, err := some(bad); err == nil {
			t.Errorf("%q: %v", bad, got)
		}
	}
}

// TestOnlyLetters: what is lettered on a chosen piece is its number among those that are made, as the picture of that job
// has it.
func TestOnlyLetters(t *testing.T) {
	p, err := drawing.Read(samples.Read("ferry-smock.yaml"), "ferry-smock.yaml", drawing.Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := mustRun(t, p, pattern.Ticket{}, Options{Job: 12}).Ready
	some := mustRun(t, p, pattern.Ticket{}, Options{Job: 12, Only: "3,5,9"}).Ready
	if len(all) != 9 || len(some) != 3 {
		t.Fatalf("%d and %d pieces", len(all), len(some))
	}
	for i, n := range []int{3, 5, 9} {
		want := fmt.Sprintf("piece %d of 3, job 12", i+1)
		if got := lettered(some[i]); some[i].Name != all[n-1].Name || some[i].Copy != all[n-1].Copy || !strings.Contains(strings.Join(got, "\n"), want) {
			t.Errorf("%s %d is lettered %q, without %q", some[i].Name, some[i].Copy, got, want)
		}
	}
}
