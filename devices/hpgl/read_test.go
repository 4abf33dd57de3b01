package hpgl

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// drawn writes a drawing's traces as one readable line in plotter units: "1: 0,0 100,0
// 2: 5,5" (pen, places), with "~" before a closed one.
func drawn(t *testing.T, text string, opt ReadOptions) string {
	t.Helper()
	d, err := Read([]byte(text), opt)
	if err != nil {
		t.Fatalf("reading %q: %v", text, err)
	}
	var out []string
	for _, tr := range d.Traces {
		s := fmt.Sprintf("%d:", tr.Pen)
		if tr.Path.Closed {
			s = "~" + s
		}
		for _, p := range tr.Path.Points {
			s += fmt.Sprintf(" %g,%g", math.Round(p[0]/unitMM*1e4)/1e4+0, math.Round(p[1]/unitMM*1e4)/1e4+0) // + 0 turns -0 into 0
		}
		out = append(out, s)
	}
	return strings.Join(out, " | ")
}

// The rules come from the HP 7470A manual (chapters 1 to 3) and, where HP-GL/2 is named, from the
// HP PCL 5 reference (chapters 17 to 20).
func TestReadVectors(t *testing.T) {
	two := ReadOptions{Language: devices.HPGL2}
	one := ReadOptions{Language: devices.HPGL}
	for _, c := range []struct {
		name, text, want string
		opt              ReadOptions
	}{
		{"plain", "IN;SP1;PU0,0;PD100,0,100,50;PU;", "1: 0,0 100,0 100,50", one},
		{"lower case, blanks, signs as separators", "in;sp1;pu 10 20;pd+30-40,50 60", "1: 10,20 30,-40 50,60", one},
		{"next mnemonic ends an instruction", "INSP2PU1,2PD3,4PU", "2: 1,2 3,4", one},
		{"any other byte ends one", "IN#SP2#PU1,2#PD3,4#PU#", "2: 1,2 3,4", one},
		{"relative stays on", "IN;SP1;PA5,5;PR;PD10,0,0,10;PU-5,-5;PD1,1;PU;", "1: 5,5 15,5 15,15 | 1: 10,10 11,11", one},
		{"a dot", "IN;SP1;PU7,8;PD;PU;", "1: 7,8", one},
		{"closed", "IN;SP1;PU0,0;PD9,0,9,9,0,0;PU;", "~1: 0,0 9,0 9,9", one},
		{"fractions go down in HP-GL", "IN;SP1;PU0,0;PD-1.2,1.8;PU;", "1: 0,0 -2,1", one},
		{"and are rounded in HP-GL/2", "IN;SP1;PU0,0;PD-1.2,1.8;PU;", "1: 0,0 -1,2", two},
		{"pairs before an odd number are drawn", "IN;SP1;PU0,0;PD5,5,6;PU;", "1: 0,0 5,5", one},
		{"a pen change lifts", "IN;SP1;PU0,0;PD5,5;SP2;PD6,6;PU;", "1: 0,0 5,5 | 2: 5,5 6,6", one},
		{"user units of a millimetre", "IN;SP1;IP0,0,1,1;SC0,40,0,40,2;PU1,1;PD2,3.5;PU;", "1: 40,40 80,140", two},
		{"stretched user units", "IN;SP1;IP0,0,1000,500;SC0,10,0,10;PU0,0;PD10,10,5,5;PU;", "1: 0,0 1000,500 500,250", one},
		{"even user units, centred", "IN;SP1;IP0,0,1000,500;SC0,10,0,10,1;PU0,0;PD10,10;PU;", "1: 250,0 750,500", two},
		{"even user units, left", "IN;SP1;IP0,0,1000,500;SC0,10,0,10,1,0,0;PU0,0;PD10,10;PU;", "1: 0,0 500,500", two},
		{"P1 right of P2 mirrors", "IN;SP1;IP100,0,0,100;SC0,10,0,10;PU0,0;PD10,10;PU;", "1: 100,0 0,100", one},
		{"scaling ends", "IN;SP1;IP0,0,1,1;SC0,40,0,40,2;SC;PU3,3;PD4,4;PU;", "1: 3,3 4,4", two},
		{"a window cuts", "IN;SP1;IW0,0,100,100;PU-50,50;PD150,50;PU;", "1: 0,50 100,50", one},
		{"and lets lines come back", "IN;SP1;IW0,0,100,100;PU50,50;PD150,50,150,80,50,80;PU;", "1: 50,50 100,50 | 1: 100,80 50,80", one},
		{"turned by 90 with the page known", "IN;PS4000,2000;SP1;RO90;PU0,0;PD100,0;PU;", "1: 4000,0 4000,100", two},
		{"edge of a box", "IN;SP1;PU10,10;ER5,7;PU;", "~1: 10,10 15,10 15,17 10,17", two},
		{"edge of a polygon", "IN;SP1;PU0,0;PM0;PD9,0,9,9;PM2;EP;", "~1: 0,0 9,0 9,9", two},
		{"device control is taken out first", "IN;SP1;PU0,0;PD1\x1b.B0\x1b.I81;;17:,5;PU;", "1: 0,0 10,5", one},
		{"another language around", "\x1b%-12345X@PJL\r\n\x1bE\x1b%-1BIN;SP1;PU0,0;PD5,5;PU;\x1b%0A\x1bE rubbish PD9,9;", "1: 0,0 5,5", ReadOptions{}},
		{"polygon arcs in chords of 5 degrees", "IN;SP1;PU10,0;PD;AA0,0,10;PU;", "1: 10,0 9.9619,0.8716 9.8481,1.7365", two},
		{"clockwise", "IN;SP1;PU10,0;PD;AR-10,0,-90,45;PU;", "1: 10,0 7.0711,-7.0711 0,-10", two},
		{"an arc through a place", "IN;SP1;PU10,0;PD;AT0,10,-10,0,90;PU;", "1: 10,0 0,10 -10,0", two},
		{"the same, relative", "IN;SP1;PU10,0;PD;RT-10,-10,-20,0,90;PU;", "1: 10,0 0,-10 -10,0", two},
		{"through a place on the line", "IN;SP1;PU0,0;PD;AT5,5,10,10;PU;", "1: 0,0 10,10", two},
		{"a circle comes back", "IN;SP1;PU0,0;CI10,90;PD3,3;PU;", "~1: 10,0 0,10 -10,0 0,-10 | 1: 0,0 3,3", one},
		{"a circle between two lines", "IN;SP1;PU0,0;PD5,5;CI10,120;PD9,9;PU;", "1: 0,0 5,5 | ~1: 15,5 0,13.6603 0,-3.6603 | 1: 5,5 9,9", one},
		{"a circle at the end leaves no dot", "IN;SP1;PU0,0;PD5,5;CI10,120;PU;", "1: 0,0 5,5 | ~1: 15,5 0,13.6603 0,-3.6603", one},
		{"a label between two lines", "IN;SP1;PU0,0;PD5,5;LBx\x03PD9,9;PU;", "1: 0,0 5,5 | 1: 5,5 9,9", one},
		{"a polygon drawn once", "IN;SP1;PU0,0;PM0;PD9,0,9,9;PM1;PU20,20;PD30,20,30,30;PM2;EP;", "~1: 0,0 9,0 9,9 | ~1: 20,20 30,20 30,30", two},
		{"deviation instead of chord", "IN;SP1;PU10,0;CT1;PD;AA0,0,90,3;PU;", "1: 10,0 0,10", two},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := drawn(t, c.text, c.opt); got != c.want {
				t.Errorf("%q\n got %s\nwant %s", c.text, got, c.want)
			}
		})
	}
}

