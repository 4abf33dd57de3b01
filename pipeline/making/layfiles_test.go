package making

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/pattern"
)

// TestLayBuildsTheWorkroomsAllowance: a draft with a sew line alone is laid as convert makes it, with the
// workroom's allowance built on: 200 by 300 mm and 10 mm all round are 220 by 320 mm.
func TestLayBuildsTheWorkroomsAllowance(t *testing.T) {
	room := Sample()
	room.Sewing.Allowance = 10
	m := New(room)
	r := Request{Name: "flap.svg", Source: []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">` +
		`<g data-piece="flap" data-quantity="1"><path class="sew" d="M20 320H220V20H20Z"/></g></svg>`)}
	l, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Width: 900, Steps: 1})
	if err != nil || len(l.Cloths) != 1 || laid(l) != 1 {
		t.Fatalf("%v: %d pieces, %+v", err, laid(l), l.Findings)
	}
	laid := l.Cloths[0].Drawn
	r.Device = "roll-plotter"
	w := made(t, m, r)
	for where, b := range map[string][2]float64{
		"laid":      {laid[0].Outline.Bound().Max[0] - laid[0].Outline.Bound().Min[0], laid[0].Outline.Bound().Max[1] - laid[0].Outline.Bound().Min[1]},
		"converted": {w.Ready[0].Outline.Bound().Max[0] - w.Ready[0].Outline.Bound().Min[0], w.Ready[0].Outline.Bound().Max[1] - w.Ready[0].Outline.Bound().Min[1]},
	} {
		if math.Abs(b[0]-220) > 0.01 || math.Abs(b[1]-320) > 0.01 {
			t.Errorf("%s it is %.2f by %.2f mm, want 220 by 320", where, b[0], b[1])
		}
	}
}

// TestLayTellsWhatPreparingFound: of a draft in two sizes without a ticket every one is laid, and said to be.
func TestLayTellsWhatPreparingFound(t *testing.T) {
	piece := func(size, x string) string {
		return `<g data-piece="flap" data-size="` + size + `" data-quantity="1"><path class="cut" d="M` + x + ` 20h100v100h-100Z"/></g>`
	}
	l, err := New(Sample()).LayFiles(t.Context(), []Request{{Name: "flap.svg", Source: []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">` +
		piece("38", "20") + piece("40", "220") + `</svg>`)}}, cloths.Wish{Width: 900, Steps: 1})
	if err != nil || laid(l) != 2 {
		t.Fatalf("%v: %d pieces, %+v", err, laid(l), l.Findings)
	}
	if !slices.ContainsFunc(l.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleEverySize }) {
		t.Errorf("that every size is laid is not told: %+v", l.Findings)
	}
}

// laid counts what was laid.
func laid(l *cloths.Layout) (n int) {
	for _, c := range l.Cloths {
		n += len(c.Lay.Placements)
	}
	return n
}

// A length without a unit is mm; of a draft that is drawn in inches it is refused with what to type, and one with a unit is
// answered in inches.
func TestBareLengthOfAnInchDraft(t *testing.T) {
	m := New(Sample())
	r := Request{Name: "inches.yaml", Source: []byte("style: Mat\nunit: in\npieces:\n  mat: rectangle 20 by 30; cut 1\nallow: 1/2\n")}
	for said, want := range map[string]string{"60": "say --length 60in or --length 60mm", "60in": "", "1524mm": "", "60 1/2": "say --length 60 1/2in"} {
		wish, err := (&cloths.Flags{Length: said, Width: "45in", Steps: 10}).Read()
		if err != nil {
			t.Fatal(err)
		}
		l, err := m.LayFiles(t.Context(), []Request{r}, wish)
		if want != "" {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v, want %s", said, err, want)
			}
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v %v", said, err, l.Findings)
		}
		var text strings.Builder
		if l.WriteText(&text); !strings.Contains(text.String(), "on 60 in, with") || strings.Contains(text.String(), " mm") {
			t.Errorf("%s: %s", said, text.String())
		}
	}
	r.Source = bytes.Replace(r.Source, []byte("unit: in"), []byte("unit: cm"), 1)
	if wish, err := (&cloths.Flags{Length: "1500", Width: "1400", Steps: 10}).Read(); err != nil {
		t.Fatal(err)
	} else if l, err := m.LayFiles(t.Context(), []Request{r}, wish); err != nil {
		t.Errorf("a bare number of a draft in cm: %v %v", err, l.Findings)
	}
}
