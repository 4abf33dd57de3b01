package measured

import (
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// What a person writes at the first try is understood, or answered with the right words.
func TestFirstTry(t *testing.T) {
	skirt := string(samples.Read("straight-skirt.yaml"))
	for was, c := range map[string]struct{ now, want string }{
		"front: front; cut 1 on the fold": {"front: front; 1 piece on the fold", ""},
		"back: back; cut 2, a pair":       {"back: back, 2 pieces, a pair", ""},
		"waist from the start":            {"waist from the beginning", ""},
		"E: from O down length":           {"E: from the beginning down length", `"the beginning" is no point known here; the first point of a drawing is told as O: start; then say from O`},
		"F: from E out front quarter":     {"F: from start out front quarter", `"start" is no point known here; the first point of a drawing is told as O: start; then say from O`},
		", hip depth: 20}":                {"}", `refused: x.yaml:27:37: "hip depth" is not given; take the measure and give it, or say under numbers what it comes of`},
		"  hip curve: curve H to S":       {"  hip curv: curve H to S", `"hip curve" is no edge known here; line 37 tells "hip curv": write one for the other`},
		"suppression: front quarter":      {"suppression: fronts + front quarter", `"fronts" is no measure or number known here`},
	} {
		text := strings.Replace(skirt, was, c.now, 1)
		if text == skirt {
			t.Errorf("the sample does not say %q", was)
		}
		got := said(t, text, "A")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: want %q, got %s", c.now, c.want, got)
		}
	}
	// What is said of a seam is answered with words of seams, and with no measure's name.
	gathers := string(samples.Read("gathered-skirt.yaml"))
	for wrong, want := range map[string]string{
		"edge, gathred":  `"gathred" is not what is said of a seam; did you mean "gathered"?`,
		"edge, ruffled":  `"ruffled" is not what is said of a seam; did you mean "gathered"?`,
		"edge gathered":  `this is not understood: "gathered"; put a comma before it`,
		"edge, underlpa": `"underlpa" is not what is said of a seam; did you mean "underlap"?`,
	} {
		if got := said(t, strings.Replace(gathers, "edge, gathered", wrong, 1), "A"); !strings.Contains(got, want) {
			t.Errorf("%s: want %q, got %s", wrong, want, got)
		}
	}
	// A dart that cannot be taken and a measure in inches: the measure comes first, wherever its line stands.
	both := strings.Replace(skirt, "waist: 74, hip: 98", "waist: 74, hip: 38.5", 1)
	if got := said(t, both, "A"); !strings.HasPrefix(got, "refused: x.yaml:8:23: hip 38.5 cm lies outside") || !strings.Contains(got, "\n") {
		t.Errorf("a hip in inches: %s", got)
	}
	late := strings.Replace(both, "bodies:\n", "# bodies below\n", 1)
	head, rest, _ := strings.Cut(late, "# bodies below\n")
	bodies, rest, _ := strings.Cut(rest, "body: A\n")
	if got := said(t, head+rest+"body: A\nbodies:\n"+bodies, "A"); !strings.Contains(strings.Split(got, "\n")[0], "was it taken in inches?") {
		t.Errorf("the measure's line is the last, and is told: %s", got)
	}
}

// A draft line without a name is answered with the name that it lacks, and not with its own word.
func TestDraftWithoutAName(t *testing.T) {
	for _, line := range []string{"draft: 1", "draft:\n  A: start"} {
		_, err := draw([]byte("style: S\nunit: cm\n"+line+"\npieces:\n  a: rectangle 5 by 8; cut 1\nallow: 1\n"), "x.yaml", Options{})
		if err == nil || !strings.HasPrefix(err.Error(), "x.yaml:3:1: draft stands without the name of a drawing") || strings.Contains(err.Error(), "did you mean") {
			t.Errorf("%s: %v", line, err)
		}
	}
}
