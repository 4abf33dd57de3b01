package flow

import (
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
)

// flowStep is a line of a habit's table: "may N" is what Next must allow of the rest "PD1,2;PD3,4;" (or of two lines),
// "ask X" the question it must ask, "wait" that nothing may be sent; "send N" reports N sent bytes, anything else is
// what the device says.
type flowStep struct {
	do    string
	n     int
	after time.Duration // time that passes before it
}

const (
	may    = "may"
	wait   = "wait"
	send   = "send"
	revive = "revive"
)

func drive(t *testing.T, f Habit, rest string, steps []flowStep) {
	t.Helper()
	now := time.Unix(1000, 0)
	for i, s := range steps {
		now = now.Add(s.after)
		switch {
		case s.do == may || s.do == wait:
			st := f.Next(now, []byte(rest), true)
			if s.do == wait && (st.N != 0 || len(st.Ask) > 0) || s.do == may && st.N != s.n {
				t.Fatalf("step %d: wants to send %d and ask %q, not %s %d", i, st.N, st.Ask, s.do, s.n)
			}
		case strings.HasPrefix(s.do, "ask "):
			st := f.Next(now, []byte(rest), true)
			if st.N != 0 || string(st.Ask) != s.do[4:] {
				t.Fatalf("step %d: wants to send %d and ask %q, not %q", i, st.N, st.Ask, s.do[4:])
			}
			f.Asked(now)
		case s.do == send:
			f.Sent(now, []byte(rest[:s.n]))
			rest = rest[s.n:]
		case s.do == revive:
			f.Revive(now, s.n)
		case s.do == "xon":
			f.Heard(now, Event{Kind: EventXon})
		case s.do == "xoff":
			f.Heard(now, Event{Kind: EventXoff})
		case s.do == "ack":
			f.Heard(now, Event{Kind: EventAck})
		case s.do == "ok":
			f.Heard(now, Event{Kind: EventOk, Text: "ok"})
		case s.do == "error":
			f.Heard(now, Event{Kind: EventError, Text: "error:20"})
		default:
			f.Heard(now, Event{Kind: EventLine, Text: s.do})
		}
	}
}

const twoMoves = "PD1,2;PD33,44;" // 6 and 8 bytes

func TestXonXoff(t *testing.T) {
	drive(t, &XonXoff{}, twoMoves, []flowStep{
		{do: may, n: 14}, {do: send, n: 6}, {do: may, n: 8},
		{do: "xoff"}, {do: wait}, {do: "xoff"}, {do: wait}, {do: "xon"}, {do: may, n: 8},
		{do: "xoff"}, {do: wait}, {do: revive}, {do: may, n: 8}, // everything is drawn
	})
}

func TestEnqAck(t *testing.T) {
	drive(t, &enqAck{block: 10, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ack"}, {do: "ask \x05"}, {do: wait}, // an answer before the question does not count
		{do: wait, after: time.Hour}, // the device may take any time
		{do: "ack"}, {do: "ack"}, {do: may, n: 6}, {do: send, n: 6},
		{do: "ask \x05"}, {do: wait}, // 4 bytes are left of the block, and 8 are needed
		{do: revive, n: 4}, {do: wait}, {do: revive, n: 10}, {do: "ask \x05"}, // the answer was lost
		{do: "ack"}, {do: may, n: 8},
	})
	// An instruction longer than a block must be cut.
	drive(t, &enqAck{block: 5, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x05"}, {do: "ack"}, {do: may, n: 5},
	})
}

func TestBufferQuery(t *testing.T) {
	drive(t, &BufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x1b.B"}, {do: wait},
		{do: "noise"}, {do: wait}, {do: "999"}, {do: wait}, // more than the buffer is no answer
		{do: "255"}, {do: may, n: 14}, {do: send, n: 6}, {do: may, n: 8},
		{do: send, n: 8},
	})
	drive(t, &BufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x1b.B"}, {do: "\x1b.B20"}, {do: wait}, {do: wait, after: queryPause / 2}, // full, with an echo
		{do: "ask \x1b.B", after: queryPause}, {do: "80"}, {do: may, n: 14},
	})
	drive(t, &BufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{ // a lost answer
		{do: "ask \x1b.B"}, {do: wait, after: queryLimit}, {do: "255"}, {do: wait}, // too late, so it must not count
		{do: "ask \x1b.J\x1b.B", after: queryQuiet}, {do: "200"}, {do: may, n: 14},
	})
}

func TestLineAck(t *testing.T) {
	const lines = "G21\nG90\nG0 X1\n"
	drive(t, &LineAck{}, lines, []flowStep{
		{do: may, n: 4}, {do: send, n: 2}, {do: may, n: 2}, {do: send, n: 2}, {do: wait}, {do: wait, after: time.Hour},
		{do: "ok"}, {do: may, n: 4}, {do: send, n: 4}, {do: wait}, {do: "error"}, {do: may, n: 6},
	})
	drive(t, &LineAck{window: 8}, lines, []flowStep{
		{do: may, n: 4}, {do: send, n: 4}, {do: may, n: 4}, {do: send, n: 4}, {do: wait}, // 8 + 6 > 8
		{do: "ok"}, {do: wait}, {do: "ok"}, {do: may, n: 6},
	})
	f := &LineAck{}
	drive(t, f, lines, []flowStep{{do: send, n: 4}, {do: "ok"}, {do: "ok"}})
	if n, _ := f.Untaken(); n != 0 || f.Revive(time.Now(), 100) {
		t.Error("the count must not be revived")
	}
	// CR and LF each end a line, so CRLF gets two answers.
	drive(t, &LineAck{}, "G21\r\n", []flowStep{{do: may, n: 4}, {do: send, n: 4}, {do: wait}, {do: "ok"}, {do: may, n: 1}})
}

