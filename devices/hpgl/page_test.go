package hpgl

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// longLay has lines of every kind that can meet a seam: short ones, long straight ones, one along a seam, a closed
// curve over three pages.
func longLay() []devices.Stroke {
	var ring []orb.Point
	for k := range 400 {
		a := float64(k) / 400 * 2 * math.Pi
		ring = append(ring, orb.Point{900 + 800*math.Cos(a), 200 + 150*math.Sin(a)})
	}
	return []devices.Stroke{
		pen("cut", 0, true, ring...),
		pen("cut", 1, false, orb.Point{10, 30}, orb.Point{1900, 35}),
		pen("notch", 1, false, orb.Point{560, 50}, orb.Point{580, 50}),
		pen("mark", 2, false, orb.Point{584, 60}, orb.Point{584, 390}),
		pen("mark", 2, false, orb.Point{1158, 60}, orb.Point{1158, 390}, orb.Point{1150, 390}),
		pen("cut", 3, true, orb.Point{1700, 50}, orb.Point{1990, 50}, orb.Point{1990, 380}, orb.Point{1700, 380}),
	}
}

// joined places the pages of a drawing along the plot and removes the registration crosses, which it counts.
func joined(d Drawing, step float64) (paths []geom.Path, crosses [][]orb.Point) {
	crosses = make([][]orb.Point, d.Pages)
	for _, tr := range d.Traces {
		path := tr.Path.Apply(geom.Translate(float64(tr.Page)*step, 0))
		b := path.Bound()
		w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
		if len(path.Points) == 2 && math.Abs(w+h-2*crossArm) < 0.03 && (w < 0.03 || h < 0.03) {
			crosses[tr.Page] = append(crosses[tr.Page], b.Center())
			continue
		}
		paths = append(paths, path)
	}
	return paths, crosses
}

func TestFramesAndSheets(t *testing.T) {
	for _, long := range []string{LongFrames, LongSheets} {
		for _, centred := range []bool{false, true} {
			p := sheetPlotter()
			p.Plot.Long, p.Plot.CentreOrigin = long, centred
			strokes := longLay()
			prog := mustEncode(t, strokes, p)
			d := mustRead(t, prog, p)
			if d.Pages != 4 {
				t.Fatalf("%s: %d pages for 1990 mm in steps of 574", long, d.Pages)
			}
			paths, crosses := joined(d, 574)
			nothingLost(t, strokes, paths)
			marksMeet(t, crosses)
			waits := 0
			for _, b := range prog.Blocks {
				if b.WaitForPerson != "" {
					waits++
				}
			}
			if want := map[string]int{LongFrames: 0, LongSheets: 3}[long]; waits != want {
				t.Errorf("%s: waits for a person %d times, want %d", long, waits, want)
			}
			if long == LongSheets && strings.Count(string(prog.Bytes()), "AF;") != 4 {
				t.Error("each sheet is ended")
			}
			if len(prog.Notes) == 0 || !strings.Contains(prog.Notes[0], "4 "+long) {
				t.Errorf("notes: %q", prog.Notes)
			}
			checkBlocks(t, prog, nil, p)
		}
	}
}

// nothingLost checks lengths, and that every drawn place lies on a stroke.
func nothingLost(t *testing.T, strokes []devices.Stroke, paths []geom.Path) {
	t.Helper()
	var want, got float64
	var all []geom.Path
	for _, s := range strokes {
		want += s.Path.Length()
		all = append(all, s.Path)
	}
	for _, p := range paths {
		got += p.Length()
		for _, q := range p.Points {
			best := math.Inf(1)
			for _, s := range all {
				best = math.Min(best, s.Nearest(q).Dist)
			}
			if best > 0.02 {
				t.Fatalf("%v is drawn %.3f mm off every stroke", q, best)
			}
		}
	}
	if math.Abs(got-want) > 0.001*want {
		t.Errorf("%.1f mm drawn, %.1f mm wanted", got, want)
	}
}

