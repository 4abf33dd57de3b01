package desk

import (
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
)

// What is gathered is told as gathers: nobody means the band to be shorter.
func TestGatheredSeamInWords(t *testing.T) {
	got := seamWords(&figures.Figures{Unit: "cm"}, figures.SeamFigures{Seam: "top = band", A: 120, B: 63, Ease: -57, Gathers: 2, Underlap: 3})
	if !strings.Contains(got, "gathered 2.00 to 1") || strings.Contains(got, "shorter") {
		t.Error(got)
	}
}
