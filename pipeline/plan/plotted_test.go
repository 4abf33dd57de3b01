package plan_test

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/plan"
)

// kinds are lines of 400 mm and their dashes: drawn, empty, drawn ... in mm. The numbers are common practice
// of pattern drawing (a sew line dashed, a centre line dash and dot, a pleat's fold dash and two dots), and
// stand here apart from the table that the program draws by.
var kinds = []struct {
	role  pattern.Role
	label string
	dash  []float64
}{
	{pattern.RoleCutout, "", nil},
	{pattern.RoleSew, "", []float64{9, 4}},
	{pattern.RoleFold, "", []float64{14, 4, 3, 4}},
	{pattern.RoleMark, "outer fold", []float64{14, 3, 2, 3, 2, 3}},
	{pattern.RoleMark, "placement", []float64{4, 3}},
	{pattern.RoleMark, "dart leg", []float64{9, 4}},
	{pattern.RoleGrain, "", nil},
	{pattern.RoleMark, "pocket line", []float64{6, 3}},
}

const step = 20.0 // mm between two lines

// dashedPlot are the bytes of a plot of all kinds, each a line along x, followed by a fold and a slit that touch end
// to end.
func dashedPlot(t *testing.T, p devices.Profile) []byte {
	t.Helper()
	line := func(x0, x1, y float64) geom.Path {
		return geom.Path{Points: []orb.Point{{x0, y}, {x1, y}}}
	}
	r := pattern.Ready{Name: "kinds", Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {440, 0}, {440, 200}, {0, 200}}}}
	for i, k := range kinds {
		r.Lines = append(r.Lines, pattern.Line{Role: k.role, Label: k.label, Path: line(20, 420, step*float64(i+1))})
	}
	r.Lines = append(r.Lines, pattern.Line{Role: pattern.RoleMark, Label: "slit", Path: line(20, 120, 185)},
		pattern.Line{Role: pattern.RoleFold, Path: line(120, 420, 185)})
	lay := pattern.Lay{Material: pattern.Material{Width: 900}, LengthUsed: 440, Placements: []pattern.Placement{{Map: geom.Identity}}}
	strokes, _ := plan.Strokes([]pattern.Ready{r}, lay, p, plan.Options{Square: -1})
	prog, err := hpgl.Encode(strokes, p)
	if err != nil {
		t.Fatal(err)
	}
	return prog.Bytes()
}

// readers read the drawn lines back from the bytes in two ways: with the project's own reader, which shares no code
// with the writer, and with Debian's general-purpose converter of HP-GL, hp2xx.
func readers(t *testing.T, data []byte, p devices.Profile) map[string][][]orb.Point {
	t.Helper()
	d, err := hpgl.Read(data, hpgl.OptionsFor(p))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][][]orb.Point{}
	for _, tr := range d.Traces {
		out["own reader"] = append(out["own reader"], tr.Path.Points)
	}
	tool, err := exec.LookPath("hp2xx")
	if err != nil {
		t.Log("Debian's hp2xx is not installed: read by the project's own reader alone")
		return out
	}
	in, eps := filepath.Join(t.TempDir(), "in.hpgl"), filepath.Join(t.TempDir(), "out.eps")
	if err := os.WriteFile(in, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command(tool, "-q", "-m", "eps", "-t", "-f", eps, in).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	drawn, err := os.ReadFile(eps)
	if err != nil {
		t.Fatal(err)
	}
	_, body, _ := strings.Cut(string(drawn), "%%EndPageSetup")
	number := regexp.MustCompile(`-?[0-9]+\.[0-9]+`)
	for _, stroke := range strings.Split(body, " S\n") {
		nums := number.FindAllString(stroke, -1)
		if !strings.Contains(stroke, " D") {
			continue
		}
		var pts []orb.Point
		for k := 0; k+1 < len(nums); k += 2 {
			x, _ := strconv.ParseFloat(nums[k], 64)
			y, _ := strconv.ParseFloat(nums[k+1], 64)
			pts = append(pts, orb.Point{x, y})
		}
		out["hp2xx"] = append(out["hp2xx"], pts)
	}
	return out
}

// level are the drawn stretches of the line at a height, from left to right. Frames count y from either edge, so the
// outline's lower edge is taken as zero; across are bars that cross the line.
func level(lines [][]orb.Point, y float64) (on [][2]float64) {
	for _, pts := range lines {
		lo, hi := math.Inf(1), math.Inf(-1)
		flat := true
		for _, q := range pts {
			lo, hi = math.Min(lo, q[0]), math.Max(hi, q[0])
			flat = flat && math.Abs(q[1]-y) < 0.1
		}
		if flat && hi-lo > 0.1 {
			on = append(on, [2]float64{lo, hi})
		}
	}
	sort.Slice(on, func(i, j int) bool { return on[i][0] < on[j][0] })
	return on
}

// TestPlottedDashes: lines that are not cut are drawn with the dashes and gaps of their kind, read back from the
// bytes; a slit that ends where a centre line begins is a stroke of its own.
func TestPlottedDashes(t *testing.T) {
	wide, sheets := devices.Default(devices.PenPlotter, devices.HPGL2), devices.Default(devices.PenPlotter, devices.HPGL)
	wide.Width = 914
	sheets.Width, sheets.Length = 620, 790
	sheets.Plot.Long, sheets.Plot.FrameLength, sheets.Plot.FrameOverlap = hpgl.LongSheets, 790, 20
	for name, p := range map[string]devices.Profile{"roll": wide, "sheets": sheets} {
		for reader, lines := range readers(t, dashedPlot(t, p), p) {
			for i, k := range kinds {
				on := level(lines, step*float64(i+1))
				what := fmt.Sprintf("%s, %s, %s %s", name, reader, k.role, k.label)
				if len(k.dash) == 0 {
					if len(on) != 1 || math.Abs(on[0][1]-on[0][0]-400) > 0.1 {
						t.Errorf("%s is not whole: %v", what, on)
					}
					continue
				}
				if len(on) < 2 || math.Abs(on[len(on)-1][1]-on[0][0]-400) > 0.1 {
					t.Errorf("%s is drawn as %v", what, on)
					continue
				}
				// All dashes of a line may be stretched or shrunk alike, so that it ends with a dash.
				for j, s := range on {
					want := k.dash[2*j%len(k.dash)]
					if got := s[1] - s[0]; math.Abs(got-want) > 0.04*want+0.06 {
						t.Errorf("%s: dash %d is %.2f mm, want %v", what, j, got, want)
						break
					}
					if j+1 == len(on) {
						break
					}
					gap := k.dash[(2*j+1)%len(k.dash)]
					if got := on[j+1][0] - s[1]; math.Abs(got-gap) > 0.04*gap+0.06 {
						t.Errorf("%s: gap %d is %.2f mm, want %v", what, j, got, gap)
						break
					}
				}
			}
			slit := level(lines, 185)
			if len(slit) < 10 || math.Abs(slit[0][1]-slit[0][0]-100) > 0.1 {
				t.Errorf("%s, %s: the slit of 100 mm is drawn as %v", name, reader, slit)
			}
		}
	}
}
