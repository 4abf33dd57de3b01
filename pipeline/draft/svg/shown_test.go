package svg

import (
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// A loop: one cubic whose end is its beginning. Its area is 3/20 of the parallelogram of its two
// handles (Green's formula on the Bernstein polynomials).
func TestLoopKeepsItsArea(t *testing.T) {
	for _, d := range []string{"M100 100 C 300 100 100 300 100 100", "M100 100 C 300 100 100 300 100 100 Z", "M100 100 c 200 0 0 200 0 0"} {
		p := read(t, mm(`<path class="cut" d="`+d+`"/>`))
		if len(p.Pieces) != 1 || p.Pieces[0].Cut == nil {
			t.Fatalf("%s: %+v", d, p.Findings)
		}
		want := 3.0 / 20 * 200 * 200
		if got := p.Pieces[0].Cut.Area(); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("%s: area %.1f, want %.1f", d, got, want)
		}
	}
}

func TestRootSizeInItsStyle(t *testing.T) {
	for _, root := range []string{
		`style="width:200mm;height:100mm" viewBox="0 0 200 100"`,
		`width="400mm" height="200mm" style="width:200mm; height:100mm" viewBox="0 0 200 100"`,
		`width="200mm" height="100mm" style="width:100%;height:auto" viewBox="0 0 200 100"`,
	} {
		p := read(t, `<svg xmlns="http://www.w3.org/2000/svg" `+root+`><rect class="cut" x="10" y="20" width="100" height="30"/></svg>`)
		sameBox(t, root, boxOf(t, p, 100), 10, 20, 110, 50)
		if len(p.Findings) > 0 {
			t.Errorf("%s: %+v", root, p.Findings)
		}
	}
	p := read(t, `<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100" style="transform:scale(2)"><rect class="cut" width="100" height="30"/></svg>`)
	if found(p, pattern.RuleUnreadable) == nil {
		t.Error("a transform in the root's style is passed over in silence")
	}
}

// CSS Transforms 1: the transform is between two translations by the origin; percentages refer to
// the viewport.
func TestTransformOrigin(t *testing.T) {
	for origin, want := range map[string][4]float64{
		"":              {0, 0, 20, 40},
		"0 0":           {0, 0, 20, 40},
		"10 20":         {-10, -20, 10, 20},
		"10px, 20px":    {-10, -20, 10, 20},
		"1% 2%":         {-10, -20, 10, 20},
		"100 top":       {-100, 0, -80, 40},
		"center":        {-500, -500, -480, -460},
		"bottom right":  {-1000, -1000, -980, -960},
		"left 20px 5px": {0, -20, 20, 20},
		"top":           {-500, 0, -480, 40},
	} {
		p := read(t, mm(`<rect class="cut" width="10" height="20" transform="scale(2)" transform-origin="`+origin+`"/>`))
		sameBox(t, origin, boxOf(t, p, 1000), want[0], want[1], want[2], want[3])
	}
	p := read(t, mm(`<rect class="cut" width="10" height="20" transform="scale(2)" transform-origin="3em 1"/>`))
	if found(p, pattern.RuleUnreadable) == nil {
		t.Error("an origin in letters' heights is passed over in silence")
	}
}

// SVG 2, 5.8: the first alternative whose conditions hold is drawn.
func TestSwitch(t *testing.T) {
	small, large := `<rect class="cut" width="100" height="50"`, `<rect class="cut" width="300" height="200"/>`
	for _, first := range []string{
		`<g requiredExtensions="http://example.org/own">` + small + `/></g>`,
		`<foreignObject requiredExtensions="http://example.org/own"/>`,
		`<foreignObject requiredFeatures="http://www.w3.org/TR/SVG11/feature#Extensibility"/>`,
		`<title>choice</title>`,
		small + ` systemLanguage="fi, sv"/>`,
	} {
		p := read(t, mm(`<switch>`+first+large+small+`/></switch>`))
		sameBox(t, first, boxOf(t, p, 1000), 0, 0, 300, 200)
		if len(p.Pieces) != 1 {
			t.Errorf("%s: %d pieces", first, len(p.Pieces))
		}
	}
	p := read(t, mm(`<switch>`+small+` systemLanguage="en-GB"/>`+large+`</switch>`))
	sameBox(t, "English", boxOf(t, p, 1000), 0, 0, 100, 50)
	p = read(t, mm(`<switch><g requiredExtensions="x">`+small+`/></g></switch>`+large))
	if f := found(p, pattern.RuleLeftOut); f == nil || !strings.Contains(f.Message, "choice") {
		t.Errorf("nothing is told of an empty choice: %+v", p.Findings)
	}
}

