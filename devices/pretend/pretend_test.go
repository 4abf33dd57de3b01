package pretend

import (
	"errors"
	"regexp"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"

	"tracewheel/devices"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// talk sends text and gives what comes back within a second.
func talk(t *testing.T, l *Line, text string) string {
	t.Helper()
	for p := []byte(text); len(p) > 0; {
		n, err := l.Write(p, time.Second)
		if err != nil {
			t.Fatal(err)
		}
		p = p[n:]
	}
	var out []byte
	buf := make([]byte, 256)
	for end := time.Now().Add(time.Second); time.Now().Before(end); {
		n, err := l.Read(buf, time.Until(end))
		out = append(out, buf[:n]...)
		if err != nil {
			break
		}
	}
	return string(out)
}

// Device control and output instructions answer as the HP 7470A Interfacing and Programming Manual
// (07470-90001) has it, chapters 7 and 10: the first at once, the second in their turn.
func TestPlotterAnswers(t *testing.T) {
	for _, c := range []struct{ send, want string }{
		{"\x1b.B", "255\r"}, {"\x1b.L", "255\r"}, {"\x1b.O", "8\r"}, {"\x1b.E", "0\r"}, {"\x1b.?\x1b.E", "11\r"},
		{"OI;", "7470A\r"}, {"OE;", "0\r"}, {"XYZ;OE;OE;", "1\r0\r"}, {"OS;OS;", "24\r16\r"}, {"PD;OS;", "25\r"},
		{"PDPUOS;", "24\r"}, {"XY;XYZ;OS;", "56\r"}, {"LBOE;\x03OE;", "0\r"}, {"\x05", "\x06"},
		{"\x1b.I81;;17:\x1b.N;19:\x1b.E", "0\r"}, {"PD1,1\x1b.K;OE;OS;", "0\r24\r"},
		{"PE<=\xde\xfd\xcb\xbf;OS;", "25\r"}, {"PE<\xbf\xbf;OS;", "24\r"}, {"PE7<aaaa;OS;", "25\r"},
	} {
		synctest.Test(t, func(t *testing.T) {
			host, end := NewLine(LineOptions{Baud: 9600})
			p := NewPlotter(end, PlotterOptions{Model: "7470A", Buffer: 255, Rate: 500})
			defer p.Close()
			if got := talk(t, host, c.send); got != c.want {
				t.Errorf("%q is answered %q, not %q", c.send, got, c.want)
			}
		})
	}
}

// Its buffer is its own: what comes after it is full is lost, and said.
func TestPlotterOverflow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		host, end := NewLine(LineOptions{Baud: 9600})
		p := NewPlotter(end, PlotterOptions{Buffer: 255, Rate: 1, Flow: devices.FlowXonXoff, Level: 80})
		defer p.Close()
		if got := talk(t, host, strings.Repeat("PU;", 100)); got != "\x13" {
			t.Errorf("a sender that does not stop hears %q", got)
		}
		if p.Lost() < 40 || talk(t, host, "\x1b.E") != "16\r" {
			t.Errorf("lost %d", p.Lost())
		}
	})
}

var heldPlace = regexp.MustCompile(`<Hold:1\|MPos:[-0-9.,]+\|`)

// A controller answers each line, empty ones as well, and single bytes at once.
func TestCutterAnswers(t *testing.T) {
	const greeting = "\r\n" + defaultGreeting + "\r\n"
	synctest.Test(t, func(t *testing.T) {
		host, end := NewLine(LineOptions{Baud: 115200})
		c := NewCutter(end, CutterOptions{Rate: 10})
		defer c.Close()
		for _, step := range []struct{ send, want string }{
			{"", greeting}, {"\n", "ok\r\n"}, {"G21\r\n", "ok\r\nok\r\n"},
			{"?", "<Idle|MPos:0.000,0.000,10.000|Bf:15,128|WCO:0.000,0.000,0.000>\r\n"},
			{"G1 X10 Y10 Z-1 F100\n", "ok\r\n"}, {"!?", "<Hold:1|MPos:under way|Bf:14,128|WCO:0.000,0.000,0.000>\r\n"},
			{"\x18", greeting}, {"G1 X10 F100\n", "ok\r\n"}, {"\x18", greeting + "ALARM:3\r\n"},
			{"G0 Z5\n", "error:9\r\n"}, {"$X\n", "ok\r\n"},
		} {
			got := talk(t, host, step.send)
			// how far a held move has come is a matter of the moment
			if got := heldPlace.ReplaceAllString(got, "<Hold:1|MPos:under way|"); got != step.want {
				t.Fatalf("%q is answered %q, not %q", step.send, got, step.want)
			}
		}
	})
}

// The line in memory carries ten bits a byte, obeys the flow line, and tells what it still holds.
func TestLineInMemory(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		host, end := NewLine(LineOptions{Baud: 9600, Flow: devices.FlowRTSCTS, Queue: 1000})
		begun := time.Now()
		if n, err := host.Write(make([]byte, 960), 0); n != 960 || err != nil {
			t.Fatal(n, err)
		}
		if n, known := host.Queued(); n != 960 || !known {
			t.Errorf("holds %d", n)
		}
		got, buf := 0, make([]byte, 2000)
		for got < 480 {
			n, err := end.Read(buf[:480-got], time.Second)
			if err != nil {
				t.Fatal(err)
			}
			got += n
		}
		if d := time.Since(begun); d < 499*time.Millisecond || d > 501*time.Millisecond {
			t.Errorf("480 bytes took %v", d)
		}
		end.Ready(false)
		if n, _ := host.Queued(); n != 480 {
			t.Errorf("holds %d behind a flow line that is down", n)
		}
		if _, err := end.Read(buf, time.Minute); !errors.Is(err, ErrWait) {
			t.Errorf("%v came past the flow line", err)
		}
		if err := host.Discard(); err != nil {
			t.Fatal(err)
		}
		if n, _ := host.Queued(); n != 0 {
			t.Errorf("holds %d after all was dropped", n)
		}
		end.Unplug()
		if _, err := host.Write([]byte("x"), time.Second); !errors.Is(err, devices.ErrGone) {
			t.Errorf("%v", err)
		}
	})
}
