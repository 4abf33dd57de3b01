package measured

import (
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/sewn"
)

// Every slip of the pen is told at once: those in darts, pleats and seams beside one another, and behind a
// point that no body can have.
func TestEverySlipAtOnce(t *testing.T) {
	text := twoDarts(3, 1.6, `  Z: where circle round X radius 1 meets circle round O radius 1
  dart s: M to X to M2, movd to side at K
  dart w: W1 to X to W2, ending 2 shrt
  dart i: at F, taks 3
  pleat: inverted box, 4 deep, on the fold, neck to wiast
  flare: 9 at hem, hung from waist, 3 slashes
  princess: line half the shoulder, trough X, plumb to the waist`)
	_, err := draw([]byte(text), "x.yaml", Options{})
	if err == nil {
		t.Fatal("it is drawn")
	}
	for _, want := range []string{
		"33:25: \"movd to side at K\" is not said of a dart",
		"34:35: here \"short\" is wanted",
		"35:17: here \"takes\" is wanted",
		"36:53: \"wiast\" is no edge of the outline",
		"37:15: \"hem\" is no edge of the outline",
		"38:37: here \"through\" is wanted",
	} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("it does not say %q", want)
		}
	}
	if t.Failed() {
		t.Log(err)
	}
}

// What shapes a drawing cannot ask for what it makes of it.
func TestShapeAsksForItself(t *testing.T) {
	for _, more := range []string{
		"  dart i: at F, takes sewn width of front at F/20, 3 up and 3 down",
		"  B: along side 3 from U\n  dart b: at B, takes sewn width of front at B/20, 9 long",
		"  Z: along waist 3 from W2\n  princess: line half the shoulder, through X, to waist at Z, takes sewn width of front at U/20 at waist",
		"  dart s: M to X to M2\n  princess: line from dart s, through X, plumb to the waist\n  B: along side 3 from U\n  dart b: at B, takes sewn width of front at B/20, 9 long",
	} {
		text := strings.Replace(twoDarts(3, 1.6, more), "  front: front; cut 1 on the fold", "  a: front, centre to princess; cut 1 on the fold", 1)
		if !strings.Contains(more, "princess") {
			text = twoDarts(3, 1.6, more)
		}
		if _, err := draw([]byte(text), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), "leads back to its") {
			t.Errorf("%s: %v", more, err)
		}
	}
}

// So are those in the sections of pieces and seams, beside a point that cannot be and a number that is no allowance.
func TestEverySlipOfAllSections(t *testing.T) {
	text := twoDarts(3, 1.6, "  Z: where circle round X radius 1 meets circle round O radius 1") + `  sid: 1
  centre: 30
notches:
  front side: one, 3 frm U
  front wiast: one, 3 from U
marks:
  front: drll at X
  frnt: drill at X
cloth:
  main: 150 wid
sewn:
  - front side = front sid
  - front side = front side, 1/4 lnger
ease:
  bust: 4, finshed 2*width of front at U
must:
  - length of front neck gos over 4
notions:
  tape: 2*lngth of front neck
`
	text = strings.Replace(text, "pieces:", "body: {bust: 92}\npieces:\n  belt: strip 4 by 30; cut 1, in mian", 1)
	_, err := draw([]byte(text), "x.yaml", Options{})
	if err == nil {
		t.Fatal("it is drawn")
	}
	for _, want := range []string{
		"do not meet", `"sid" is no edge of any piece`, `"belt" is cut in "mian"`, "frm", `"front wiast" is no edge`, "drll", `"frnt" is no piece`,
		`here "wide" is wanted`, `"front sid" is no edge`, "longer or shorter is wanted", "how the finished girth", "compares nothing", "lngth",
	} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("it does not say %q", want)
		}
	}
	// What is impossible of a piece is told once the drawings are sound.
	sound := strings.Replace(text, "  Z: where circle round X radius 1 meets circle round O radius 1\n", "", 1)
	if _, err := draw([]byte(sound), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), "an allowance of 30 cm") || !strings.Contains(err.Error(), "lngth") {
		t.Errorf("of a sound drawing it says %v", err)
	}
}

// draw reads a draft and works it out for one body, its right side where the sides differ.
func draw(data []byte, name string, opt Options) (*sewn.Sewing, error) {
	e, _, err := drawGarment(data, name, opt)
	return e, err
}