// SVG 2, 14.3.2: an inner drawing and a symbol are cut off at their edge.
func TestClipByOverflowIsTold(t *testing.T) {
	const shape = `<rect class="cut" x="10" y="10" width="300" height="50"/>`
	for body, clipped := range map[string]bool{
		`<svg width="200" height="100">` + shape + `</svg>`:                                                                          true,
		`<svg width="400" height="100">` + shape + `</svg>`:                                                                          false,
		`<svg width="200" height="100" overflow="visible">` + shape + `</svg>`:                                                       false,
		`<svg width="200" height="100" style="overflow:visible">` + shape + `</svg>`:                                                 false,
		`<svg width="200" height="100" viewBox="0 0 400 200">` + shape + `</svg>`:                                                    false,
		`<svg width="200" height="100" viewBox="0 0 100 50">` + shape + `</svg>`:                                                     true,
		`<symbol id="s" viewBox="0 0 100 100">` + shape + `</symbol><use href="#s" width="100" height="100"/>`:                       true,
		`<symbol id="s" viewBox="0 0 400 400">` + shape + `</symbol><use href="#s" width="100" height="100" transform="rotate(9)"/>`: false,
	} {
		p := read(t, mm(body))
		f := found(p, pattern.RuleLeftOut)
		if told := f != nil && strings.Contains(f.Message, "clip"); told != clipped {
			t.Errorf("%s: clip told %v, want %v: %+v", body, told, clipped, p.Findings)
		}
	}
}

func TestShapeThatLeavesNothing(t *testing.T) {
	const piece = `<rect width="100" height="50" fill="none" stroke="#000"/>`
	for _, frame := range []string{
		`<rect width="500" height="500" fill="none"/>`,
		`<rect width="500" height="500" style="fill:none;stroke:none"/>`,
		`<rect width="500" height="500" style="fill:none;stroke:#000;stroke-width:0"/>`,
		`<g fill="none"><rect width="500" height="500"/></g>`,
		`<style>.f{fill:transparent}</style><rect class="f" width="500" height="500"/>`,
		`<g opacity="0"><rect width="500" height="500"/></g>`,
		`<rect width="500" height="500" fill-opacity="0%"/>`,
	} {
		p := read(t, mm(frame+piece))
		sameBox(t, frame, boxOf(t, p, 1000), 0, 0, 100, 50)
		if f := found(p, pattern.RuleLeftOut); f == nil || !strings.Contains(f.Message, "neither filled nor stroked") {
			t.Errorf("%s: nothing is told: %+v", frame, p.Findings)
		}
	}
	for _, shown := range []string{
		`<rect width="500" height="500"/>`,
		`<g fill="none"><rect width="500" height="500" fill="red"/></g>`,
		`<g stroke="#000"><rect width="500" height="500" fill="none"/></g>`,
	} {
		sameBox(t, shown, boxOf(t, read(t, mm(shown)), 1000), 0, 0, 500, 500)
	}
}

