package dxf

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// doc makes a text file of blocks and entities; each is written as "code value code value ...",
// blanks in values as "_".
func doc(blocks, entities string) []byte {
	var b strings.Builder
	write := func(s string) {
		fields := strings.Fields(s)
		for i := 0; i+1 < len(fields); i += 2 {
			fmt.Fprintf(&b, "%3s\n%s\n", fields[i], strings.ReplaceAll(fields[i+1], "_", " "))
		}
	}
	write("0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC")
	write("0 SECTION 2 BLOCKS " + blocks + " 0 ENDSEC")
	write("0 SECTION 2 ENTITIES " + entities + " 0 ENDSEC 0 EOF")
	return []byte(b.String())
}

const square = "0 LWPOLYLINE 8 cut 90 4 70 1 10 0 20 0 10 200 20 0 10 200 20 100 10 0 20 100 "

// TestHostileFilesAreRefusedPlainly: each with the line and the words that a person needs.
func TestHostileFilesAreRefusedPlainly(t *testing.T) {
	deep := ""
	for i := range 20 {
		deep += fmt.Sprintf("0 BLOCK 2 b%d 10 0 20 0 0 INSERT 2 b%d 10 0 20 0 0 ENDBLK ", i, i+1)
	}
	bomb := "0 BLOCK 2 b0 10 0 20 0 " + strings.Repeat("0 LINE 8 cut 10 0 20 0 11 1 21 1 ", 10) + "0 ENDBLK "
	for i := 1; i < 10; i++ {
		bomb += fmt.Sprintf("0 BLOCK 2 b%d 10 0 20 0 %s0 ENDBLK ", i, strings.Repeat(fmt.Sprintf("0 INSERT 2 b%d 10 0 20 0 ", i-1), 10))
	}
	whole := string(doc("", square))
	line := func(x string) []byte { return doc("", "0 LINE 8 cut 10 "+x+" 20 0 11 1 21 1") }
	for _, tc := range []struct {
		name string
		data []byte
		kind assemble.Kind
		line int
		says string
	}{
		{"empty", nil, assemble.Malformed, 0, "empty"},
		{"blank", []byte(" \n\n"), assemble.Malformed, 0, "empty"},
		{"binary rubbish", []byte("\x01\x02\x00\x03"), assemble.Malformed, 0, "binary"},
		{"utf-16", []byte("\xff\xfe0\x00"), assemble.Unsupported, 0, "UTF-16"},
		{"zip", []byte("PK\x03\x04"), assemble.Unsupported, 0, "compressed"},
		{"no section", []byte("0\nLINE\n0\nEOF\n"), assemble.Malformed, 1, "section"},
		{"cut short", []byte(whole[:len(whole)/2]), assemble.Malformed, -1, ""},
		{"no EOF", []byte(strings.TrimSuffix(whole, "  0\nEOF\n")), assemble.Malformed, -1, "still being written"},
		{"no ENDSEC", []byte(strings.Replace(whole, "  0\nENDSEC\n  0\nEOF", "  0\nEOF", 1)), assemble.Malformed, -1, "ENDSEC"},
		{"lost value", []byte(strings.Replace(whole, " 20\n0\n", " 20\n", 1)), assemble.Malformed, -1, ""},
		{"lost code", []byte(strings.Replace(whole, " 20\n100\n", "100\n", 1)), assemble.Malformed, -1, ""},
		{"word for code", []byte("0\nSECTION\nxyz\nHEADER\n"), assemble.Malformed, 3, "group code"},
		{"no ENDBLK", doc("0 BLOCK 2 a 10 0 20 0 0 LINE", square), assemble.Malformed, -1, "ENDBLK"},
		{"nan", line("nan"), assemble.Malformed, 26, `"nan" is no number`},
		{"inf", line("-inf"), assemble.Malformed, 26, "no number"},
		{"overflow", line("1e999"), assemble.Malformed, 26, "no number"},
		{"hexadecimal", line("0x1p4"), assemble.Malformed, 26, "no number"},
		{"comma", line("1,5"), assemble.Malformed, 26, "no number"},
		{"broken number", line("1.#IND"), assemble.Malformed, 26, "no number"},
		{"too far", line("1e7"), assemble.TooLarge, 21, "kilometre"},
		{"no y", doc("", "0 LINE 8 cut 10 1 11 1 21 1"), assemble.Malformed, 21, "lacks its code 20"},
		{"loop", doc("0 BLOCK 2 a 10 0 20 0 0 INSERT 2 b 10 0 20 0 0 ENDBLK 0 BLOCK 2 b 10 0 20 0 0 INSERT 2 A 10 0 20 0 0 ENDBLK", "0 INSERT 2 a 10 0 20 0"), assemble.Malformed, -1, "in itself"},
		{"deep", doc(deep, "0 INSERT 2 b0 10 0 20 0"), assemble.TooLarge, -1, "deep"},
		{"bomb", doc(bomb, "0 INSERT 2 b9 10 0 20 0"), assemble.TooLarge, 0, "entities once all inserts"},
		{"array", doc("0 BLOCK 2 a 10 0 20 0 0 ENDBLK", "0 INSERT 2 a 10 0 20 0 70 30000 71 30000"), assemble.TooLarge, -1, "cells"},
		{"block twice", doc("0 BLOCK 2 a 10 0 20 0 0 ENDBLK 0 BLOCK 2 A 10 0 20 0 0 ENDBLK", square), assemble.Malformed, -1, "second time"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p, err := Read(tc.data, "x.dxf", Options{})
			var e *assemble.Unreadable
			if !errors.As(err, &e) || p != nil {
				t.Fatalf("read as %v, error %v", p, err)
			}
			if e.Kind != tc.kind || !strings.Contains(e.Error(), tc.says) {
				t.Errorf("kind %d: %v; want kind %d with %q", e.Kind, e, tc.kind, tc.says)
			}
			if tc.line >= 0 && e.Line != tc.line || tc.line < 0 && e.Line == 0 {
				t.Errorf("line %d, want %d: %v", e.Line, tc.line, e)
			}
		})
	}
}

