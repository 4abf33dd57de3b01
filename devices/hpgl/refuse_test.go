package hpgl

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
)

// The limits of 16 bits, from both sides (7470A manual, 3-6).
func TestSixteenBits(t *testing.T) {
	p := sheetPlotter()
	p.Length, p.Width, p.Plot.Long = 0, 0, LongRefuse
	at := func(units float64) []devices.Stroke {
		return []devices.Stroke{pen("cut", 0, false, orb.Point{0, 0}, orb.Point{1, units * unitMM})}
	}
	if _, err := Encode(at(32767), p); err != nil {
		t.Errorf("32767 is in the range: %v", err)
	}
	if _, err := Encode(at(32768), p); err == nil || !strings.Contains(err.Error(), `"piece 0"`) || !strings.Contains(err.Error(), "32768") {
		t.Errorf("32768 is out of range, and the piece must be named: %v", err)
	}
	p.Plot.CentreOrigin, p.Length, p.Width = true, 1638.4, 1638.4 // 32768 units from the centre in each direction
	p.Plot.MaxCoord = 32768
	low := func(units float64) []devices.Stroke {
		return []devices.Stroke{pen("cut", 0, false, orb.Point{800, 819.2 + units*unitMM}, orb.Point{800, 800})}
	}
	if _, err := Encode(low(-32768), p); err != nil {
		t.Errorf("-32768 is in the range: %v", err)
	}
	p.Plot.MaxCoord = 32769
	p.Width = 1638.45
	if _, err := Encode(low(-32769), p); err == nil {
		t.Error("-32769 is out of range and was written")
	}
}

func TestRefusals(t *testing.T) {
	nan := pen("cut", 1, false, orb.Point{math.NaN(), 1}, orb.Point{2, 2})
	far := pen("cut", 2, false, orb.Point{1, 1}, orb.Point{1e300, 2})
	low := pen("cut", 3, false, orb.Point{1, -0.02}, orb.Point{2, 2})
	wide := pen("cut", 4, false, orb.Point{1, 914.02}, orb.Point{2, 2})
	for _, s := range []devices.Stroke{nan, far, low, wide} {
		prog, err := Encode([]devices.Stroke{s}, rollPlotter())
		if err == nil {
			t.Errorf("%v was written as %q", s.Path.Points, prog.Bytes())
		}
	}
	knife := pen("cut", 5, false, orb.Point{1, 1}, orb.Point{2, 2})
	knife.Tool = devices.Knife
	if _, err := Encode([]devices.Stroke{knife}, rollPlotter()); err == nil {
		t.Error("a knife's line was written for a plotter")
	}
	_, err := Encode([]devices.Stroke{low, wide}, rollPlotter())
	if err == nil || !strings.Contains(err.Error(), "piece 3") || !strings.Contains(err.Error(), "piece 4") {
		t.Errorf("every piece is named at once: %v", err)
	}
	p := sheetPlotter()
	p.Plot.Long = LongRefuse
	_, err = Encode([]devices.Stroke{pen("cut", 0, false, orb.Point{1, 1}, orb.Point{700, 5})}, p)
	if err == nil || !strings.Contains(err.Error(), "is 594 mm") {
		t.Errorf("the greatest length is named: %v", err)
	}
	p.Plot.Long, p.Language, p.Plot.Unit = "maybe", "svg", -1
	_, err = Encode(nil, p)
	for _, want := range []string{"plot.long", "language", "plot.unit"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("every fault of the profile at once, %s as well: %v", want, err)
		}
	}
}

// A piece's name adds no instruction, and in a label only its printable bytes are sent.
func TestHostileNames(t *testing.T) {
	hostile := "a\x1b.K\x03PU0,0;PD9999,9999;\nIN;(x)?!~;\x1b%-12345X é — \x9b\x85 \x00\x05\x7f\xff"
	s := pen("cut", 0, false, orb.Point{10, 10}, orb.Point{20, 20})
	label := pen("text", 0, false, orb.Point{30, 30}, orb.Point{30, 90})
	for name, p := range profiles() {
		plain := mustEncode(t, []devices.Stroke{s}, p).Bytes()
		s2 := s
		s2.Name = hostile
		if got := mustEncode(t, []devices.Stroke{s2}, p).Bytes(); !bytes.Equal(got, plain) {
			t.Errorf("%s: a name changed the bytes: %q", name, got)
		}
		p.Plot.Labels, p.Plot.Escapes = "text", false
		label.Label = &devices.Label{Text: hostile, Height: 6}
		d := mustRead(t, mustEncode(t, []devices.Stroke{label, s}, p), p)
		if len(d.Traces) != 1 || len(d.Labels) != 1 {
			t.Fatalf("%s: %d lines and %d labels", name, len(d.Traces), len(d.Labels))
		}
		want := "a?.K?PU0,0;PD9999,9999;?IN;(x)?!~;?%-12345X ? ? ?? ????"
		if l := d.Labels[0]; l.Text != want || math.Abs(l.AngleDeg-90) > 0.01 || math.Abs(l.Height-6) > 1e-9 {
			t.Errorf("%s: label %+v", name, l)
		}
	}
}

func TestAbort(t *testing.T) {
	s := []devices.Stroke{pen("cut", 0, false, orb.Point{10, 10}, orb.Point{20, 20})}
	p := rollPlotter()
	if got := string(mustEncode(t, s, p).Abort); got != "\x03;PU;SP0;" {
		t.Errorf("without serial control: %q", got)
	}
	p.Plot.SerialControl = true
	if got := string(mustEncode(t, s, p).Abort); got != "\x1b.J\x1b.K\x03;PU;SP0;" {
		t.Errorf("with serial control: %q", got)
	}
	p.Plot.SerialControl = false
	prog := mustEncode(t, s, p)
	for cut := range prog.Bytes() { // after each byte, also inside an instruction
		d, err := Read(append(append([]byte(nil), prog.Bytes()[:cut]...), prog.Abort...), OptionsFor(p))
		if err != nil {
			continue
		}
		for _, f := range d.Events {
			if strings.Contains(f.Text, "still down") {
				t.Fatalf("aborted after %d bytes the pen stays down", cut)
			}
		}
	}
}