// A width on a path does nothing, and a radius below nought is no square corner.
func TestPropertiesThatMeanNothing(t *testing.T) {
	p := read(t, mm(`<path class="cut" style="width:0;r:3" d="M0 0H100V50H0Z"/>`))
	sameBox(t, "path", boxOf(t, p, 1000), 0, 0, 100, 50)
	if f := found(p, pattern.RuleUnreadable); f != nil {
		t.Errorf("refused for a width that means nothing: %+v", f)
	}
	if p := read(t, mm(`<rect class="cut" width="100" height="50" style="width:50px"/>`)); found(p, pattern.RuleUnreadable) == nil {
		t.Error("a width in the style of a rectangle is passed over")
	}
	for _, radii := range []string{`rx="-5"`, `ry="-5"`, `rx="5" ry="-5"`} {
		if p := read(t, mm(`<rect class="cut" width="100" height="50" `+radii+`/>`)); found(p, pattern.RuleUnreadable) == nil {
			t.Errorf("%s: square corners in silence", radii)
		}
	}
}

// Some programs abbreviate the addresses of namespaces by entities of the file.
func TestAbbreviationsAreExpanded(t *testing.T) {
	text := `<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [
	<!ENTITY ns_svg "http://www.w3.org/2000/svg">
	<!ENTITY part 'Yoke'>
]>
<svg xmlns="&ns_svg;" width="200mm" height="100mm" viewBox="0 0 200 100"><g data-piece="&part;"><rect class="cut" width="100" height="30"/></g></svg>`
	p := read(t, text)
	if len(p.Pieces) != 1 || p.Pieces[0].Name != "Yoke" {
		t.Errorf("%+v %+v", p.Pieces, p.Findings)
	}
}

// A group that a drawing program named by itself drops what it holds, but never in silence; a piece
// of checked cloth is no test square.
func TestNamesOfGroupsAreNoOrders(t *testing.T) {
	p := read(t, mm(`<g id="Frame 1"><g data-piece="Yoke"><rect width="300" height="200"/></g></g>`))
	if f := found(p, pattern.RuleLeftOut); f == nil || f.Severity != pattern.Warning || !strings.Contains(f.Message, "frame") {
		t.Errorf("a whole drawing is dropped without a warning: %+v", p.Findings)
	}
	p = read(t, mm(`<g id="check-lining"><rect class="cut" width="300" height="200"/></g><path id="check-lining-2" d="M0 300H300V400H0Z"/>`))
	if f := found(p, pattern.RuleUnitsDisagree); f != nil || len(p.Pieces) != 1 {
		t.Errorf("check-lining is measured as a test square: %+v", p.Findings)
	}
}

// What is left out although its role decides what is cut is a warning; anything else left out is a note.
func TestLeftOutWithARole(t *testing.T) {
	const piece = `<rect class="cut" width="100" height="50" stroke="#000"/>`
	for lost, want := range map[string]pattern.Severity{
		`<path class="cut" fill="none" d="M10 10H30V30Z"/>`:                                      pattern.Warning,
		`<path class="notch" fill="none" d="M10 0V5"/>`:                                          pattern.Warning,
		`<path class="notch" visibility="hidden" d="M10 0V5"/>`:                                  pattern.Warning,
		`<g style="display:none"><g class="notch"><path d="M10 0V5"/></g></g>`:                   pattern.Warning,
		`<path class="cutout" requiredExtensions="http://example.org/own" d="M10 10H30V30Z"/>`:   pattern.Warning,
		`<path class="notch" stroke="#000" d="M400 400V405"/>`:                                   pattern.Warning,
		`<path class="mark" fill="none" d="M10 10H30V30Z"/>`:                                     pattern.Note,
		`<g style="display:none" class="cut"></g>`:                                               pattern.Note,
		`<g style="display:none" class="cut"><path class="construction" d="M10 10H30V30Z"/></g>`: pattern.Note,
		`<path fill="none" d="M10 10H30V30Z"/>`:                                                  pattern.Note,
	} {
		f := found(read(t, mm(piece+lost)), pattern.RuleLeftOut)
		if f == nil || f.Severity != want {
			t.Errorf("%s: %+v, want a %s", lost, f, want)
		}
	}
}