// TestFaultsThatAreFindings: the file can be read, but the draft is refused or doubted, by line.
func TestFaultsThatAreFindings(t *testing.T) {
	spline := func(s string) []byte { return doc("", square+"0 SPLINE 8 cut "+s) }
	for _, tc := range []struct {
		name     string
		data     []byte
		severity pattern.Severity
		rule     string
		says     string
	}{
		{"missing block", doc("", square+"0 INSERT 2 gone 10 0 20 0"), pattern.Error, pattern.RuleUnreadable, `"gone"`},
		{"missing SEQEND", doc("", "0 POLYLINE 8 cut 66 1 70 1 0 VERTEX 10 0 20 0 0 VERTEX 10 9 20 0 0 VERTEX 10 9 20 9 "+square), pattern.Error, pattern.RuleUnreadable, "SEQEND"},
		{"polyline in space", doc("", square+"0 POLYLINE 8 cut 70 8 0 VERTEX 10 0 20 0 30 0 0 VERTEX 10 9 20 0 30 9 0 SEQEND"), pattern.Error, pattern.RuleUnreadable, "in space"},
		{"aslant", doc("", square+"0 CIRCLE 8 cut 10 0 20 0 40 5 210 1 220 0 230 0"), pattern.Error, pattern.RuleUnreadable, "plane"},
		{"solid body", doc("", square+"0 3DSOLID 8 cut"), pattern.Error, pattern.RuleUnreadable, "not read"},
		{"hatch", doc("", square+"0 HATCH 8 cut 10 nan"), pattern.Note, pattern.RuleLeftOut, "HATCH"},
		{"unknown", doc("", square+"0 GIZMO 8 other 0 GIZMO 8 other"), pattern.Note, pattern.RuleLeftOut, "GIZMO entity: 2"},
		{"lying count", doc("", strings.Replace(square, "90 4", "90 2000000000", 1)), pattern.Warning, pattern.RuleReadAssumed, "2000000000"},
		{"equal angles", doc("", square+"0 ARC 8 mark 10 50 20 50 40 9 50 30 51 390"), pattern.Warning, pattern.RuleReadAssumed, "full circle"},
		{"knots", spline("71 3 72 999999999 73 4 40 0 40 1 10 0 20 0 10 1 20 1 10 2 20 1 10 3 20 0"), pattern.Error, pattern.RuleUnreadable, "2 knots"},
		{"degree", spline("71 30 10 0 20 0"), pattern.Error, pattern.RuleUnreadable, "degree"},
		{"weights", spline("71 1 40 0 40 0 40 1 40 1 10 0 20 0 10 9 20 9 41 1 41 -1"), pattern.Error, pattern.RuleUnreadable, "weights"},
		{"two roles", doc("", square+"0 LINE 8 cut_and_sew 10 0 20 0 11 1 21 1"), pattern.Warning, pattern.RuleLeftOut, "two roles"},
		{"numbers", doc("", "0 LINE 8 7 10 50 20 50 11 150 21 50 "+strings.Replace(square, "8 cut", "8 1", 1)), pattern.Note, pattern.RuleReadAssumed, "numbers"},
		{"height", doc("", square+"0 LINE 8 grain 10 10 20 50 30 4 11 150 21 50"), pattern.Note, pattern.RuleLeftOut, "height"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p, err := Read(tc.data, "x.dxf", Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range p.Findings {
				if f.Rule == tc.rule && f.Severity == tc.severity && strings.Contains(f.Message, tc.says) {
					if f.Line == 0 && tc.name != "numbers" && tc.name != "two roles" {
						t.Errorf("%s names no line", f.Message)
					}
					return
				}
			}
			t.Errorf("no %s %s with %q in %v", tc.severity, tc.rule, tc.says, p.Findings)
		})
	}
}

