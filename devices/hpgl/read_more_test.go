package hpgl

import (
	"math"
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Instructions that are common in plots and change no line (PCL 5 reference, chapters 22 and 23): line attributes, the
// alternate font, pixel placement, a user-defined fill.
func TestCommonInstructionsAreNoErrors(t *testing.T) {
	d, err := Read([]byte("IN;SP1;LA1,4,2,4;AD1,277;PP1;UF4,2,1,2;PU0,0;PD400,0;PU;"), ReadOptions{Language: devices.HPGL2})
	if err != nil || len(d.Errors()) > 0 || len(d.Traces) != 1 {
		t.Errorf("%v: %+v", err, d)
	}
}

// The quarter circle of a cubic with handles of 4/3 (sqrt 2 - 1) leaves the circle by at most 0.03 %
// (textbook), absolute and relative.
func TestBezierCurves(t *testing.T) {
	for _, text := range []string{
		"IN;SP1;PU10000,0;PD;BZ10000,5523,5523,10000,0,10000;PU;",
		"IN;SP1;PU10000,0;PD;BR0,5523,-4477,10000,-10000,10000;PU;",
		"IN;SP1;PU0,10000;PD;BR5523,0,10000,-4477,10000,-10000,0,-5523,-4477,-10000,-10000,-10000;PU;",
	} {
		d, err := Read([]byte(text), ReadOptions{})
		if err != nil || len(d.Errors()) > 0 || len(d.Traces) != 1 || d.Language != devices.HPGL2 {
			t.Fatalf("%s: %v %+v", text, err, d)
		}
		path := d.Traces[0].Path
		for i, p := range path.Points {
			if r := math.Hypot(p[0], p[1]); math.Abs(r-250) > 0.09 {
				t.Errorf("%s: point %d is %.3f mm from the middle, want 250", text, i, r)
			}
		}
		if turns := path.Length() / (math.Pi * 125); math.Abs(turns-math.Round(turns)) > 2e-3 || turns < 0.5 {
			t.Errorf("%s: length %.1f mm", text, path.Length())
		}
	}
	if d, _ := Read([]byte("IN;SP1;PD;BZ1,2,3,4;PU;"), ReadOptions{}); len(d.Errors()) == 0 {
		t.Error("four numbers are no curve")
	}
}

// A plot of sixty thousand tiny circles needs no more places than a device could tell apart.
func TestTinyCirclesAreBounded(t *testing.T) {
	d, err := Read([]byte("IN;SP1;"+strings.Repeat("CI1,.5;", 60_000)), ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	points := 0
	for _, tr := range d.Traces {
		points += len(tr.Path.Points)
	}
	if len(d.Traces) != 60_000 || points > 60_000*10 {
		t.Errorf("%d traces of %d points", len(d.Traces), points)
	}
	d, _ = Read([]byte("IN;SP1;PU500,500;CI400,.5;"), ReadOptions{})
	if r := geom.Dist(d.Traces[0].Path.Points[100], d.Traces[0].Path.Points[460]) / 2; len(d.Traces[0].Path.Points) != 720 || math.Abs(r-10) > 1e-6 {
		t.Errorf("a large circle has %d points, radius %.3f", len(d.Traces[0].Path.Points), r)
	}
}

// The work is bounded by the length of the file: circles with the finest chords, and a polygon drawn repeatedly, end
// with a fault before the memory is full.
func TestWorkIsBoundedByTheFile(t *testing.T) {
	for _, text := range []string{
		"IN;SP1;PD;" + strings.Repeat("CI9999,.5;", 20_000),
		"IN;SP1;PM0;" + strings.Repeat("PD1,1,2,9;", 2_000) + "PM2;" + strings.Repeat("EP;", 20_000),
		"IN;SP1;PM0;" + strings.Repeat("PM1;", 2_000) + "PM2;" + strings.Repeat("EP;", 20_000),
		"IN;SP1;PD;" + strings.Repeat("BZ0,9999,9999,9999,9999,0,9999,9999,0,9999,0,0;", 10_000),
	} {
		d, err := Read([]byte(text), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		points := 0
		for _, tr := range d.Traces {
			points += len(tr.Path.Points)
		}
		if points > 200_000+3*len(text) {
			t.Errorf("%.20s: %d points of %d bytes", text, points, len(text))
		}
		if e := d.Errors(); len(e) == 0 || !strings.Contains(e[0].Text, "too many for a file of this size") {
			t.Errorf("%.20s: %v", text, e)
		}
	}
}

// No bytes make the reader panic or exceed its bounds.
func FuzzReadBytes(f *testing.F) {
	for _, s := range []string{"IN;SP1;PU0,0;PD1,1;PU;", "CI1,.5;", "BZ1,2,3,4,5,6;", "PM0;PD1,1;PM2;EP;", "SC0,1,0,1;IW0,0,5,5;PD9,9;", "LBx\x03", "PE<=>;", "RO90;AA0,0,720,.1;"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, _ := Read(data, ReadOptions{})
		n := 0
		for _, tr := range d.Traces {
			n += len(tr.Path.Points)
		}
		if n > 2*mostPlaces(len(data))+len(data) || len(d.Events) > maxEvents+1 {
			t.Errorf("%d points, %d events", n, len(d.Events))
		}
	})
}