// marksMeet checks that each cross is drawn at the same place on both pages that share it.
func marksMeet(t *testing.T, crosses [][]orb.Point) {
	t.Helper()
	for i := 1; i < len(crosses); i++ {
		shared := 0
		for _, a := range crosses[i-1] {
			for _, b := range crosses[i] {
				if geom.Dist(a, b) < 0.05 {
					shared++
				}
			}
		}
		if shared < 4 { // two crosses of two lines each; lines of a cross share their centre
			t.Errorf("pages %d and %d share no registration crosses: %v %v", i-1, i, crosses[i-1], crosses[i])
		}
	}
}

// The device's own advance, in true mm, follows from its calibration: frames must be spaced by it and not by the
// number in the profile, or there would be a gap at every joint.
func TestFramesUnderCalibration(t *testing.T) {
	for _, scale := range []float64{0.99, 1.004} {
		p := sheetPlotter()
		p.Plot.Long = LongFrames
		p.Correction = devices.Correction{ScaleX: scale, ScaleY: 1}
		strokes := longLay()
		d := mustRead(t, mustEncode(t, strokes, p), p)
		for i, tr := range d.Traces { // what a device with an error of that scale draws
			d.Traces[i].Path = tr.Path.Apply(geom.Scale(1/scale, 1))
		}
		paths, crosses := joined(d, 574/scale)
		nothingLost(t, strokes, paths)
		marksMeet(t, crosses)
	}
	p := sheetPlotter()
	p.Plot.Long, p.Plot.FrameLength = LongFrames, 900 // 32767 units end at 819 mm
	if _, err := Encode(longLay(), p); err == nil || !strings.Contains(err.Error(), "gap") {
		t.Errorf("frames that leave a gap between them: %v", err)
	}
}

func TestOneSheetHasNoMarks(t *testing.T) {
	p := sheetPlotter()
	prog := mustEncode(t, []devices.Stroke{pen("cut", 0, true, orb.Point{1, 1}, orb.Point{590, 1}, orb.Point{590, 400})}, p)
	if d := mustRead(t, prog, p); d.Pages != 1 || len(d.Traces) != 1 || len(prog.Notes) != 0 {
		t.Errorf("%d pages, %d lines, notes %q", d.Pages, len(d.Traces), prog.Notes)
	}
}

// HP-GL/2 lays x along the longer side of the page; x must stay along the roll.
func TestRollPage(t *testing.T) {
	p := rollPlotter()
	short := mustEncode(t, []devices.Stroke{pen("cut", 0, false, orb.Point{1, 1}, orb.Point{300, 900})}, p)
	if d := mustRead(t, short, p); math.Abs(d.PageLength-914) > 0.03 || math.Abs(d.PageWidth-914) > 0.03 || len(short.Notes) != 1 {
		t.Errorf("page %.2f by %.2f mm, notes %q", d.PageLength, d.PageWidth, short.Notes)
	}
	long := mustEncode(t, []devices.Stroke{pen("cut", 0, false, orb.Point{1, 1}, orb.Point{5200, 900})}, p)
	if d := mustRead(t, long, p); math.Abs(d.PageLength-5210) > 0.03 {
		t.Errorf("page of %.2f mm for 5200 mm and an end margin of 10 mm", d.PageLength)
	}
	p.Plot.MaxCoord = 32767
	if _, err := Encode([]devices.Stroke{pen("cut", 0, false, orb.Point{1, 1}, orb.Point{820, 5})}, p); err == nil || !strings.Contains(err.Error(), "809.1 mm") {
		t.Errorf("the greatest length is 32767 units less the end margin: %v", err)
	}
}

