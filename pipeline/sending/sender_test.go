package sending

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/talk"
	"tracewheel/geom"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// TestOtherLanguageIsNotSent: a job that was made before the workroom file gave its device another language
// is not sent in the old one.
func TestOtherLanguageIsNotSent(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "roll-plotter")
	s := New(func() *config.Workroom { return room }, making.New(room).Rest, nil)
	s.Open = func(devices.PortProfile) (devices.Line, error) {
		t.Error("its port is opened")
		return nil, devices.ErrGone
	}
	out := s.Send(t.Context(), job.Run{Job: 1, Device: "knife-table", Program: w.Program})
	if out.State != ledger.Stopped || !strings.Contains(out.Reason, "made in hpgl2, and by the workroom file knife-table now speaks gcode") {
		t.Errorf("%+v", out)
	}
}

// TestBytesAreOfTheWholeJob: after a stop what is left out counts as sent, and a run that sends nothing says
// so; a program that has grown in the middle is never more than sent.
func TestBytesAreOfTheWholeJob(t *testing.T) {
	r := &run{in: job.Run{Program: devices.Program{Blocks: []devices.Block{{Bytes: make([]byte, 100)}}}}}
	for _, c := range []struct{ sent, total, bytes, of int64 }{{0, 100, 0, 100}, {40, 100, 40, 100}, {0, 30, 70, 100}, {30, 30, 100, 100}, {120, 120, 120, 120}} {
		p := r.progress(talk.Progress{Bytes: c.sent, Total: c.total})
		if p.Bytes != c.bytes || p.Total != c.of {
			t.Errorf("%d of %d is told as %d of %d", c.sent, c.total, p.Bytes, p.Total)
		}
		o, want := r.outcome(talk.Outcome{Written: c.sent, Total: c.total}), c.bytes
		if c.sent == 0 {
			want = 0
		}
		if o.Bytes != want {
			t.Errorf("%d of %d ends with %d bytes", c.sent, c.total, o.Bytes)
		}
	}
}

// TestTimeLeft: what is told as left is the whole plot's time before its first byte, less after each block, and nothing once
// all is sent; where a sending begins in the middle it is that of the rest.
func TestTimeLeft(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "roll-plotter")
	r := &run{in: job.Run{Program: w.Program}, prog: w.Program}
	before := r.progress(talk.Progress{Sent: -1}).Left
	if diff := before - w.Program.Seconds; diff < -0.01 || diff > 0.01 || before < 10 {
		t.Errorf("%g s left before the first byte of a plot of %g s", before, w.Program.Seconds)
	}
	for b, block := range w.Program.Blocks {
		now := r.progress(talk.Progress{Sent: b}).Left
		if diff := before - block.Seconds - now; diff < -0.01 || diff > 0.01 {
			t.Fatalf("block %d of %g s: %g s left, then %g", b, block.Seconds, before, now)
		}
		before = now
	}
	if before != 0 {
		t.Errorf("%g s are left where all is sent", before)
	}
	middle := len(w.Program.Blocks) / 2
	want := r.progress(talk.Progress{Sent: middle - 1}).Left
	r = &run{in: job.Run{Program: w.Program}, prog: w.Program, from: middle}
	if got := r.progress(talk.Progress{Sent: -1}).Left; got != want {
		t.Errorf("%g s left at the begin of a rest of %g s", got, want)
	}
}

// TestTimeLeftFollowsThePace: a device that makes its blocks in half or in thrice the time has its remainder told by that, to a
// tenth from the middle on; an hour's pause in it changes nothing, and a clock that jumps tells no absurd time.
func TestTimeLeftFollowsThePace(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "roll-plotter")
	prog := w.Program
	prog.Blocks = slices.Clone(prog.Blocks)
	for b := range prog.Blocks {
		prog.Blocks[b].Seconds *= 20 // a long plot
	}
	for _, really := range []float64{0.5, 1, 3, 1000} {
		now, rest := time.Date(2026, 3, 14, 10, 0, 0, 0, time.UTC), 0.0
		for _, b := range prog.Blocks {
			rest += b.Seconds
		}
		r := &run{in: job.Run{Program: prog}, prog: prog, pace: pace{now: func() time.Time { return now }}}
		if got := r.progress(talk.Progress{Sent: -1}).Left; math.Abs(got-rest) > 0.01 {
			t.Errorf("%g s left of %g s before the first byte", got, rest)
		}
		for b, block := range prog.Blocks {
			if b == len(prog.Blocks)/3 {
				r.progress(talk.Progress{Sent: b - 1, SureKnown: true, SureBlock: b - 1, Person: true})
				now = now.Add(time.Hour)
				r.progress(talk.Progress{Sent: b - 1, SureKnown: true, SureBlock: b - 1})
			}
			now = now.Add(time.Duration(really * block.Seconds * float64(time.Second)))
			rest -= block.Seconds
			got := r.progress(talk.Progress{Sent: b, SureKnown: true, SureBlock: b}).Left
			if want := min(really, paceSlowest) * rest; b > len(prog.Blocks)/2 && math.Abs(got-want) > 0.1*want+0.01 {
				t.Fatalf("at %g times the time, block %d: %g s left, not %g", really, b, got, want)
			}
		}
	}
}