// TestLimitsHold tries each limit at a small value against a sound draft.
func TestLimitsHold(t *testing.T) {
	data, err := os.ReadFile("../../../testdata/drafts/satchel-bulge.dxf")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Read(data, "x", Options{}); err != nil {
		t.Fatal(err)
	}
	nested, err := os.ReadFile("../../../testdata/dxf/inserts.dxf")
	if err != nil {
		t.Fatal(err)
	}
	arrayed, err := os.ReadFile("../../../testdata/dxf/array-cm.dxf")
	if err != nil {
		t.Fatal(err)
	}
	var e *assemble.Unreadable
	if _, err := Read(nested, "x", Options{Limits: Limits{Depth: 1}}); !errors.As(err, &e) || e.Kind != assemble.TooLarge || e.Line == 0 {
		t.Errorf("depth: %v", err)
	}
	if _, err := Read(arrayed, "x", Options{Limits: Limits{Cells: 5}}); !errors.As(err, &e) || e.Kind != assemble.TooLarge || e.Line == 0 {
		t.Errorf("cells: %v", err)
	}
	for name, l := range map[string]Limits{
		"bytes": {Bytes: 1000}, "tags": {Tags: 100}, "stored": {Stored: 10}, "entities": {Entities: 5}, "points": {Points: 50},
	} {
		var e *assemble.Unreadable
		if _, err := Read(data, "x", Options{Limits: l}); !errors.As(err, &e) || e.Kind != assemble.TooLarge {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestUnits: who is believed, and what is told.
func TestUnits(t *testing.T) {
	text := func(units string) string { return "0 TEXT 8 1 1 UNITS:_" + units + " 10 900 20 900 40 5 " }
	bare := func(s string) []byte { return []byte(strings.Replace(string(doc("", s)), "$INSUNITS", "$NOTHING", 1)) }
	for _, tc := range []struct {
		name, ticket string
		data         []byte
		width        float64
		rule         string
	}{
		{"header", "", doc("", square), 200, ""},
		{"text before header", "", doc("", text("ENGLISH")+square), 5080, pattern.RuleUnitsDisagree},
		{"text alone", "", bare(text("english") + square), 5080, ""},
		{"ticket", "cm", bare(square), 2000, ""},
		{"ticket against header", "in", doc("", square), 200, pattern.RuleUnitsDisagree},
		{"ticket says which metric unit", "cm", bare(text("METRIC") + square), 2000, ""},
		{"ticket against metric", "in", bare(text("METRIC") + square), 200, pattern.RuleUnitsDisagree},
		{"nobody", "", bare(square), 200, pattern.RuleUnitsUnknown},
		{"strange word", "", doc("", text("CUBITS")+square), 200, pattern.RuleUnitsDisagree},
		{"metric in centimetres", "", bare(text("METRIC") + strings.ReplaceAll(strings.ReplaceAll(square, "200", "20"), "100", "10")), 20, pattern.RuleSizeImplausible},
	} {
		p, err := Read(tc.data, "x.dxf", Options{Unit: tc.ticket})
		if err != nil || len(p.Pieces) != 1 || p.Pieces[0].Cut == nil {
			t.Errorf("%s: %v, %v", tc.name, p, err)
			continue
		}
		b := p.Pieces[0].Cut.Bound()
		if got := b.Max[0] - b.Min[0]; got < tc.width-1e-6 || got > tc.width+1e-6 {
			t.Errorf("%s: %.3f mm wide, want %.3f", tc.name, got, tc.width)
		}
		found := tc.rule == ""
		for _, f := range p.Findings {
			found = found || f.Rule == tc.rule
			if tc.rule == "" && strings.HasPrefix(f.Rule, "units") {
				t.Errorf("%s: %s", tc.name, f.Message)
			}
		}
		if !found {
			t.Errorf("%s: no %s in %v", tc.name, tc.rule, p.Findings)
		}
	}
}