func TestEstimates(t *testing.T) {
	tm := devices.Timing{Speed: 100, Travel: 100, Acceleration: 1000, Lift: 0.1}
	// From rest to rest over 110 mm: 0.1 s up, 0.1 s down with 5 mm each, 1 s at full speed.
	if got := tm.Move(110); math.Abs(got-1.2) > 1e-9 {
		t.Errorf("trapezoid: %.4f s, want 1.2", got)
	}
	// Over 2.5 mm the top speed is never reached: 2 sqrt(s/a).
	if got := tm.Move(2.5); math.Abs(got-0.1) > 1e-9 {
		t.Errorf("triangle: %.4f s, want 0.1", got)
	}
	straight := tm.Draw([]orb.Point{{0, 0}, {30, 0}, {70, 0}, {110, 0}}, nil)
	if got := straight[3]; math.Abs(got-1.2) > 1e-9 {
		t.Errorf("vertices along a straight line cost nothing: %.4f s, want 1.2", got)
	}
	corner := tm.Draw([]orb.Point{{0, 0}, {110, 0}, {110, 110}}, nil)[2]
	if corner < 2.3 || corner > 2.4 {
		t.Errorf("a square corner nearly stops the pen: %.4f s", corner)
	}
	prog := mustEncode(t, longLay(), rollPlotter())
	var sum float64
	for _, b := range prog.Blocks {
		sum += b.Seconds
	}
	if math.Abs(sum-prog.Seconds) > 1e-9 || prog.Seconds < prog.DrawnMM/300 || prog.Seconds > 3*prog.DrawnMM/300 {
		t.Errorf("%.1f s for %.0f mm at 300 mm/s, blocks say %.1f", prog.Seconds, prog.DrawnMM, sum)
	}
}

// TestNoSheetForNothing: two pieces that each fill a sheet are each on a sheet of its own with all their lines, also
// those in the strip that the sheets would share. No sheet is added for joining marks alone or left blank between
// them, and nothing is said about joining. A third, longer piece is named with its sheets, and only these have
// crosses.
func TestNoSheetForNothing(t *testing.T) {
	full := func(piece int, from float64) []devices.Stroke {
		return []devices.Stroke{pen("cut", piece, true, orb.Point{from, 30}, orb.Point{from + 590, 30}, orb.Point{from + 590, 300}, orb.Point{from, 300}),
			pen("notch", piece, false, orb.Point{from, 100}, orb.Point{from + 8, 100})}
	}
	strokes := append(full(0, 1), full(1, 2*574+1)...)
	p := sheetPlotter()
	p.Plot.Long = LongSheets
	prog := mustEncode(t, strokes, p)
	d := mustRead(t, prog, p)
	for i, tr := range d.Traces {
		if b := tr.Path.Bound(); math.Abs(b.Min[0]-1) > 0.03 || tr.Page != i/2 {
			t.Errorf("line %d lies on sheet %d at %v", i, tr.Page+1, b)
		}
	}
	if d.Pages != 2 || len(d.Traces) != 4 {
		t.Errorf("%d lines on %d sheets: %+v", len(d.Traces), d.Pages, d.Traces)
	}
	if !strings.Contains(prog.Notes[0], "on 2 sheets of") || !strings.Contains(prog.Notes[0], "no piece is divided") {
		t.Errorf("%q", prog.Notes)
	}
	long := pen("cut", 2, true, orb.Point{4 * 574, 30}, orb.Point{5*574 + 100, 30}, orb.Point{5*574 + 100, 90}, orb.Point{4 * 574, 90})
	long.Name = "Back"
	prog = mustEncode(t, append(strokes, long), p)
	_, crosses := joined(mustRead(t, prog, p), 574)
	if len(crosses) != 4 || len(crosses[0])+len(crosses[1]) > 0 {
		t.Fatalf("crosses on the sheets: %v", crosses)
	}
	marksMeet(t, crosses[2:])
	if said := strings.Join(prog.Notes, "; "); !strings.Contains(said, "Back is divided over sheets 3 and 4") || strings.Contains(said, "sheets 1") {
		t.Error(said)
	}
	p.Plot.Long = LongFrames
	prog = mustEncode(t, strokes, p)
	if n := strings.Count(string(prog.Bytes()), "FR;"); n != 2 {
		t.Errorf("%d advances from the first frame to the third", n)
	}
}
