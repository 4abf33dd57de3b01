package making

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
)

// exact is how far, in mm, a pattern may lie from itself once it was written and read back.
const exact = 0.01

// Every sample and every draft of the tests that can be used, written in both open forms and read back,
// is the same pattern; and what passes the checks passes them again.
func TestExportReadsBack(t *testing.T) {
	h := New(Sample())
	written, refused := 0, 0
	drafts := draftsOfTests(t)
	for name, data := range drafts {
		for _, form := range []string{".svg", ".dxf"} {
			r := Request{Source: data, Name: filepath.Base(name)}
			out, w, err := h.Export(r, form)
			if err != nil && !strings.HasSuffix(name, ".yaml") {
				r.Ticket = []byte("allowance: included\n")
				out, w, err = h.Export(r, form)
			}
			if err != nil { // what the check passes is written; the rest is counted and told with -v
				if h.Look(r).Passes() {
					t.Errorf("%s as %s passes the check and is not written: %v", name, form, err)
				}
				refused++
				t.Logf("%s as %s: %v", name, form, err)
				continue
			}
			written++
			back, err := draft.Read(out, "back"+form, draft.Options{})
			if err != nil {
				t.Errorf("%s as %s: %v", name, form, err)
				continue
			}
			for _, diff := range differences(w.Pattern, back) {
				t.Errorf("%s as %s: %s", name, form, diff)
			}
			again := h.Look(Request{Source: out, Name: "back" + form})
			for _, f := range again.Findings {
				if f.Severity == pattern.Error || f.Hold {
					t.Errorf("%s as %s, checked again: %s: %s", name, form, f.Piece, f.Message)
				}
			}
		}
	}
	t.Logf("%d files written and read back, %d refused", written, refused)
	if written < 60 {
		t.Errorf("only %d of %d files were written", written, written+refused)
	}
}

// differences tells what a pattern lost on its way; a piece may have moved as a whole, to lie
// beside others on which it lay.
func differences(want, got *pattern.Pattern) (out []string) {
	tell := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if want.Style != got.Style || len(want.Pieces) != len(got.Pieces) {
		return append(out, fmt.Sprintf("style %q with %d pieces, want %q with %d", got.Style, len(got.Pieces), want.Style, len(want.Pieces)))
	}
	for i := range want.Pieces {
		a, b := &want.Pieces[i], &got.Pieces[i]
		m := geom.Identity
		if x, y := a.Outline(), b.Outline(); x != nil && y != nil {
			move := geom.Sub(y.Bound().Center(), x.Bound().Center())
			m = geom.Translate(move[0], move[1])
		}
		for k := range i {
			if x, y := b.Outline(), got.Pieces[k].Outline(); x != nil && y != nil && x.Bound().Intersects(y.Bound()) {
				tell("%s lies on %s", b.Name, got.Pieces[k].Name)
			}
		}
		if plainWords(a.Name) != plainWords(b.Name) || a.Size != b.Size || a.Quantity != b.Quantity || a.Pair != b.Pair || a.Alike != b.Alike || a.Material != b.Material || a.Note != b.Note {
			tell("piece %q %q, %d %v %v, %q, %q; want %q %q, %d %v %v, %q, %q", b.Name, b.Size, b.Quantity, b.Pair, b.Alike, b.Material, b.Note, a.Name, a.Size, a.Quantity, a.Pair, a.Alike, a.Material, a.Note)
		}
		if (a.Cut == nil) != (b.Cut == nil) || len(a.Sew) > 0 != (len(b.Sew) > 0) {
			tell("%s: cut line %v and %d sew lines, want %v and %d", a.Name, b.Cut != nil, len(b.Sew), a.Cut != nil, len(a.Sew))
		}
		if got.Format == "dxf" && a.Cut != nil && b.Cut != nil && countCorners(a.Cut) != countCorners(b.Cut) { // SVG has them where it bends
			tell("%s: %d corners of the cut line, want %d", a.Name, countCorners(b.Cut), countCorners(a.Cut))
		}
		for _, role := range []pattern.Role{pattern.RoleCut, pattern.RoleSew, pattern.RoleCutout, pattern.RoleMark, pattern.RoleStripe, pattern.RolePlaid, pattern.RoleQuality, pattern.RoleFold, pattern.RoleGrain} {
			if d := math.Max(apart(linesOf(a, role, m), linesOf(b, role, geom.Identity)), apart(linesOf(b, role, geom.Identity), linesOf(a, role, m))); d > exact {
				tell("%s: %s lines are %.4f mm off", a.Name, role, d)
			}
		}
		if x, y := namesOfMarks(a), namesOfMarks(b); got.Format == "svg" && x != y {
			tell("%s: inner lines are called %s, want %s", a.Name, y, x)
		}
		if len(a.Notches) != len(b.Notches) || len(a.Drills) != len(b.Drills) {
			tell("%s: %d notches and %d drill marks, want %d and %d", a.Name, len(b.Notches), len(b.Drills), len(a.Notches), len(a.Drills))
			continue
		}
		for _, n := range a.Notches {
			if !slices.ContainsFunc(b.Notches, func(o pattern.Notch) bool { return sameNotch(a, n, o, m) }) {
				tell("%s: notch %+v is not among %+v", a.Name, n, b.Notches)
			}
		}
		for _, d := range a.Drills {
			if !slices.ContainsFunc(b.Drills, func(o pattern.Drill) bool {
				return geom.Dist(m.Apply(d.At), o.At) <= exact && math.Abs(d.Diameter-o.Diameter) <= exact
			}) {
				tell("%s: drill mark %+v is not among %+v", a.Name, d, b.Drills)
			}
		}
		if x, y := wordsOn(a), wordsOn(b); x != y {
			tell("%s: words %q, want %q", a.Name, y, x)
		}
	}
	return out
}

