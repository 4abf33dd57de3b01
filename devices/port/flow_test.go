package port

import (
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
)

// Each habit is driven by a table of what happens to it: "may N" is what next must allow of the
// rest "PD1,2;PD3,4;" (or of two lines), "ask X" the question it must put, "wait" that nothing may
// go; "send N" tells it so many bytes went, the rest is what the device says.
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

func drive(t *testing.T, f flow, rest string, steps []flowStep) {
	t.Helper()
	now := time.Unix(1000, 0)
	for i, s := range steps {
		now = now.Add(s.after)
		switch {
		case s.do == may || s.do == wait:
			st := f.next(now, []byte(rest), true)
			if s.do == wait && (st.n != 0 || len(st.ask) > 0) || s.do == may && st.n != s.n {
				t.Fatalf("step %d: wants to send %d and ask %q, not %s %d", i, st.n, st.ask, s.do, s.n)
			}
		case strings.HasPrefix(s.do, "ask "):
			st := f.next(now, []byte(rest), true)
			if st.n != 0 || string(st.ask) != s.do[4:] {
				t.Fatalf("step %d: wants to send %d and ask %q, not %q", i, st.n, st.ask, s.do[4:])
			}
			f.asked(now)
		case s.do == send:
			f.sent(now, []byte(rest[:s.n]))
			rest = rest[s.n:]
		case s.do == revive:
			f.revive(now, s.n)
		case s.do == "xon":
			f.heard(now, event{kind: evXon})
		case s.do == "xoff":
			f.heard(now, event{kind: evXoff})
		case s.do == "ack":
			f.heard(now, event{kind: evAck})
		case s.do == "ok":
			f.heard(now, event{kind: evOk, text: "ok"})
		case s.do == "error":
			f.heard(now, event{kind: evError, text: "error:20"})
		default:
			f.heard(now, event{kind: evLine, text: s.do})
		}
	}
}

const twoMoves = "PD1,2;PD33,44;" // 6 and 8 bytes

func TestXonXoff(t *testing.T) {
	drive(t, &xonXoff{}, twoMoves, []flowStep{
		{do: may, n: 14}, {do: send, n: 6}, {do: may, n: 8},
		{do: "xoff"}, {do: wait}, {do: "xoff"}, {do: wait}, {do: "xon"}, {do: may, n: 8},
		{do: "xoff"}, {do: wait}, {do: revive}, {do: may, n: 8}, // all is drawn
	})
}

func TestEnqAck(t *testing.T) {
	drive(t, &enqAck{block: 10, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ack"}, {do: "ask \x05"}, {do: wait}, // an answer before the question counts for nothing
		{do: wait, after: time.Hour}, // the device may take its time
		{do: "ack"}, {do: "ack"}, {do: may, n: 6}, {do: send, n: 6},
		{do: "ask \x05"}, {do: wait}, // 4 bytes are left of the block, and 8 are wanted
		{do: revive, n: 4}, {do: wait}, {do: revive, n: 10}, {do: "ask \x05"}, // the answer was lost
		{do: "ack"}, {do: may, n: 8},
	})
	// An instruction longer than a block is cut, there is no other way.
	drive(t, &enqAck{block: 5, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x05"}, {do: "ack"}, {do: may, n: 5},
	})
}

func TestBufferQuery(t *testing.T) {
	drive(t, &bufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x1b.B"}, {do: wait},
		{do: "noise"}, {do: wait}, {do: "999"}, {do: wait}, // more than it has is no answer
		{do: "255"}, {do: may, n: 14}, {do: send, n: 6}, {do: may, n: 8},
		{do: send, n: 8},
	})
	drive(t, &bufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{
		{do: "ask \x1b.B"}, {do: "\x1b.B20"}, {do: wait}, {do: wait, after: queryPause / 2}, // full, echoed
		{do: "ask \x1b.B", after: queryPause}, {do: "80"}, {do: may, n: 14},
	})
	drive(t, &bufferQuery{size: 255, lang: devices.HPGL}, twoMoves, []flowStep{ // a lost answer
		{do: "ask \x1b.B"}, {do: wait, after: queryLimit}, {do: "255"}, {do: wait}, // too late: it must not count
		{do: "ask \x1b.J\x1b.B", after: queryQuiet}, {do: "200"}, {do: may, n: 14},
	})
}

func TestLineAck(t *testing.T) {
	const lines = "G21\nG90\nG0 X1\n"
	drive(t, &lineAck{}, lines, []flowStep{
		{do: may, n: 4}, {do: send, n: 2}, {do: may, n: 2}, {do: send, n: 2}, {do: wait}, {do: wait, after: time.Hour},
		{do: "ok"}, {do: may, n: 4}, {do: send, n: 4}, {do: wait}, {do: "error"}, {do: may, n: 6},
	})
	drive(t, &lineAck{window: 8}, lines, []flowStep{
		{do: may, n: 4}, {do: send, n: 4}, {do: may, n: 4}, {do: send, n: 4}, {do: wait}, // 8 + 6 > 8
		{do: "ok"}, {do: wait}, {do: "ok"}, {do: may, n: 6},
	})
	f := &lineAck{}
	drive(t, f, lines, []flowStep{{do: send, n: 4}, {do: "ok"}, {do: "ok"}})
	if n, _ := f.untaken(); n != 0 || f.revive(time.Now(), 100) {
		t.Error("the count must not be revived")
	}
	// CR and LF each end a line, so CRLF earns two answers.
	drive(t, &lineAck{}, "G21\r\n", []flowStep{{do: may, n: 4}, {do: send, n: 4}, {do: wait}, {do: "ok"}, {do: may, n: 1}})
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
		if _, err := newFlow(p, devices.HPGL); err == nil {
			t.Errorf("%+v was taken", p)
		}
	}
}

