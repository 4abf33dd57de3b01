package making

import (
	"encoding/xml"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/sheets"
)

// TestSheetsNameEveryEdge: of sizes that lie on one another each bears its name at both ends of each edge of its cut
// line, and between them every 20 cm, as poppler reads the words from the sheets, put together by their frames.
func TestSheetsNameEveryEdge(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	var rs []Request
	for _, body := range []string{"A", "B"} {
		rs = append(rs, Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Answers: map[string]string{"body": body}})
	}
	set, _, err := m.sheetSet(t.Context(), rs, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	paper, err := sheets.ParsePaper("a3", -1)
	if err != nil {
		t.Fatal(err)
	}
	book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
	if err != nil {
		t.Fatal(err)
	}
	named := wordsOnPlane(t, book.PDF)
	edges := 0
	for _, p := range book.Placed {
		r := &set.Ready[p.Ready]
		line := r.CutLines()[0].Apply(p.Map) // on the fold it is open: the fold is no line that is cut
		var along []float64                  // where along the line its size is named
		for _, at := range named[r.Size] {
			if s, n := nearestAlong(line, at); n < 5 {
				along = append(along, s)
			}
		}
		for _, e := range edgesOf(line) {
			long := e[1] - e[0]
			if long < 60 { // both names, one behind the other, have no room
				continue
			}
			edges++
			in := []float64{}
			for _, s := range along {
				for _, s := range []float64{s, s + line.Ruler().Length()} {
					if s > e[0] && s < e[1] {
						in = append(in, s)
					}
				}
			}
			slices.Sort(in)
			if len(in) == 0 || in[0] > e[0]+20 || in[len(in)-1] < e[1]-20 {
				t.Errorf("%s, size %s: an edge of %.0f mm is named at %.0f of it", r.Name, r.Size, long, offsets(in, e[0]))
				continue
			}
			for k := 1; k < len(in); k++ {
				if in[k]-in[k-1] > 202 {
					t.Errorf("%s, size %s: an edge of %.0f mm is named at %.0f of it, with more than 20 cm between", r.Name, r.Size, long, offsets(in, e[0]))
				}
			}
		}
	}
	if edges < 40 {
		t.Errorf("%d edges", edges)
	}
}

func offsets(at []float64, from float64) []float64 {
	out := slices.Clone(at)
	for i := range out {
		out[i] -= from
	}
	return out
}

// edgesOf are the stretches of a line between its corners, where it turns by more than 20 degrees at one point.
func edgesOf(line geom.Path) (out [][2]float64) {
	n, whole := line.Segments(), line.Ruler().Length()
	var corners []float64
	for i, s := range line.Starts()[:n] {
		if i == 0 && !line.Closed {
			corners = append(corners, 0)
			continue
		}
		a, b := line.Segment((i + n - 1) % n)
		c, d := line.Segment(i)
		if geom.Dot(geom.Unit(geom.Sub(b, a)), geom.Unit(geom.Sub(d, c))) < math.Cos(math.Pi/9) {
			corners = append(corners, s)
		}
	}
	if line.Closed {
		whole += corners[0]
	}
	for i, c := range append(corners, whole)[1:] {
		out = append(out, [2]float64{corners[i], c})
	}
	return out
}

// nearestAlong is how far along a line its nearest place to a point is, and how far away.
func nearestAlong(line geom.Path, at orb.Point) (s, dist float64) {
	dist = math.Inf(1)
	for i, start := range line.Starts()[:line.Segments()] {
		a, b := line.Segment(i)
		ab := geom.Sub(b, a)
		f := math.Max(0, math.Min(1, geom.Dot(geom.Sub(at, a), ab)/math.Max(geom.Dot(ab, ab), 1e-12)))
		if d := geom.Dist(at, geom.Lerp(a, b, f)); d < dist {
			s, dist = start+f*geom.Dist(a, b), d
		}
	}
	return s, dist
}

// wordsOnPlane are the middles of all words of the sheets, on the plane on which they lie side by side.
func wordsOnPlane(t *testing.T, pdf []byte) map[string][]orb.Point {
	t.Helper()
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	var w words
	if err := xml.Unmarshal(tool(t, "pdftotext", "-bbox", file, "-"), &w); err != nil {
		t.Fatal(err)
	}
	stepX, stepY, read := readBook(t, pdf, func(p orb.Point) orb.Point { return p })
	out := map[string][]orb.Point{}
	for i, s := range read {
		to, err := s.place(stepX, stepY)
		if err != nil {
			t.Fatal(err)
		}
		page := w.Pages[i+1]
		for _, word := range page.Words {
			at := orb.Point{(word.XMin + word.XMax) / 2 * 25.4 / 72, (page.Height - (word.YMin+word.YMax)/2) * 25.4 / 72}
			out[word.Text] = append(out[word.Text], to.Apply(at))
		}
	}
	return out
}
