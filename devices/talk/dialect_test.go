package talk

import (
	"testing"

	"tracewheel/devices/flow"
)

// The literals are those of facts told by the controller family's own interface description.
func TestDialect(t *testing.T) {
	d := DefaultDialect()
	for text, want := range map[string]flow.Kind{
		"ok": flow.EventOk, "error:9": flow.EventError, "ALARM:1": flow.EventAlarm, "<Idle|MPos:0.000,0.000,0.000|FS:0,0>": flow.EventStatus,
		"?<Run>": flow.EventStatus, "[MSG:Reset to continue]": flow.EventNote, "$0=10": flow.EventNote, ">G54:ok": flow.EventNote, "start": flow.EventReset,
		"Anything 1.1h ['$' for help]": flow.EventReset, "\xb1\xffok": flow.EventOk, "okay": flow.EventNote, "Idle": flow.EventNote,
	} {
		if got := d.hear(text); got.Kind != want {
			t.Errorf("%q is heard as %d, not %d", text, got.Kind, want)
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
