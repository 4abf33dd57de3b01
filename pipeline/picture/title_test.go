package picture

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
)

// TestTitleStaysInThePicture: the long title of a job of many drafts is wrapped into lines that fit the picture, and
// no word is lost.
func TestTitleStaysInThePicture(t *testing.T) {
	title := "ferry-smock.yaml with " + strings.Repeat("lamplighter-jacket.yaml, ", 12) + "stagehand-apron.svg on knife-table"
	lines := broken(title, 12, pageWidth-2*gutter)
	if strings.Join(lines, " ") != title || len(lines) < 2 {
		t.Errorf("%q", lines)
	}
	for _, line := range lines {
		if w := letters.Width(line, 12); w > pageWidth-2*gutter {
			t.Errorf("%q is %g wide", line, w)
		}
	}
	v := View{Title: title, Width: 1000, Length: 1500, Layers: []Layer{{Kind: look.Wanted, Paths: []geom.Path{{Points: []orb.Point{{0, 0}, {100, 100}}}}}}}
	said := ""
	for _, c := range Device(v, Options{}).captions {
		said += c.words + " "
		if c.at[0]+c.width > pageWidth {
			t.Errorf("%q ends at %g of %g", c.words, c.at[0]+c.width, float64(pageWidth))
		}
	}
	if !strings.Contains(said, title) {
		t.Errorf("the picture says %q", said)
	}
}
