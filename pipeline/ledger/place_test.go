package ledger

import (
	"reflect"
	"testing"
)

// TestPlaceIsKept: where a blade was held is read as it was written, to the last digit, with the job and
// with its runs, and what is no place is a fault of the job.
func TestPlaceIsKept(t *testing.T) {
	l := openTest(t)
	j := arrive(t, l, "11")
	want := &Place{Stroke: 7, At: [2]float64{15.042, 1.0 / 3}, Dir: [2]float64{0.04468595532462996, -0.9990010837815568}, Above: true}
	write := func(s Send) {
		t.Helper()
		if _, err := l.Change(t.Context(), j.ID, func(*Job) (Step, error) { return Step{Send: &s}, nil }); err != nil {
			t.Fatal(err)
		}
	}
	read := func() *Place {
		t.Helper()
		got, err := l.Job(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		runs, err := l.Sends(t.Context(), j.ID)
		if err != nil || len(runs) != 1 || !reflect.DeepEqual(runs[0].Held, got.Send.Held) {
			t.Errorf("%+v, %v, and with the job %+v", runs, err, got.Send.Held)
		}
		return got.Send.Held
	}
	s := Send{No: 1, Began: l.now(), Updated: l.now(), Sure: -1, Stroke: -1, Tool: Unknown}
	write(s)
	if read() != nil {
		t.Error("a place that nobody wrote")
	}
	s.Held = want
	if err := l.Progress(t.Context(), j.ID, s); err != nil {
		t.Fatal(err)
	}
	if got := read(); !reflect.DeepEqual(got, want) {
		t.Errorf("read %+v", got)
	}
	want.Tip, want.Above = true, false
	write(s)
	if got := read(); !reflect.DeepEqual(got, want) {
		t.Errorf("read %+v", got)
	}
	if _, err := l.db.Exec("UPDATE sends SET held = 'somewhere'"); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Job(t.Context(), j.ID); err == nil {
		t.Error("what is no place was read")
	}
}
