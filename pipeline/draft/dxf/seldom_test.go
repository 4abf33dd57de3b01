package dxf

import (
	"bytes"
	"strings"
	"testing"

	"golang.org/x/text/encoding/simplifiedchinese"

	"tracewheel/pipeline/pattern"
)

// A polyline of the kind in space whose points all have one height is flat.
func TestFlatPolylineOfTheKindInSpace(t *testing.T) {
	line := func(z string) string {
		return "0 POLYLINE 8 cut 66 1 70 9 0 VERTEX 8 cut 70 32 10 0 20 0 30 5 0 VERTEX 8 cut 70 32 10 200 20 0 30 5 " +
			"0 VERTEX 8 cut 70 32 10 200 20 100 30 " + z + " 0 VERTEX 8 cut 70 32 10 0 20 100 30 5 0 SEQEND "
	}
	p, err := Read(doc("", line("5")), "t.dxf", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Pieces) != 1 || len(p.Pieces[0].Cut.Points) != 4 || !p.Pieces[0].Cut.Closed {
		t.Errorf("%+v %+v", p.Pieces, p.Findings)
	}
	p, err = Read(doc("", line("25")), "t.dxf", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f := found(p, pattern.RuleUnreadable); f == nil || !strings.Contains(f.Message, "heights") {
		t.Errorf("a line in space: %+v", p.Findings)
	}
}

// The objects by which an insert is clipped, as the DXF reference lists them.
func TestClippedInsertIsTold(t *testing.T) {
	const block = "0 BLOCK 2 part 10 0 20 0 " + square + "0 ENDBLK "
	const insert = "0 INSERT 5 1A 102 {ACAD_XDICTIONARY 360 1B 102 } 8 0 2 part 10 0 20 0 "
	for on, want := range map[string]bool{"1": true, "0": false} {
		objects := "0\nENDSEC\n0\nSECTION\n2\nOBJECTS\n0\nDICTIONARY\n5\n1B\n3\nACAD_FILTER\n360\n1C\n0\nDICTIONARY\n5\n1C\n3\nSPATIAL\n360\n1D\n" +
			"0\nSPATIAL_FILTER\n5\n1D\n70\n2\n10\n0\n20\n0\n10\n50\n20\n50\n71\n" + on + "\n0\nENDSEC\n0\nEOF\n"
		data := bytes.Replace(bytes.Replace(doc(block, insert), []byte("ACAD XD"), []byte("ACAD_XD"), 1), []byte("  0\nENDSEC\n  0\nEOF\n"), []byte(objects), 1)
		p, err := Read(data, "t.dxf", Options{})
		if err != nil {
			t.Fatal(err)
		}
		f := found(p, pattern.RuleLeftOut)
		if told := f != nil && strings.Contains(f.Message, "clipped insert"); told != want {
			t.Errorf("clip switched %s: told %v: %+v", on, told, p.Findings)
		}
	}
}

// Two Chinese letters in code page 936 whose bytes are sound UTF-8 of another script.
func TestDoubleByteNameThatLooksLikeUTF8(t *testing.T) {
	name, err := simplifiedchinese.GBK.NewDecoder().String("\xc4\xa3\xc4\xa4") // U+6A21 U+819C
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range []string{"ANSI_936", "GB2312"} {
		for bytesOfName, want := range map[string]string{"\xc4\xa3\xc4\xa4": name, name: name} {
			data := strings.Replace(string(doc("", strings.ReplaceAll(square, "8 cut", "8 "+"XX"))), "9\n$INSUNITS",
				"9\n$ACADVER\n1\nAC1015\n  9\n$DWGCODEPAGE\n3\n"+page+"\n  9\n$INSUNITS", 1)
			data = strings.Replace(data, "\nXX\n", "\nXX"+bytesOfName+"\n", 1)
			f, err := parse([]byte(data), DefaultLimits)
			if err != nil {
				t.Fatal(err)
			}
			if got := f.text([]byte(bytesOfName)); got != want {
				t.Errorf("%s: %q is read as %q, want %q", page, bytesOfName, got, want)
			}
		}
	}
}

func found(p *pattern.Pattern, rule string) *pattern.Finding {
	for i := range p.Findings {
		if p.Findings[i].Rule == rule {
			return &p.Findings[i]
		}
	}
	return nil
}

// Layers 2 and 3 of a plain drawing that hold outlines are layers like others.
func TestPlainLayersCalledTwoAndThree(t *testing.T) {
	other := strings.NewReplacer("8 cut", "8 3", "10 0", "10 300", "10 200", "10 500").Replace(square)
	p, err := Read(doc("", strings.Replace(square, "8 cut", "8 2", 1)+other), "t.dxf", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f := found(p, pattern.RuleReadAssumed); len(p.Pieces) != 2 || f == nil || f.Severity != pattern.Warning {
		t.Errorf("%d pieces, want 2 and a warning: %+v", len(p.Pieces), p.Findings)
	}
}
