package svg

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// smallLimits keep one input of a fuzz run cheap.
var smallLimits = Limits{Bytes: 1 << 16, Elements: 2000, Depth: 32, Uses: 200, Segments: 5000, Points: 100_000}

// FuzzRead holds what must be true of every draft that was read: no point is lost to infinity,
// closed lines enclose something, and pieces are named.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"apron-mm.svg", "yoke-px.svg"} {
		data, err := os.ReadFile(filepath.Join(drafts(f), name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "")
	}
	for _, s := range []string{
		`<path class="cut" d="M0 0h90a9 9 0 0120 20C1 2 3 4 5 6s1-1 2-2q3 3 4 4t5 5Z"/>`,
		`<symbol id="s" viewBox="0 0 9 9"><circle class="drill" r="3mm"/></symbol><use href="#s" width="50%"/>`,
		`<style>.cut>a rect{display:none!important}</style><g data-piece="A" data-size="8"><rect class="cut" rx="3" width="9" height="9"/></g>`,
		`<g transform="matrix(1 2 3 4 5 6) skewX(9)"><line class="notch" x2="5"/><text x="3">PIECE NAME: Q</text></g>`,
		`<svg x="5" viewBox="1 1 8 9" preserveAspectRatio="xMaxYMin slice"><ellipse class="sew" rx="30" ry="20"/></svg>`,
	} {
		f.Add([]byte(mm(s)), "mm")
	}
	f.Fuzz(func(t *testing.T, data []byte, unit string) {
		p, err := Read(data, "f.svg", Options{Unit: unit, Limits: smallLimits})
		if err != nil {
			var e *assemble.Unreadable
			if !errors.As(err, &e) || e.Text == "" {
				t.Fatalf("an error of another kind: %v", err)
			}
			return
		}
		for i := range p.Pieces {
			soundPiece(t, &p.Pieces[i])
		}
		for _, fd := range p.Findings {
			if _, _, ok := pattern.RuleNamed(fd.Rule); !ok || fd.Message == "" || fd.Index >= len(p.Pieces) {
				t.Fatalf("finding %+v", fd)
			}
		}
	})
}

func soundPiece(t *testing.T, p *pattern.Piece) {
	if p.Name == "" {
		t.Fatal("a piece without a name")
	}
	var lines []geom.Path
	if p.Cut != nil {
		lines = append(lines, *p.Cut)
	}
	lines = append(append(lines, p.Sew...), p.Cutouts...)
	for _, m := range p.Marks {
		lines = append(lines, m.Path)
	}
	for _, l := range lines {
		if l.Closed && len(l.Points) < 3 {
			t.Fatalf("a closed line of %d points", len(l.Points))
		}
		if l.Corners != nil && len(l.Corners) != len(l.Points) {
			t.Fatalf("%d corners for %d points", len(l.Corners), len(l.Points))
		}
		for _, q := range l.Points {
			if !(math.Abs(q[0]) <= maxCoord && math.Abs(q[1]) <= maxCoord) {
				t.Fatalf("a point at %v", q)
			}
		}
	}
	for _, n := range p.Notches {
		if s := n.At[0] + n.At[1] + n.Depth + n.Width + n.AngleDeg; math.IsNaN(s) || math.IsInf(s, 0) || n.Kind == "" {
			t.Fatalf("notch %+v", n)
		}
	}
	for _, d := range p.Drills {
		if s := d.At[0] + d.At[1] + d.Diameter; math.IsNaN(s) || math.IsInf(s, 0) {
			t.Fatalf("drill %+v", d)
		}
	}
}
