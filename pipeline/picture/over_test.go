package picture

import (
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// TestOver: strokes are told apart by their progress, a stroke that shares its line with others counts as made only
// with them, and the ring marks the start of the stroke that was sent last.
func TestOver(t *testing.T) {
	s := Shown{Wide: 100, High: 50, Strokes: []string{"M1 1L2 2", "M3 3L4 4", "M5 5L6 6", "M7 7L8 8"},
		Pieces: []ShownPiece{{2, "a <b>", "M0 0L9 0L9 9Z"}}, Findings: map[int]orb.Point{3: {20, 30}}}
	far := func(o Over) string {
		var got []string
		for _, m := range regexp.MustCompile(`class="(drawn|sent|come)"`).FindAllStringSubmatch(string(s.Over(o)), -1) {
			got = append(got, m[1])
		}
		return strings.Join(got, " ")
	}
	for want, o := range map[string]Over{
		"":                       {Sure: 2, Sent: 3},
		"come come come come":    {Progress: true, Sure: -1, Sent: -1},
		"drawn sent sent come":   {Progress: true, Sure: 0, Sent: 2},
		"drawn drawn drawn sent": {Progress: true, Sure: 2, Sent: 3},
	} {
		if got := far(o); got != want {
			t.Errorf("%+v: %q, not %q", o, got, want)
		}
	}
	text := string(s.Over(Over{Progress: true, Sure: 0, Sent: 2, Finding: 3}))
	for _, want := range []string{`transform="translate(5 5)"`, `cx="20" cy="30"`, `data-number="2"`, "<title>2 a &lt;b&gt;</title>"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
	if text := string(s.Over(Over{Progress: true, Sure: 3, Sent: 3})); strings.Contains(text, "tool") {
		t.Errorf("all is made, and a tool is at work: %s", text)
	}
	if text := string(s.Over(Over{Progress: true, Sure: 0, Sent: 1 << 30, Lost: true})); strings.Contains(text, "tool") || strings.Contains(text, "come") {
		t.Errorf("nobody knows how far it was sent, and something is to come or a tool has a place: %s", text)
	}
	for len(s.Strokes) < 3*stretches {
		s.Strokes = append(s.Strokes, "M1 1L2 2")
	}
	if got := far(Over{Progress: true, Sure: 3, Sent: 6}); !strings.HasPrefix(got, "drawn sent sent come") || strings.Count(got, " ") != stretches-1 {
		t.Errorf("of many strokes: %.60s, %d", got, strings.Count(got, " "))
	}
}
