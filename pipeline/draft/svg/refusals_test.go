package svg

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/draft/assemble"
)

func TestEncodings(t *testing.T) {
	for _, c := range []struct{ text, name string }{
		{"\xef\xbb\xbf" + `<?xml version="1.0"?>` + mm(`<g data-piece="Ärmel"><rect class="cut" width="90" height="90"/></g>`), "Ärmel"},
		{`<?xml version="1.0" encoding="ISO-8859-1"?>` + mm("<g data-piece=\"\xc4rmel\"><rect class=\"cut\" width=\"90\" height=\"90\"/></g>"), "Ärmel"},
		{`<svg width="1000mm" height="1000mm" viewBox="0 0 1000 1000"><g data-piece="x"><rect class="cut" width="90" height="90"/></g></svg>`, "x"},
		{strings.NewReplacer("<g", "<s:g", "</g", "</s:g", "<rect", "<s:rect", "<svg", "<s:svg", "</svg", "</s:svg", "xmlns=", "xmlns:s=").Replace(mm(`<g data-piece="x"><rect class="cut" width="90" height="90"/></g>`)), "x"},
		{mm(`<o:g xmlns:o="urn:other"><rect class="cut" width="500" height="500"/></o:g><g data-piece="x"><rect class="cut" width="90" height="90"/></g>`), "x"},
	} {
		if p := read(t, c.text); len(p.Pieces) != 1 || p.Pieces[0].Name != c.name {
			t.Errorf("%q: %+v", c.text, p.Pieces)
		}
	}
}

// Files that cannot be read at all: each says why, where, and of what kind the fault is.
func TestRefusals(t *testing.T) {
	deep := strings.Repeat("<g>", 70) + strings.Repeat("</g>", 70)
	bomb := `<rect id="u0" class="cut" width="5" height="5"/>`
	for i := 1; i < 9; i++ {
		bomb += fmt.Sprintf(`<g id="u%d">%s</g>`, i, strings.Repeat(fmt.Sprintf(`<use href="#u%d"/>`, i-1), 10))
	}
	for name, c := range map[string]struct {
		text string
		kind assemble.Kind
		line int
	}{
		"empty":          {" \n", assemble.Malformed, 0},
		"truncated":      {mm(`<rect class="cut"`)[:150], assemble.Malformed, 1},
		"cut short":      {"<svg xmlns=\"http://www.w3.org/2000/svg\">\n<g>\n", assemble.Malformed, 3},
		"binary":         {"\x00\x01\x02", assemble.Malformed, 0},
		"not xml":        {"0\nSECTION\n2\nHEADER\n", assemble.Malformed, 0},
		"html":           {"<html><body/></html>", assemble.Unsupported, 1},
		"gzip":           {"\x1f\x8b\x08\x00", assemble.Unsupported, 0},
		"utf-16":         {"\xff\xfe<\x00s\x00", assemble.Unsupported, 0},
		"encoding":       {`<?xml version="1.0" encoding="EBCDIC-1"?><svg/>`, assemble.Unsupported, 1},
		"entity outside": {"<?xml version=\"1.0\"?>\n<!DOCTYPE svg [<!ENTITY a SYSTEM \"b\">]>\n" + mm(`&a;`), assemble.Unsupported, 2},
		"entities in it": {"<?xml version=\"1.0\"?>\n<!DOCTYPE svg [<!ENTITY a \"b\"><!ENTITY c \"&a;&a;\">]>\n" + mm(`&c;`), assemble.Unsupported, 2},
		"entity bomb":    {"<!DOCTYPE svg [<!ENTITY a \"" + strings.Repeat("b", 400) + "\">]>\n" + mm(strings.Repeat(`&a;`, 200_000)), assemble.Unsupported, 1},
		"parameters":     {"<!DOCTYPE svg [<!ENTITY % a \"b\">]>\n" + mm(``), assemble.Unsupported, 1},
		"unknown entity": {mm("\n<text>&lol;</text>"), assemble.Malformed, 2},
		"doubled":        {mm("\n" + `<rect width="5" width="6"/>`), assemble.Malformed, 2},
		"two roots":      {mm("") + "\n<svg/>", assemble.Malformed, 2},
		"attributes":     {mm("<g" + manyAttributes(600) + "/>"), assemble.TooLarge, 1},
		"depth":          {mm(deep), assemble.TooLarge, 1},
		"use bomb":       {mm(`<defs>` + bomb + `</defs><use href="#u8"/>`), assemble.TooLarge, 1},
	} {
		start := time.Now()
		_, err := Read([]byte(c.text), "t.svg", Options{})
		var e *assemble.Unreadable
		if !errors.As(err, &e) || e.Kind != c.kind || e.Line != c.line || e.Text == "" {
			t.Errorf("%s: %v (%+v), want kind %d in line %d", name, err, e, c.kind, c.line)
		}
		t.Logf("%s: %v in %v", name, err, time.Since(start).Round(time.Millisecond))
	}
}

func manyAttributes(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, " a%d=\"\"", i)
	}
	return b.String()
}

func TestLimits(t *testing.T) {
	body := mm(strings.Repeat(`<path class="mark" d="M0 0L1 1L2 2L3 3"/>`, 100))
	for name, l := range map[string]Limits{
		"bytes": {Bytes: 100}, "elements": {Elements: 50}, "segments": {Segments: 200}, "points": {Points: 200},
	} {
		_, err := Read([]byte(body), "t.svg", Options{Limits: l})
		var e *assemble.Unreadable
		if !errors.As(err, &e) || e.Kind != assemble.TooLarge {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Read([]byte(body), "t.svg", Options{}); err != nil {
		t.Error(err)
	}
}
