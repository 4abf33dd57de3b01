package hpgl

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/needs"
)

// TestSecondReader uses a reader that was written elsewhere: Debian's general-purpose converter of HP-GL, hp2xx. It
// reads lines, plain and encoded in both bases, and writes them in hundredths of a millimetre from the lower left
// corner of all lines, the starting point of an encoded polyline included. It draws arcs in chords of its own, so arcs
// and dots are left to the tables of read_test.go.
// draws arcs in chords of its own.
func TestSecondReader(t *testing.T) {
	tool := needs.Program(t, "hp2xx", "hp2xx")
	plain, encoded, seven := sheetPlotter(), rollPlotter(), rollPlotter()
	plain.Width, plain.Length, plain.Plot.FrameLength = 620, 790, 790
	seven.Plot.SevenBit = true
	for name, p := range map[string]devices.Profile{"plain": plain, "encoded": encoded, "seven bits": seven} {
		t.Run(name, func(t *testing.T) {
			prog := mustEncode(t, garment(4), p)
			ours := mustRead(t, prog, p)
			theirs := convert(t, tool, prog.Bytes())
			if len(theirs) != len(ours.Traces) {
				t.Fatalf("%d lines by the second reader, %d by ours", len(theirs), len(ours.Traces))
			}
			low := orb.Point{math.Inf(1), math.Inf(1)}
			for _, tr := range ours.Traces {
				b := tr.Path.Bound()
				low = orb.Point{math.Min(low[0], b.Min[0]), math.Min(low[1], b.Min[1])}
			}
			if p.Plot.Encoded {
				low = orb.Point{}
			}
			for i, tr := range ours.Traces {
				pts := tr.Path.Points
				if tr.Path.Closed {
					pts = append(append([]orb.Point(nil), pts...), pts[0])
				}
				if len(theirs[i]) != len(pts) {
					t.Fatalf("line %d: %d places by the second reader, %d by ours", i, len(theirs[i]), len(pts))
				}
				for k, q := range pts {
					at := theirs[i][k]
					if math.Abs(at[0]-(q[0]-low[0])) > 0.006 || math.Abs(at[1]-(q[1]-low[1])) > 0.006 {
						t.Fatalf("line %d, place %d: %v by the second reader, %v by ours", i, k, at, q)
					}
				}
			}
		})
	}
}

var epsNumber = regexp.MustCompile(`-?[0-9]+\.[0-9]+`)

// convert runs the second reader and gives the lines it draws, mm.
func convert(t *testing.T, tool string, data []byte) [][]orb.Point {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.hpgl"), filepath.Join(dir, "out.eps")
	if err := os.WriteFile(in, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command(tool, "-q", "-m", "eps", "-t", "-f", out, in).CombinedOutput(); err != nil {
		t.Fatalf("the second reader fails: %v: %s", err, text)
	}
	eps, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	_, body, _ := strings.Cut(string(eps), "%%EndPageSetup")
	var lines [][]orb.Point
	for _, stroke := range strings.Split(body, " S\n") {
		if !strings.Contains(stroke, " D") {
			continue
		}
		nums := epsNumber.FindAllString(stroke, -1)
		var pts []orb.Point
		for k := 0; k+1 < len(nums); k += 2 {
			x, _ := strconv.ParseFloat(nums[k], 64)
			y, _ := strconv.ParseFloat(nums[k+1], 64)
			pts = append(pts, orb.Point{x, y})
		}
		lines = append(lines, pts)
	}
	return lines
}
