package control

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// TestWholeOfARunFromTheMiddle: a run is called whole only where every byte of it was sent, those of a blade that
// goes in again as well; what a run from the middle leaves out counts as sent.
func TestWholeOfARunFromTheMiddle(t *testing.T) {
	for _, c := range []struct {
		from         string
		bytes, total int64 // as the sender counts them, of 100 of the program
		whole        bool
	}{{"start", 12, 100, false}, {"start", 100, 100, true}, {"stroke", 92, 100, false}, {"stroke", 100, 100, true}, {"stroke", 105, 110, false}, {"stroke", 110, 110, true}} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			d := served(t)
			d.Serve([]Device{{Name: "roll-plotter"}})
			p := devices.Program{Language: devices.HPGL, Prelude: 1, Pieces: 1}
			for i, s := range []string{"IN;", "PU0,0;PD9,0;", "PU0,9;PD9,9;SP0;PG;"} {
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
			end.Bytes, end.Total, end.Sure, end.Stroke = c.bytes, c.total, 1, 0
			j, err := d.Close(t.Context(), id, end)
			if err != nil {
				t.Fatal(err)
			}
			if (j.Send.First > 0) != (c.from == "stroke") || j.Send.AllSent() != c.whole {
				t.Fatalf("the run is not what is tested: %+v", j.Send)
			}
			if err := d.Resume(t.Context(), id, "", ""); err == nil || strings.Contains(err.Error(), "all of job") != c.whole {
				t.Errorf("whether all was sent is told wrongly: %v", err)
			}
			last, err := d.led.LastRun(t.Context(), "roll-plotter", id+1, 1)
			if err != nil || last != (ledger.LastRun{Job: id, Sent: c.whole}) {
				t.Errorf("%+v, %v", last, err)
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
	d := served(t)
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