func TestReadFaults(t *testing.T) {
	one, two := ReadOptions{Language: devices.HPGL}, ReadOptions{Language: devices.HPGL2}
	small := ReadOptions{Language: devices.HPGL, MinCoord: -32768, MaxCoord: 32767}
	for _, c := range []struct {
		text, want string
		opt        ReadOptions
	}{
		{"IN;SP1;QX5;", "unknown instruction QX", one},
		{"IN;SP1;PU1e5;", "single letter", one},
		{"IN;SP1;PU0,0;PD1,2,3;PU;", "odd count", one},
		{"IN;SP1;PU0,0;PD32768,0;PU;", "out of the range", small},
		{"IN;SP1;PU0,0;PD0,-32769;PU;", "out of the range", small},
		{"IN;SP1;PU32767,0;PR;PD1,0;PU;", "out of the range", small},
		{"IN;SP1;LBa\nb\x03;", "do not print", one},
		{"IN;SP1;LBnever ended", "nothing ends", one},
		{"IN;SP1;PU0,0;PD5,5;PG;", "pen is down at a page change", two},
		{"IN;SP1;PU0,0;PD5,5;", "still down at the end", one},
		{"IN;PU0,0;PD5,5;PU;", "without a pen", two},
		{"IN;SP1;PU0,0;PD5,5;PU;PS400,400;", "PS after the first mark", two},
		{"IN;SP1;AA0,0;", "wrong count", one},
		{"IN;SP1;PE<=", "no semicolon", two},
		{"IN;SP1;PE\xbf;PU;", "within a pair", two},
		{"IN;SP1;PE\xbf\xbf;PU;", "plain HP-GL", one},
		{"IN;SP1;IP0,0,9,9;SC0,0,0,5;", "empty range", one},
		{"IN;\x1bZ;", "escape byte", one},
		{"IN;DT\x05;", "may not end labels", one},
		{"IN;SP1;PD;AA0,0,1000000;PU;", "more than twice", two},
		{"IN;SP1;PD;AA99999999999999,0,90;PU;", "out of range", two},
		{"IN;SP1;CI" + strings.Repeat("9", 400) + ";", "out of range", two},
	} {
		d, err := Read([]byte(c.text), c.opt)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		found := slices.ContainsFunc(d.Errors(), func(f Fault) bool { return strings.Contains(f.Text, c.want) })
		if !found {
			t.Errorf("%q: no error %q among %v", c.text, c.want, d.Events)
		}
	}
}