// TestStopOfTheProgramSaysWhatToDo: a job that stands stopped because the program was asked to end says how it goes on.
func TestStopOfTheProgramSaysWhatToDo(t *testing.T) {
	const then = "see to the machine, then: tracewheel resume or cancel"
	r := &run{}
	for cause, want := range map[error]bool{context.Canceled: true, devices.ErrGone: false} {
		o := r.outcome(talk.Outcome{State: talk.Stopped, Reason: "asked to end", Err: &talk.Fault{Reason: "asked to end", Err: cause}})
		if o.State != ledger.Stopped || strings.HasSuffix(o.Reason, then) != want {
			t.Errorf("%v: %+v", cause, o)
		}
	}
}

// TestHalfDrawnPageIsFed: a plot from its first byte is not drawn over one that was cut short: the page ends
// before it as each plot ends its own (PG, HP-GL/2). One of which all was sent has ended its page, though a person
// calls it spoilt; one that goes on in the middle stays on its page.
func TestHalfDrawnPageIsFed(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "roll-plotter")
	s := New(func() *config.Workroom { return room }, making.New(room).Rest, nil)
	middle := len(w.Program.Blocks) / 2
	for _, c := range []struct {
		last ledger.LastRun
		from int
		// empties: the device's buffer is emptied where a sending ends early (ESC.K), the page's end in it.
		empties, fed bool
	}{{ledger.LastRun{}, 0, false, false}, {ledger.LastRun{Job: 7, Done: true}, 0, false, false}, {ledger.LastRun{Job: 7}, 0, false, true},
		{ledger.LastRun{Job: 7}, middle, false, false}, {ledger.LastRun{Job: 7, Sent: true}, 0, false, false}, {ledger.LastRun{Job: 7, Sent: true}, 0, true, true}} {
		profile := w.Profile
		profile.Plot.SerialControl = c.empties
		r, err := s.begin(t.Context(), job.Run{Job: 8, Device: "roll-plotter", Program: w.Program, From: c.from, Last: c.last}, profile)
		if err != nil {
			t.Fatal(err)
		}
		want := string(w.Program.Bytes())
		if c.fed {
			want = "PU;SP0;PG;" + want
		}
		if string(r.prog.Bytes()) != want || len(r.prog.Blocks) != len(w.Program.Blocks) {
			t.Errorf("%+v from %d: it begins with %.40q", c.last, c.from, r.prog.Bytes())
		}
		first, second := r.progress(talk.Progress{Bytes: 1}), r.progress(talk.Progress{Bytes: 2})
		if strings.Contains(first.Remark, "job 7") != c.fed || second.Remark != "" {
			t.Errorf("%+v from %d: told is %q, then %q", c.last, c.from, first.Remark, second.Remark)
		}
	}
}

// TestFreshSheetIsAskedForWhateverTheStrokes: a plot in sheets asks for its first sheet also where every stroke is
// one block and so leaves the pen up behind it; a trial with the tool up draws nothing and asks for none.
func TestFreshSheetIsAskedForWhateverTheStrokes(t *testing.T) {
	room := making.Sample()
	prof := room.Devices["roll-plotter"]
	prof.Language, prof.Plot.Encoded, prof.Plot.Long, prof.Plot.FrameLength = devices.HPGL, false, hpgl.LongSheets, 900
	room.Devices["roll-plotter"] = prof
	m := making.New(room)
	s := New(func() *config.Workroom { return room }, m.Rest, nil)
	drawn, err := hpgl.Encode([]devices.Stroke{{Tool: devices.Pen, Role: "check", Path: geom.Path{Points: []orb.Point{{20, 20}, {120, 20}, {120, 120}}}}}, prof.Profile)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range drawn.Blocks {
		if b.Down {
			t.Fatal("the stroke is more than one block, so that this tests nothing")
		}
	}
	trial, err := m.Make(t.Context(), making.Request{Source: draftBytes(t, "../../testdata/drafts/apron-mm.svg"), Name: "apron-mm.svg",
		Device: "roll-plotter", Answers: map[string]string{answers.ToolUp: control.ToolUpDry}})
	if err != nil || trial.Refused {
		t.Fatal(err, trial.Reason)
	}
	for _, c := range []struct {
		prog devices.Program
		asks bool
	}{{drawn, true}, {trial.Program, false}} {
		for _, last := range []ledger.LastRun{{Job: 7}, {Job: 7, Sent: true}, {Job: 7, Done: true, Sent: true}} {
			r, err := s.begin(t.Context(), job.Run{Job: 8, Device: "roll-plotter", Program: c.prog, Last: last}, prof.Profile)
			if err != nil {
				t.Fatal(err)
			}
			if asks := strings.Contains(r.prog.Blocks[c.prog.Prelude-1].WaitForPerson, "sheet 1 of job 8"); asks != c.asks {
				t.Errorf("after %+v it asks for a sheet: %v, wanted %v", last, asks, c.asks)
			}
		}
	}
}
