package desk

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline/making"
)

// pocket is a small draft: one piece.
const pocket = "style: Pocket\nunit: cm\nbodies: {A: {hand: 20}}\nbody: A\nnumbers:\n  wide: hand - 4\n  deep: hand\npieces:\n  pocket: rectangle wide by deep; cut 2; allowance included\n"

// BenchmarkKeystroke draws a draft for 100 keystrokes, each with a changed number, compared with the draft before:
// median and worst, in ms. BenchmarkKeystroke of pipeline/pages adds the page's share.
func BenchmarkKeystroke(b *testing.B) {
	room := making.Sample()
	d := &Desk{o: Options{Drafts: b.TempDir(), Cards: b.TempDir(), Room: func() *config.Workroom { return room }}}
	for _, c := range []struct{ name, text, was string }{{"tunic", string(samples.Read("princess-tunic.yaml")), "neck/6 + 0.8"}, {"pocket", pocket, "hand - 4"}} {
		b.Run(c.name, func(b *testing.B) {
			if !strings.Contains(c.text, c.was) {
				b.Fatal("the draft has no " + c.was)
			}
			for b.Loop() {
				var took []time.Duration
				for n := range 100 {
					text := strings.Replace(c.text, c.was, fmt.Sprintf("%s + 0.%03d", c.was, 5*n+5), 1)
					from := time.Now()
					if out := d.draw(b.Context(), wish{Name: "x", Text: text, Before: &wish{Text: c.text}}); out.SVG == "" || len(out.Changed) == 0 {
						b.Fatalf("not drawn: %+v", out.Faults)
					}
					took = append(took, time.Since(from))
				}
				slices.Sort(took)
				b.ReportMetric(float64(took[50].Microseconds())/1000, "ms-median")
				b.ReportMetric(float64(took[99].Microseconds())/1000, "ms-worst")
			}
		})
	}
}