func TestReadRangeEnds(t *testing.T) {
	opt := ReadOptions{Language: devices.HPGL, MinCoord: -32768, MaxCoord: 32767}
	d, err := Read([]byte("IN;SP1;PU-32768,0;PD32767,0;PU;"), opt)
	if err != nil || len(d.Errors()) > 0 {
		t.Fatalf("the ends of the range are in it: %v %v", err, d.Events)
	}
}

// The place out of range is dropped and the line joins its neighbours (7470A manual, 3-6).
func TestReadDropsOutOfRange(t *testing.T) {
	opt := ReadOptions{Language: devices.HPGL, MinCoord: -32768, MaxCoord: 32767}
	if got := drawn(t, "IN;SP1;PU0,0;PD10,0,40000,5,10,10;PU;", opt); got != "1: 0,0 10,0 10,10" {
		t.Errorf("got %s", got)
	}
}

func TestReadNothing(t *testing.T) {
	for _, text := range []string{"", "\x00\x01\x02", "{\"a\": 1}", "1 2 3"} {
		if _, err := Read([]byte(text), ReadOptions{}); err == nil {
			t.Errorf("%q was read as HP-GL", text)
		}
	}
}

func TestReadPages(t *testing.T) {
	d, err := Read([]byte("IN;SP1;PU0,0;PD5,5;PU;PG;PG;PU0,0;PD6,6;PU;PG;"), ReadOptions{Language: devices.HPGL2})
	if err != nil {
		t.Fatal(err)
	}
	if d.Pages != 2 || d.Traces[0].Page != 0 || d.Traces[1].Page != 1 {
		t.Errorf("a page without marks is not turned: %d pages, traces on %d and %d", d.Pages, d.Traces[0].Page, d.Traces[1].Page)
	}
}

func TestReadLabels(t *testing.T) {
	d, err := Read([]byte("IN;SP2;PU40,80;SI0.3,0.5;DI0,1;LBBack; 1 of 2\x03PU;DT#;LBnext#PD90,90;PU;"), ReadOptions{Language: devices.HPGL2})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Labels) != 2 || d.Labels[1].Text != "next" {
		t.Fatalf("labels: %+v", d.Labels)
	}
	l := d.Labels[0]
	if l.Text != "Back; 1 of 2" || geom.Dist(l.At, orb.Point{1, 2}) > 1e-9 || l.Height != 5 || math.Abs(l.Width-3) > 1e-9 || l.AngleDeg != 90 || l.Pen != 2 {
		t.Errorf("label: %+v", l)
	}
	if len(d.Traces) != 1 {
		t.Errorf("what stands in a label must not be drawn: %d traces", len(d.Traces))
	}
}

// In HP-GL the byte after DT ends labels, a semicolon too (7470A manual, 5-6).
func TestReadSemicolonTerminator(t *testing.T) {
	d, err := Read([]byte("IN;SP1;DT;LBone;PU0,0;PD5,5;PU;"), ReadOptions{Language: devices.HPGL})
	if err != nil || len(d.Labels) != 1 || d.Labels[0].Text != "one" || len(d.Traces) != 1 {
		t.Errorf("%v %+v", err, d)
	}
}

func TestReadGuessesTheDialect(t *testing.T) {
	for text, want := range map[string]devices.Language{
		"IN;SP1;PU0,0;PD5,5;PU;":          devices.HPGL,
		"IN;SP1;LBPE in a label\x03;":     devices.HPGL,
		"IN;SP1;PE<=\xbf\xbf\xc1\xc1;PU;": devices.HPGL2,
		"\x1b%-1BIN;SP1;PU0,0;PD5,5;PU;":  devices.HPGL2,
	} {
		d, err := Read([]byte(text), ReadOptions{})
		if err != nil || d.Language != want {
			t.Errorf("%q: %s, want %s (%v)", text, d.Language, want, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"IN;SP1;PU0,0;PD5,5;PU;", "PE<=\xbf\xbf\xc1\xc1;", "\x1b.I81;;17:IN;LBx\x03", "SC0,1,0,1;AA0,0,360;CI9;PM0;PM2;EP;"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Read(data, ReadOptions{})
		if err != nil {
			return
		}
		for _, e := range d.Events {
			if e.Offset < 0 || e.Offset > len(data) {
				t.Errorf("a fault at byte %d of %d", e.Offset, len(data))
			}
		}
		for _, tr := range d.Traces {
			if len(tr.Path.Points) == 0 || tr.Page >= d.Pages {
				t.Errorf("trace without points or on page %d of %d", tr.Page, d.Pages)
			}
		}
	})
}
