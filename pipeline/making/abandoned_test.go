package making

import (
	"context"
	"errors"
	"testing"
)

// TestAbandonedMakerEnds: of a making for which nobody waits any more no report and no picture is drawn, whether the
// draft is sound or refused.
func TestAbandonedMakerEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for name, source := range map[string]string{"sound.svg": `<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90"><path id="cut" d="M0 0H80V80H0Z"/></svg>`, "refused.svg": "no draft"} {
		made, err := New(Sample()).Build(ctx, Request{Name: name, Source: []byte(source), Device: "roll-plotter"})
		if !errors.Is(err, context.Canceled) || len(made.Report)+len(made.Pictures) > 0 {
			t.Errorf("%s: %v, %d files", name, err, len(made.Report)+len(made.Pictures))
		}
	}
}