// namesOfMarks lists what the inner lines are called.
func namesOfMarks(p *pattern.Piece) string {
	var names []string
	for _, m := range p.Marks {
		if m.Role == pattern.RoleMark && m.Label != "" {
			names = append(names, m.Label)
		}
	}
	slices.Sort(names)
	return strings.Join(names, "|")
}

func countCorners(p *geom.Path) (n int) {
	for i := range p.Points {
		if p.Corner(i) {
			n++
		}
	}
	return n
}

// sameNotch compares two notches of a piece; where its cut line lies on its sew line, which of them bears
// a notch makes no difference.
func sameNotch(pc *pattern.Piece, a, b pattern.Notch, m geom.Affine) bool {
	if pc.Cut != nil && pc.Cut.Nearest(a.At).Dist < 0.5 {
		a.OnSew = b.OnSew
	}
	if a.Kind == pattern.NotchNick {
		a.Width = 0 // a nick has none
	}
	turn := math.Abs(math.Remainder(a.AngleDeg-b.AngleDeg, 360))
	return geom.Dist(m.Apply(a.At), b.At) <= exact && a.Kind == b.Kind && math.Abs(a.Depth-b.Depth) <= exact && math.Abs(a.Width-b.Width) <= exact &&
		a.AngleSaid == b.AngleSaid && (!a.AngleSaid || turn < 0.01) && a.OnSew == b.OnSew
}

func linesOf(p *pattern.Piece, role pattern.Role, m geom.Affine) (out []geom.Path) {
	add := func(path geom.Path) { out = append(out, path.Apply(m)) }
	segment := func(s *pattern.Segment) {
		if s != nil {
			add(geom.Path{Points: []orb.Point{s.A, s.B}})
		}
	}
	switch role {
	case pattern.RoleCut:
		if p.Cut != nil {
			add(*p.Cut)
		}
	case pattern.RoleSew:
		for _, s := range p.Sew {
			add(s)
		}
	case pattern.RoleCutout:
		for _, c := range p.Cutouts {
			add(c)
		}
	case pattern.RoleFold:
		segment(p.FoldLine())
	case pattern.RoleGrain:
		segment(p.Grain)
	}
	for _, mk := range p.Marks {
		if mk.Role == role {
			add(mk.Path)
		}
	}
	return out
}

// apart is how far a vertex or a middle of a stretch of some lines lies from the other lines.
func apart(a, b []geom.Path) float64 {
	if len(a) == 0 {
		return 0
	}
	if len(b) == 0 {
		return math.Inf(1)
	}
	ix, far := geom.NewIndex(b...), 0.0
	for _, l := range a {
		for i := range l.Segments() {
			u, v := l.Segment(i)
			for _, p := range []orb.Point{u, v, geom.Lerp(u, v, 0.5)} {
				_, n := ix.Nearest(p)
				far = math.Max(far, n.Dist)
			}
		}
	}
	return far
}

// plainWords leaves out what no font shows.
func plainWords(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) || r == ' ' }), " ")
}

func wordsOn(p *pattern.Piece) string {
	var words []string
	for _, l := range p.Labels {
		words = append(words, strings.Fields(plainWords(l.Text))...)
	}
	slices.Sort(words)
	return strings.Join(words, " ")
}
