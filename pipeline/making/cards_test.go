package making

import (
	"context"
	"os"
	"strings"
	"testing"

	"tracewheel/pipeline/job"
)

// TestCards: a knife without a pen gives a card for each piece cut, with its name, how many there are
// and the marks that a person makes by hand.
func TestCards(t *testing.T) {
	data, err := os.ReadFile("../../testdata/drafts/pinafore-in.dxf")
	if err != nil {
		t.Fatal(err)
	}
	maker := New(Sample())
	for device, want := range map[string]int{"knife-table": 5, "roll-plotter": 0} {
		b, err := maker.Build(context.Background(), job.Draft{Source: data, Name: "pinafore-in.dxf", Device: device})
		if err != nil || b.Refused {
			t.Fatal(err, b.Reason)
		}
		cards := string(b.Pictures["cards.html"])
		if n := strings.Count(cards, "<section>"); n != want {
			t.Errorf("%s: %d cards, wanted %d", device, n, want)
		}
		if want == 0 {
			continue
		}
		for _, words := range []string{"<h1>FRONT</h1>", "size 8", "cut 2, a pair", "mark by hand: 1 sew line, 2 inner lines, 4 drill marks, 1 fold line, 1 grain line"} {
			if !strings.Contains(cards, words) {
				t.Errorf("the cards lack %q:\n%s", words, cards)
			}
		}
	}
}
