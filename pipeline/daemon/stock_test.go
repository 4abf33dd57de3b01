package daemon_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

var rollsOfTests = ledger.Rolls{Unit: "mm", Width: map[string]float64{"calico": 1400}, Least: map[string]float64{"calico": 50}}

// onCalico has a maker's jobs take so much of a roll of calico; each stroke reaches 10 mm along it. On a remnant a job is
// refused that is shorter.
func onCalico(mk job.Maker, mm float64) job.Maker {
	return func(ctx context.Context, in job.Draft) (job.Made, error) {
		b, err := mk(ctx, in)
		if b.Order.Material = "calico"; err != nil || len(b.Program.Blocks) == 0 {
			return b, err
		}
		b.Laid = mm
		for _, s := range in.Remnants {
			if s.Length >= mm && s.No != in.Remnant.No {
				b.Fits = append(b.Fits, ledger.Rectangle{Width: s.Width, Length: mm})
			}
		}
		for i := range b.Program.Strokes {
			b.Program.Reach = append(b.Program.Reach, 10*float64(i+1))
		}
		if in.Remnant.No != 0 && in.Remnant.Length < mm {
			b.Refused, b.Reason, b.Report = true, "the material is too short", map[string][]byte{"report.txt": []byte("short")}
			short := pattern.NewFinding(pattern.RuleTooShort, b.Reason, "")
			short.Piece = "sleeve"
			b.Findings = append(b.Findings, short)
		}
		return b, nil
	}
}

// stockUp brings a roll before the first kill.
func (c *crashed) stockUp() {
	c.t.Helper()
	d, err := daemon.New(c.t.Context(), c.set, crashOptions(c.dir))
	if err != nil {
		c.t.Fatal(err)
	}
	_, err = d.Jobs().ToStock(c.t.Context(), control.StockWish{Material: "calico", Length: 1e6})
	if err := errors.Join(err, d.Stop(c.t.Context())); err != nil {
		c.t.Fatal(err)
	}
}

// booked holds the stock: a job that is done has booked what it took, once; one that has not ended nothing but what it gave
// up when it began anew; and the roll is by all of it shorter.
func (c *crashed) booked(jobs []ledger.Job) {
	c.t.Helper()
	led, err := ledger.Look(context.Background(), store.LedgerPath(c.set.Store))
	if err != nil {
		return // a kill before the first daemon had made it
	}
	defer func() { _ = led.Close() }()
	history, err := led.StockHistory(context.Background(), "calico", 0, 0)
	if err != nil || len(history) == 0 {
		c.t.Fatalf("the stock has no history: %v", err)
	}
	whole, parts, sum := map[int64]int{}, map[int64]int{}, 0.0
	for _, e := range history {
		switch sum += e.Change; {
		case e.Job != 0 && e.Change == -100:
			whole[e.Job]++
		case e.Job != 0:
			parts[e.Job]++
		}
	}
	if math.Abs(sum-history[0].Length) > 1e-6 {
		c.t.Errorf("the roll has %v mm, and its history came to %v", history[0].Length, sum)
	}
	for _, j := range jobs {
		done := j.State == ledger.Completed
		if done && whole[j.ID] != 1 || !j.State.Ended() && whole[j.ID] != 0 || whole[j.ID] > 1 {
			c.t.Errorf("job %d is %s and has booked what it takes %d times", j.ID, j.State, whole[j.ID])
		}
		if most := c.asked[j.ID]; parts[j.ID] > most+1 || (done || !j.State.Ended()) && parts[j.ID] > most {
			c.t.Errorf("job %d is %s, people asked %d times to go on with it, and it has booked parts %d times", j.ID, j.State, most, parts[j.ID])
		}
	}
}

