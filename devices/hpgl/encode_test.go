package hpgl

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/devices"
	"tracewheel/geom"
)

func pen(role string, piece int, closed bool, pts ...orb.Point) devices.Stroke {
	return devices.Stroke{Tool: devices.Pen, Role: role, Piece: piece, Name: fmt.Sprint("piece ", piece),
		Path: geom.Path{Points: pts, Closed: closed}}
}

func mustEncode(t testing.TB, strokes []devices.Stroke, p devices.Profile) devices.Program {
	t.Helper()
	prog, err := Encode(strokes, p)
	if err != nil {
		t.Fatalf("encoding: %v", err)
	}
	return prog
}

func mustRead(t testing.TB, prog devices.Program, p devices.Profile) Drawing {
	t.Helper()
	d, err := Read(prog.Bytes(), OptionsFor(p))
	if err != nil {
		t.Fatalf("reading back: %v", err)
	}
	for _, f := range d.Events {
		t.Fatalf("reading back: byte %d: %s: %s", f.Offset, f.Severity, f.Text)
	}
	return d
}

// The values are those of the HP PCL 5 reference, 20-34 to 20-41, and of an independent decoder. The
// manual's example says 82.83 x 2^7 = 10 525.42; it is 10 602.24, and its digits are right for 10 525.
func TestEncodedNumbers(t *testing.T) {
	for _, c := range []struct {
		v           int
		eight, five []byte
	}{
		{0, []byte{191}, []byte{95}},
		{1, []byte{193}, []byte{97}},
		{-1, []byte{194}, []byte{98}},
		{31, []byte{253}, []byte{93, 96}},
		{32, []byte{63, 192}, []byte{63, 97}},
		{-32, []byte{64, 192}, []byte{64, 97}},
		{300, []byte{87, 200}, []byte{87, 113}},
		{-300, []byte{88, 200}, []byte{88, 113}},
		{400, []byte{95, 203}, []byte{63, 120}},
		{-400, []byte{96, 203}, []byte{64, 120}},
		{1000, []byte{79, 222}, []byte{79, 93, 96}},
		{2000, []byte{95, 253}, []byte{63, 92, 98}},
		{10525, []byte{121, 71, 196}, []byte{89, 80, 115}},
		{32767, []byte{125, 126, 206}, []byte{93, 94, 94, 96}},
		{-100000, []byte{64, 116, 239}, []byte{64, 73, 66, 101}},
	} {
		if got := appendNumber(nil, c.v, false); !bytes.Equal(got, c.eight) {
			t.Errorf("%d in base 64: %v, want %v", c.v, got, c.eight)
		}
		if got := appendNumber(nil, c.v, true); !bytes.Equal(got, c.five) {
			t.Errorf("%d in base 32: %v, want %v", c.v, got, c.five)
		}
	}
}

// The worked polyline: move to 1000,2000; draw +400,0; +0,+300; -400,-300 (values as above).
func TestWorkedPolyline(t *testing.T) {
	s := []devices.Stroke{pen("cut", 0, false, orb.Point{25, 50}, orb.Point{35, 50}, orb.Point{35, 57.5}, orb.Point{25, 50})}
	for _, c := range []struct {
		seven bool
		want  string
	}{
		{false, "PE<=\x4f\xde\x5f\xfd\x5f\xcb\xbf\xbf\x57\xc8\x60\xcb\x58\xc8;"},
		{true, "PE7<=O]`?\\b?x__Wq@xXq;"},
	} {
		p := rollPlotter()
		p.Plot.SevenBit = c.seven
		if got := mustEncode(t, s, p).Bytes(); !bytes.Contains(got, []byte(c.want)) {
			t.Errorf("seven bits %v: %q does not hold %q", c.seven, got, c.want)
		}
		got := drawn(t, "IN;SP1;"+c.want+"PU;", ReadOptions{})
		if got != "~1: 1000,2000 1400,2000 1400,2300" {
			t.Errorf("seven bits %v: read as %s", c.seven, got)
		}
	}
}

// Fraction bits: 3 of them, move to 10.5,2.125, draw -0.5,+8 (computed by the independent decoder).
func TestReadFractionBits(t *testing.T) {
	body := "IN;SP1;PE>" + string([]byte{197}) + "<=" + string([]byte{103, 193, 225, 200, 63, 193}) + ";PU;"
	if got := drawn(t, body, ReadOptions{}); got != "1: 10.5,2.125 10,10.125" {
		t.Errorf("got %s", got)
	}
	// 7 bits are written as ">" 205, -2 bits as ">" 196.
	if !bytes.Equal(appendNumber(nil, 7, false), []byte{205}) || !bytes.Equal(appendNumber(nil, -2, false), []byte{196}) {
		t.Error("the values of the fraction flag")
	}
}