func TestEar(t *testing.T) {
	var got []string
	e := ear{xonxoff: true}
	for _, chunk := range []string{"12", "8\r\n\n", "\x13o", "k\x11\r", strings.Repeat("x", 3*earLimit) + "\n", "half"} {
		e.hear([]byte(chunk), func(e event) { got = append(got, []string{"line ", "xon", "xoff"}[e.kind]+e.text) })
	}
	if len(got) != 5 || got[0] != "line 128" || got[1] != "xoff" || got[2] != "xon" || got[3] != "line ok" || len(got[4]) > earLimit+5 {
		t.Errorf("heard %.40q", got)
	}
	e = ear{} // another habit: 17 and 19 are no orders
	e.hear([]byte("\x13a\r"), func(e event) {
		if e.kind != evLine || e.text != "\x13a" {
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
		{devices.HPGL, "PU;LBa;b\x03PD;", 10, 9}, // a label ends by its own terminator
		{devices.GCode, "G0 X1\nG1 Y2\n", 9, 6},
	} {
		if got := wholeInstructions(c.lang, []byte(c.text), c.limit); got != c.want {
			t.Errorf("of %q within %d: %d, not %d", c.text, c.limit, got, c.want)
		}
	}
}

// The literals are those of facts told by the controller family's own interface description.
func TestDialect(t *testing.T) {
	d := DefaultDialect()
	for text, want := range map[string]eventKind{
		"ok": evOk, "error:9": evError, "ALARM:1": evAlarm, "<Idle|MPos:0.000,0.000,0.000|FS:0,0>": evStatus,
		"?<Run>": evStatus, "[MSG:Reset to continue]": evNote, "$0=10": evNote, ">G54:ok": evNote, "start": evReset,
		"Anything 1.1h ['$' for help]": evReset, "\xb1\xffok": evOk, "okay": evNote, "Idle": evNote,
	} {
		if got := d.hear(text); got.kind != want {
			t.Errorf("%q is heard as %d, not %d", text, got.kind, want)
		}
	}
	r, ok := parseReport("<Hold:1|MPos:10.000,20.000,-1.000|WCO:1.000,2.000,0.500|Bf:15,128>")
	if w := r.work(); !ok || !r.held() || r.atRest() || w == nil || *w != (Place{X: 9, Y: 18, Z: -1.5}) {
		t.Errorf("%+v, work %+v", r, r.work())
	}
}

// An error number and a state answered together are told apart.
func TestTellApart(t *testing.T) {
	for _, c := range []struct {
		in   []int
		code int
		done bool
	}{
		{[]int{0}, 0, false}, {[]int{8}, 0, false}, {[]int{16}, 0, false}, {[]int{3}, 3, true},
		{[]int{0, 8}, 0, true}, {[]int{8, 0}, 0, true}, {[]int{24, 8}, 8, true}, {[]int{2, 8}, 2, true}, {[]int{0, 24}, 0, true},
	} {
		if code, done := tellApart(c.in); code != c.code || done != c.done {
			t.Errorf("%v: %d %v", c.in, code, done)
		}
	}
}

func TestMeter(t *testing.T) {
	now := time.Unix(1000, 0)
	m := meter{margin: 64, rate: 960}
	if n, _ := m.allow(now, 200, 0, true); n != 64 {
		t.Errorf("an empty queue takes %d", n)
	}
	if n, again := m.allow(now, 200, 50, true); n != 0 || again.Sub(now) < 15*time.Millisecond || again.Sub(now) > 30*time.Millisecond {
		t.Errorf("a full queue takes %d, next look in %v", n, again.Sub(now))
	}
	m = meter{margin: 64, rate: 960}
	if n, _ := m.allow(now, 64, 0, false); n != 64 {
		t.Errorf("the first %d", n)
	}
	m.wrote(64)
	if n, again := m.allow(now, 64, 0, false); n != 0 || again.Sub(now) < 30*time.Millisecond {
		t.Errorf("at once again %d", n)
	}
	if n, _ := m.allow(now.Add(34*time.Millisecond), 64, 0, false); n != 32 {
		t.Errorf("after the wire's time for half of it %d", n)
	}
}

// TestOwnAnswers: the answer to a question of the habit is no answer to one that was put behind it, even
// where it tells nothing new: 0 free bytes would else be a status that says the pen is up.
func TestOwnAnswers(t *testing.T) {
	f := &bufferQuery{size: 1024, margin: 64, lang: devices.HPGL}
	now := time.Now()
	for _, late := range []bool{false, true} {
		for range 2 { // the second answer is no news
			f.state = queryIdle
			f.asked(now)
			if late {
				f.expire(now)
			}
			f.heard(now, event{kind: evLine, text: "0"})
			if !f.mine() {
				t.Errorf("late %v: somebody else's answer", late)
			}
		}
		f.state = queryIdle
		f.heard(now, event{kind: evLine, text: "24"})
		if f.mine() {
			t.Errorf("late %v: it takes what it did not ask for", late)
		}
	}
}
