package draft

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const drafts = "../../testdata/drafts"

func read(t *testing.T, name string) *pattern.Pattern {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(drafts, name))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(data, name, Options{})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return p
}

// TestSameApronAsSVGAndDXF: the answer file of the DXF says same_shape_as. The SVG's page has its
// origin elsewhere, the same way for every piece. The vertices and middles of each line lie on the
// other within 0.01 mm; the gaps and the overshoot of the DXF are bridged and trimmed.
func TestSameApronAsSVGAndDXF(t *testing.T) {
	a, b := read(t, "apron-mm.svg"), read(t, "apron-plain.dxf")
	if len(a.Pieces) != 3 || len(b.Pieces) != 3 {
		t.Fatalf("%d and %d pieces, want 3", len(a.Pieces), len(b.Pieces))
	}
	shift := geom.Sub(a.Pieces[0].Cut.Bound().Min, b.Pieces[0].Cut.Bound().Min)
	move := geom.Translate(shift[0], shift[1])
	for i := range b.Pieces {
		q := &b.Pieces[i]
		lines := append([]geom.Path{q.Cut.Apply(move)}, applied(q.Sew, move)...)
		p := pieceAt(a, lines[0])
		if p == nil {
			t.Errorf("no piece of the SVG lies where %s does", q.Name)
			continue
		}
		if p.Named && p.Name != q.Name {
			t.Errorf("%s is called %s", q.Name, p.Name)
		}
		theirs := append([]geom.Path{*p.Cut}, p.Sew...)
		if len(theirs) != len(lines) || len(p.Notches) != len(q.Notches) || len(p.Drills) != len(q.Drills) {
			t.Errorf("%s: lines %d and %d, notches %d and %d, drills %d and %d", q.Name,
				len(theirs), len(lines), len(p.Notches), len(q.Notches), len(p.Drills), len(q.Drills))
			continue
		}
		for k := range lines {
			apart(t, q.Name, lines[k], theirs[k])
			apart(t, q.Name, theirs[k], lines[k])
		}
	}
}

func applied(paths []geom.Path, m geom.Affine) (out []geom.Path) {
	for _, p := range paths {
		out = append(out, p.Apply(m))
	}
	return out
}

func pieceAt(p *pattern.Pattern, line geom.Path) *pattern.Piece {
	for i := range p.Pieces {
		if c := p.Pieces[i].Cut; c != nil && geom.Dist(c.Bound().Center(), line.Bound().Center()) < 1 {
			return &p.Pieces[i]
		}
	}
	return nil
}

func apart(t *testing.T, name string, a, b geom.Path) {
	t.Helper()
	most := 0.0
	for i := range a.Segments() {
		p, q := a.Segment(i)
		most = max(most, b.Nearest(p).Dist, b.Nearest(geom.Lerp(p, q, 0.5)).Dist)
	}
	if most > 0.01 {
		t.Errorf("%s: the lines lie %.4f mm apart", name, most)
	}
}

// TestReaderIsChosenByContent: a file keeps its form under a wrong ending.
func TestReaderIsChosenByContent(t *testing.T) {
	for file, format := range map[string]string{"apron-mm.svg": "svg", "tool-roll.dxf": "dxf"} {
		data, err := os.ReadFile(filepath.Join(drafts, file))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{file, "x.txt", "noending", "x.svg", "x.dxf"} {
			p, err := Read(data, name, Options{})
			if err != nil || p.Format != format {
				t.Errorf("%s as %s: %v", file, name, err)
			}
		}
	}
	data, err := os.ReadFile("../../testdata/dxf/inserts-binary.dxf")
	if err != nil {
		t.Fatal(err)
	}
	if p, err := Read(data, "x", Options{}); err != nil || p.Format != "dxf" {
		t.Errorf("binary DXF: %v", err)
	}
}

// TestOtherFilesAreRefusedInPlainWords, each with at least one fault that names a way out.
func TestOtherFilesAreRefusedInPlainWords(t *testing.T) {
	for _, tc := range []struct{ name, data, says string }{
		{"a.plt", "IN;SP1;PU0,0;PD100,100;", "plot for a device"},
		{"a.txt", "IN;SP1;PU0,0;", "plot for a device"},
		{"a.gcode", "G21\nG0 X1", "plot for a device"},
		{"a.pdf", "%PDF-1.4", "page to print"},
		{"a.txt", "dear tailor", "no draft that can be read"},
		{"a.txt", "  \n", "is empty"},
		{"a.svg", "", "empty"},
		{"a.dxf", "", "empty"},
		{"a.dxf", "dear tailor\n", "group code"},
		{"a.svg", "dear tailor", ""},
	} {
		p, err := Read([]byte(tc.data), tc.name, Options{})
		if err == nil || p != nil {
			t.Errorf("%s %q is read", tc.name, tc.data)
			continue
		}
		faults := Faults(err)
		if len(faults) == 0 || faults[0].Message == "" || faults[0].Mend == "" || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s %q: %v, faults %v", tc.name, tc.data, err, faults)
		}
	}
	if Faults(nil) != nil {
		t.Error("no error has faults")
	}
	if f := Faults(errors.New("odd")); len(f) != 1 || f[0].Message != "odd" {
		t.Errorf("another error gives %v", f)
	}
}