// What is ignored within a polyline: blanks, DEL, control codes, 128 to 160 and 255 (reference 20-34).
func TestReadIgnoresFillers(t *testing.T) {
	if got := drawn(t, "IN;SP1;PE<= \x03\x7f\x80\xa0\xff\xbf\r\n\xbf\xc1\xc1;PU;", ReadOptions{Language: devices.HPGL2}); got != "1: 0,0 1,1" {
		t.Errorf("got %s", got)
	}
}

// Every whole number comes back from both bases; the reader shares no code with the writer.
func TestNumbersComeBack(t *testing.T) {
	for _, seven := range []bool{false, true} {
		for v := -200000; v <= 200000; v += 1 {
			b := appendNumber(nil, v, seven)
			if len(b) != numberLen(v, seven) {
				t.Fatalf("%d: %d bytes, foretold %d", v, len(b), numberLen(v, seven))
			}
			d := decoder{base: 64}
			if seven {
				d.base = 32
			}
			var n, shift uint64
			for i, c := range b {
				digit, last, ok := d.digit(c)
				if !ok || last != (i == len(b)-1) {
					t.Fatalf("%d: byte %d of %v", v, i, b)
				}
				n |= uint64(digit) << shift
				shift += uint64(d.bits())
			}
			got := int(n >> 1)
			if n&1 == 1 {
				got = -got
			}
			if got != v {
				t.Fatalf("%d came back as %d", v, got)
			}
		}
	}
}

func TestPlainProgram(t *testing.T) {
	s := []devices.Stroke{
		pen("cut", 0, true, orb.Point{10, 10}, orb.Point{20, 10}, orb.Point{20, 30}),
		pen("text", 0, false, orb.Point{1, 1}, orb.Point{1.004, 1.004}),
	}
	p := sheetPlotter()
	p.Pen.ByRole = map[string]int{"text": 2}
	p.Pen.Each = map[int]devices.PenSetting{2: {Speed: 150, Force: 3}}
	p.Plot.SendForce, p.Plot.SendAcceleration = true, true
	got := string(mustEncode(t, s, p).Bytes())
	want := "IN;PU;SP1;VS30;AS1;PU400,400;PD800,400,800,1200,400,400;PU;" +
		"PU;SP2;VS15;FS3;AS1;PU40,40;PD;PU;PU;SP0;AF;"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// oneToOne checks that each stroke comes back as one trace, in order, each vertex within half a unit on each axis.
func oneToOne(t reporter, strokes []devices.Stroke, d Drawing, p devices.Profile) {
	t.Helper()
	half := p.Plot.Unit/2 + 1e-9
	c := p.Correction
	if c.IsZero() {
		c = devices.Correction{ScaleX: 1, ScaleY: 1}
	}
	if len(d.Traces) != len(strokes) {
		t.Fatalf("%d strokes came back as %d traces", len(strokes), len(d.Traces))
	}
	for i, s := range strokes {
		pts := s.Path.Points
		if s.Path.Closed {
			pts = append(append([]orb.Point(nil), pts...), pts[0])
		}
		back := d.Traces[i].Path.Points
		if d.Traces[i].Path.Closed {
			back = append(append([]orb.Point(nil), back...), back[0])
		}
		at := []int{-1} // indexes in the result that may be the last place: one halfway between two units is near both
		for _, q := range pts {
			q = orb.Point{c.ScaleX*q[0] + c.Skew*q[1], c.ScaleY * q[1]}
			var next []int
			for j := max(at[0], 0); j <= min(at[len(at)-1]+1, len(back)-1); j++ {
				reached := slices.Contains(at, j) || slices.Contains(at, j-1)
				if reached && math.Abs(back[j][0]-q[0]) <= half && math.Abs(back[j][1]-q[1]) <= half {
					next = append(next, j)
				}
			}
			if len(next) == 0 {
				t.Fatalf("stroke %d: place %v is not where it was meant: %v", i, q, back[max(at[0], 0):min(len(back), at[len(at)-1]+2)])
			}
			at = next
		}
		if last := at[len(at)-1]; last != len(back)-1 {
			t.Fatalf("stroke %d: %d places too many", i, len(back)-1-last)
		}
	}
}

func TestReadBackWithinHalfAUnit(t *testing.T) {
	for name, p := range profiles() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				strokes := drawStrokes(rt)
				prog, err := Encode(strokes, p)
				if err != nil {
					rt.Fatalf("encoding: %v", err)
				}
				again, _ := Encode(strokes, p)
				if !bytes.Equal(prog.Bytes(), again.Bytes()) {
					rt.Fatal("the same input gave other bytes")
				}
				d, err := Read(prog.Bytes(), OptionsFor(p))
				if err != nil || len(d.Events) > 0 {
					rt.Fatalf("reading back: %v %v", err, d.Events)
				}
				oneToOne(rt, strokes, d, p)
				checkBlocks(rt, prog, strokes, p)
			})
		})
	}
}

