package control

import (
	"errors"
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// TestWholeOfARunFromTheMiddle: a run that began in the middle relies on a person's word for what lies before
// it, so that the number of bytes says nothing against another word; of one from the first byte it does.
func TestWholeOfARunFromTheMiddle(t *testing.T) {
	for _, c := range []struct {
		from  string
		whole bool
	}{{"start", false}, {"stroke", true}} {
		t.Run(c.from, func(t *testing.T) {
			_, d := served(t)
			d.Serve([]Device{{Name: "roll-plotter"}})
			p := devices.Program{Language: devices.HPGL, Prelude: 1, Pieces: 1}
			for i, s := range []string{"IN;", "PU0,0;PD9,0;", "PU0,9;PD9,9;"} {
				p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte(s), Stroke: i - 1, Piece: min(i-1, 0), EndsStroke: i > 0})
			}
			id := made(t, d, p)
			end := End{State: ledger.Stopped, Reason: "the cable came out", Bytes: 15, Sure: 1, Stroke: 0}
			if _, err := d.Close(t.Context(), id, end); err != nil {
				t.Fatal(err)
			}
			if err := d.Resume(t.Context(), id, c.from, ""); err != nil {
				t.Fatal(err)
			}
			end.Bytes, end.Sure, end.Stroke = 12, 1, 0
			j, err := d.Close(t.Context(), id, end)
			if err != nil {
				t.Fatal(err)
			}
			if (j.Send.First > 0) != c.whole || j.Send.Bytes >= j.Send.Total {
				t.Fatalf("the run is not what is tested: %+v", j.Send)
			}
			if err := d.Resume(t.Context(), id, "", ""); err == nil || strings.Contains(err.Error(), "all of job") {
				t.Errorf("it is not known that all was sent: %v", err)
			}
			err = d.Sheet(t.Context(), id, true)
			j, _ = d.Job(t.Context(), id)
			if c.whole && (err != nil || j.State != ledger.Completed) || !c.whole && (!IsRefusal(err) || !strings.Contains(err.Error(), "cut short") || j.State != ledger.Stopped) {
				t.Errorf("%v: %+v", err, j)
			}
		})
	}
}

// TestAllSentNamesTheSheet: who asks to go on with a job that was sent as a whole hears of whole and spoilt.
func TestAllSentNamesTheSheet(t *testing.T) {
	_, d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	id := begun(t, d)
	if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "it fell silent", Bytes: 100, Sure: -1, Stroke: -1}); err != nil {
		t.Fatal(err)
	}
	var r *Refusal
	if err := d.Resume(t.Context(), id, "", ""); !errors.As(err, &r) || !strings.Contains(r.Text, "all of job 1 was sent") ||
		!strings.HasPrefix(r.Hint, "tracewheel whole 1, or: tracewheel spoilt 1") || len(r.Points) == 0 {
		t.Errorf("%v: %+v", err, r)
	}
}