func TestPaced(t *testing.T) {
	f := &paced{rate: 10, burst: 4}
	drive(t, f, twoMoves, []flowStep{
		{do: may, n: 4}, {do: send, n: 4}, {do: wait}, {do: wait, after: 100 * time.Millisecond},
		{do: may, n: 2, after: 101 * time.Millisecond}, {do: send, n: 2}, {do: wait}, {do: may, n: 4, after: time.Hour},
	})
}

func TestUnknownFlow(t *testing.T) {
	for _, p := range []devices.PortProfile{{Flow: "smoke signals"}, {Flow: devices.FlowPaced}} {
		if _, err := New(p, devices.HPGL); err == nil {
			t.Errorf("%+v was taken", p)
		}
	}
}

func TestScanner(t *testing.T) {
	var got []string
	e := Scanner{XonXoff: true}
	for _, chunk := range []string{"12", "8\r\n\n", "\x13o", "k\x11\r", strings.Repeat("x", 3*lineLimit) + "\n", "half"} {
		e.Scan([]byte(chunk), func(e Event) { got = append(got, []string{"line ", "xon", "xoff"}[e.Kind]+e.Text) })
	}
	if len(got) != 5 || got[0] != "line 128" || got[1] != "xoff" || got[2] != "xon" || got[3] != "line ok" || len(got[4]) > lineLimit+5 {
		t.Errorf("heard %.40q", got)
	}
	e = Scanner{} // for another habit 17 and 19 are no flow characters
	e.Scan([]byte("\x13a\r"), func(e Event) {
		if e.Kind != EventLine || e.Text != "\x13a" {
			t.Errorf("heard %+v", e)
		}
	})
}

func TestWholeInstructions(t *testing.T) {
	for _, c := range []struct {
		lang  devices.Language
		text  string
		limit int
		want  int
	}{
		{devices.HPGL, "PU1,2;PD3,4;", 20, 12},
		{devices.HPGL, "PU1,2;PD3,4;", 8, 6},
		{devices.HPGL, "PU1,2;PD3,4;", 5, 0},
		{devices.HPGL, "PU;LBa;b\x03PD;", 8, 3},  // the semicolon is text
		{devices.HPGL, "PU;LBa;b\x03PD;", 10, 9}, // a label ends at its own terminator
		{devices.GCode, "G0 X1\nG1 Y2\n", 9, 6},
	} {
		if got := WholeInstructions(c.lang, []byte(c.text), c.limit); got != c.want {
			t.Errorf("of %q within %d: %d, not %d", c.text, c.limit, got, c.want)
		}
	}
}

func TestMeter(t *testing.T) {
	now := time.Unix(1000, 0)
	m := Meter{Margin: 64, Rate: 960}
	if n, _ := m.Allow(now, 200, 0, true); n != 64 {
		t.Errorf("an empty queue takes %d", n)
	}
	if n, again := m.Allow(now, 200, 50, true); n != 0 || again.Sub(now) < 15*time.Millisecond || again.Sub(now) > 30*time.Millisecond {
		t.Errorf("a full queue takes %d, next look in %v", n, again.Sub(now))
	}
	m = Meter{Margin: 64, Rate: 960}
	if n, _ := m.Allow(now, 64, 0, false); n != 64 {
		t.Errorf("the first %d", n)
	}
	m.Wrote(64)
	if n, again := m.Allow(now, 64, 0, false); n != 0 || again.Sub(now) < 30*time.Millisecond {
		t.Errorf("at once again %d", n)
	}
	if n, _ := m.Allow(now.Add(34*time.Millisecond), 64, 0, false); n != 32 {
		t.Errorf("after the wire's time for half of it %d", n)
	}
}

// TestOwnAnswers: the answer to a habit's question does not answer a question after it, even where it is nothing new:
// 0 free bytes would otherwise be read as a status that says the pen is up.
func TestOwnAnswers(t *testing.T) {
	f := &BufferQuery{size: 1024, lang: devices.HPGL}
	now := time.Now()
	for _, late := range []bool{false, true} {
		for range 2 { // the second answer is nothing new
			f.state = queryIdle
			f.Asked(now)
			if late {
				f.expire(now)
			}
			f.Heard(now, Event{Kind: EventLine, Text: "0"})
			if !f.Mine() {
				t.Errorf("late %v: somebody else's answer", late)
			}
		}
		f.state = queryIdle
		f.Heard(now, Event{Kind: EventLine, Text: "24"})
		if f.Mine() {
			t.Errorf("late %v: it takes what it did not ask for", late)
		}
	}
}