// reporter is what the checks use of a test, random or not.
type reporter interface {
	Helper()
	Fatalf(format string, args ...any)
}

// drawStrokes makes strokes with step lengths from far below a unit to hundreds of mm.
func drawStrokes(rt *rapid.T) []devices.Stroke {
	n := rapid.IntRange(1, 12).Draw(rt, "strokes")
	var out []devices.Stroke
	for i := range n {
		x, y := rapid.Float64Range(5, 575).Draw(rt, "x"), rapid.Float64Range(5, 400).Draw(rt, "y")
		pts := []orb.Point{{x, y}}
		for range rapid.IntRange(0, 60).Draw(rt, "more") {
			step := math.Pow(10, rapid.Float64Range(-3, 2.3).Draw(rt, "log step"))
			turn := rapid.Float64Range(0, 2*math.Pi).Draw(rt, "turn")
			x = min(max(x+step*math.Cos(turn), 5), 575)
			y = min(max(y+step*math.Sin(turn), 5), 400)
			pts = append(pts, orb.Point{x, y})
		}
		out = append(out, pen("cut", i/3, rapid.Bool().Draw(rt, "closed"), pts...))
	}
	return out
}

// checkBlocks checks what blocks promise: no instruction longer than the device takes, totals that agree (lengths of
// strokes only where strokes is not nil), and strokes that end once.
func checkBlocks(t reporter, prog devices.Program, strokes []devices.Stroke, p devices.Profile) {
	t.Helper()
	ended := map[int]int{}
	var mm float64
	for i, b := range prog.Blocks {
		if p.Plot.Encoded || !bytes.Contains(b.Bytes, []byte("LB")) {
			for _, in := range bytes.SplitAfter(b.Bytes, []byte(";")) {
				if len(in) > p.Plot.InstructionBytes {
					t.Fatalf("block %d: an instruction of %d bytes", i, len(in))
				}
			}
		}
		if !bytes.HasSuffix(b.Bytes, []byte(";")) && !p.Plot.Escapes {
			t.Fatalf("block %d ends within an instruction: %q", i, b.Bytes)
		}
		if b.EndsStroke {
			ended[b.Stroke]++
			if b.Down {
				t.Fatalf("block %d ends a stroke with the pen down", i)
			}
		}
		mm += b.DrawnMM
	}
	var want float64
	for _, s := range strokes {
		want += s.Path.Length()
	}
	if strokes != nil && math.Abs(mm-want) > 1e-6*max(1, want) || math.Abs(prog.DrawnMM-mm) > 1e-6 {
		t.Fatalf("%.6f mm in blocks, %.6f mm in strokes, %.6f in the sum", mm, want, prog.DrawnMM)
	}
	for i, n := range ended {
		if n != 1 {
			t.Fatalf("stroke %d ended %d times", i, n)
		}
	}
}

func TestGoesOnAnywhere(t *testing.T) {
	var strokes []devices.Stroke
	for i := range 12 {
		var pts []orb.Point
		for k := range 5 + 40*i {
			pts = append(pts, orb.Point{100 + 50*math.Cos(float64(k)/7) + float64(i), 100 + 40*math.Sin(float64(k)/9)})
		}
		strokes = append(strokes, pen([]string{"cut", "text"}[i%2], i/3, false, pts...))
	}
	for name, p := range profiles() {
		p.Pen.ByRole = map[string]int{"text": 3}
		p.Plot.Escapes = false
		prog := mustEncode(t, strokes, p)
		whole := mustRead(t, prog, p)
		for b := range prog.Blocks {
			rest, at := prog.From(b)
			if at > b {
				t.Fatalf("%s: going on at block %d starts at %d, which leaves something out", name, b, at)
			}
			d, err := Read(rest.Bytes(), OptionsFor(p))
			if err != nil || len(d.Events) > 0 {
				t.Fatalf("%s: going on at block %d: %v %v", name, b, err, d.Events)
			}
			tail := whole.Traces[len(whole.Traces)-len(d.Traces):]
			for i := range tail {
				if fmt.Sprint(tail[i]) != fmt.Sprint(d.Traces[i]) {
					t.Fatalf("%s: going on at block %d draws %v instead of %v", name, b, d.Traces[i], tail[i])
				}
			}
			left := 0
			for _, blk := range prog.Blocks[b:] {
				if blk.EndsStroke {
					left++
				}
			}
			if len(d.Traces) < left {
				t.Fatalf("%s: going on at block %d draws %d strokes, %d were left", name, b, len(d.Traces), left)
			}
		}
	}
}