// TestStockOfADaemon: what a pretend device draws is booked as the job ends, and a remnant is chosen, refused and booked.
// The program is six strokes, each 10 mm further along the calico; the job takes 100 mm.
func TestStockOfADaemon(t *testing.T) {
	h := daemontest.New(t)
	h.Settings.Rolls = rollsOfTests
	h.Options.Build = onCalico(h.Options.Build, 100)
	h.Start()
	ctx := asker.ByLogin(t.Context(), "sam", "Nell")
	jobs := h.Daemon.Jobs()
	to := func(w control.StockWish) ledger.Stock {
		t.Helper()
		w.Material = "calico"
		s, err := jobs.ToStock(ctx, w)
		if err != nil {
			t.Fatal(err)
		}
		return s.Stock
	}
	left := func(no int64, mm float64, check bool) {
		t.Helper()
		all, err := jobs.Stock(ctx)
		for _, s := range all {
			if s.No == no {
				if s.Length != mm || s.Check != check {
					t.Errorf("%+v, want %v mm", s, mm)
				}
				return
			}
		}
		if err != nil || mm != 0 {
			t.Errorf("no %d in %+v, %v", no, all, err)
		}
	}
	for _, w := range []control.StockWish{{Material: "velvet", Length: 1}, {Material: "calico"}, {Material: "calico", Length: -3}, {Material: "calico", Length: math.NaN()},
		{Material: "calico", Length: math.Inf(1)}, {Material: "calico", Length: 5, Width: -1}, {Material: "calico", Correct: true, Length: 5},
		{Material: "calico", Correct: true, Remnant: -1}, {Material: "calico", Correct: true, Length: -1}} {
		if _, err := jobs.ToStock(ctx, w); !control.IsRefusal(err) {
			t.Errorf("%+v: %v", w, err)
		}
	}
	to(control.StockWish{Length: 320})
	h.Drop("roll-plotter", "a.svg", daemontest.SixStrokes)
	h.Becomes(1, ledger.Completed)
	left(0, 220, false)

	// two strokes went down the line of one that is canceled: 10 or 20 mm surely ran
	h.Device.Hold = make(chan struct{})
	h.Drop("roll-plotter", "b.svg", daemontest.SixStrokes)
	h.Until("its bytes move", func() bool { now := jobs.Now(); return len(now) == 1 && now[0].Job == 2 && now[0].Bytes > 3 })
	noted := func(w control.StockWish, want string) {
		t.Helper()
		w.Material = "calico"
		if is, err := jobs.ToStock(ctx, w); err != nil || !strings.Contains(is.Note, want) {
			t.Errorf("%q, %v; want %q", is.Note, err, want)
		}
	}
	noted(control.StockWish{Correct: true, Length: 220}, "job 2 is under way on it: what it takes, up to 100 mm, is booked when it ends")
	if err := jobs.Cancel(ctx, 2); err != nil {
		t.Fatal(err)
	}
	h.Becomes(2, ledger.Canceled)
	h.Device.Hold = nil
	all, err := jobs.Stock(ctx)
	if err != nil || !all[0].Check || all[0].Length != 210 && all[0].Length != 200 {
		t.Errorf("%+v, %v", all, err)
	}
	to(control.StockWish{Correct: true, Length: 90})

	// a cutter's job waits: it is told that the roll does not suffice, and is not kept from being released
	small, large := to(control.StockWish{New: true, Width: 500, Length: 80}), to(control.StockWish{New: true, Width: 500, Length: 130})
	h.Drop("knife-table", "c.svg", daemontest.SixStrokes)
	j := h.Becomes(3, ledger.Held)
	if short, offer := j.StockSaid("mm"); !strings.Contains(short, "10 mm too little") || !strings.Contains(offer, "remnant 2 (130 mm long, 500 mm wide): tracewheel release 3 --remnant 2") {
		t.Errorf("%q, %q", short, offer)
	}
	h.Until("the log warns", func() bool { return h.Logs.FilterMessageSnippet("the material does not suffice").Len() == 1 })
	for no, want := range map[string]string{"1": "does not fit remnant 1, which is 80 mm long and 500 mm wide: sleeve: the material is too short", "7": "there is no remnant 7",
		"0": "count from 1", "-1": "count from 1", "roll": "is laid on the roll already", "first": "no number of a remnant"} {
		err := jobs.ReleaseOn(ctx, 3, no, nil)
		if !control.IsRefusal(err) || !strings.Contains(err.Error(), want) {
			t.Errorf("remnant %s: %v", no, err)
		}
		var refusal *control.Refusal
		if no == "1" && (!errors.As(err, &refusal) || !strings.Contains(refusal.Hint, "tracewheel release 3 --remnant 2; it stays laid on the roll")) {
			t.Errorf("after a remnant that is too small: %+v", refusal)
		}
	}
	if err := jobs.ReleaseOn(ctx, 3, "2", map[string]string{"unit": "mm"}); !control.IsRefusal(err) {
		t.Errorf("with an answer: %v", err)
	}
	if err := jobs.ReleaseOn(ctx, 3, "2", nil); err != nil {
		t.Fatal(err)
	}
	h.Until("it waits again, made on the remnant", func() bool { j = h.Job(3); return j.State == ledger.Held && j.Ready })
	if j.Remnant != large.Remnant {
		t.Errorf("%+v", j.Remnant)
	}
	if short, _ := j.StockSaid("mm"); short != "" {
		t.Error(short)
	}
	// what was chosen stays in force over a start, and holds the release where it does not suffice any more
	h.Stop()
	h.Start()
	jobs = h.Daemon.Jobs()
	to(control.StockWish{Correct: true, Remnant: 2, Length: 60})
	if err := jobs.Release(ctx, 3, nil, ""); !control.IsRefusal(err) || !strings.Contains(err.Error(), "40 mm too little") || !strings.Contains(err.(*control.Refusal).Hint, "on the roll: tracewheel release 3 --remnant roll") {
		t.Errorf("a remnant that became too short: %v", err)
	}
	to(control.StockWish{Correct: true, Remnant: 2, Length: 130})
	if err := jobs.Release(ctx, 3, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(3, ledger.Completed)
	left(2, 30, false)
	left(0, 90, false)
	left(small.No, 80, false)

	// again is laid on the roll, and books anew; a trial books nothing
	n, _, err := jobs.AgainPieces(ctx, 3, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if j = h.Becomes(n, ledger.Held); j.Remnant.No != 0 {
		t.Errorf("%+v", j.Remnant)
	}
	trial, err := jobs.ToolUp(ctx, n, control.ToolUpDry, control.BedClear)
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(trial, ledger.Completed)
	left(0, 90, false)
	if err := jobs.Release(ctx, n, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(n, ledger.Completed)
	left(0, 0, true)

	// what is added to a roll in doubt clears the doubt, and says so; what is measured with nothing under way has no note
	noted(control.StockWish{Length: 500}, "it was used up and to be checked, and counts from what was added now")
	if is, err := jobs.ToStock(ctx, control.StockWish{Material: "calico", Correct: true, Length: 400}); err != nil || is.Note != "" {
		t.Errorf("%q, %v", is.Note, err)
	}
	left(0, 400, false)
}
