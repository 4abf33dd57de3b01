package ledger

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// laid brings a job as far as being sent, laid on so much of calico.
func laid(t *testing.T, l *Ledger, mm float64, on Remnant) Job {
	t.Helper()
	j := arrive(t, l, strings.Repeat("ab", 32))
	j, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) {
		j.State, j.Ready, j.Material, j.Laid, j.Remnant = Processing, true, "calico", mm, on
		return Step{Kind: "begin", Send: &Send{No: 1, Bytes: 60, Total: 100, Sure: 1, Stroke: 1}}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func ends(t *testing.T, l *Ledger, id int64, s State, ranMM float64) Job {
	t.Helper()
	j, err := l.Change(t.Context(), id, func(j *Job) (Step, error) {
		j.State = s
		return Step{Kind: "ended", RanMM: ranMM}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func add(t *testing.T, l *Ledger, width, length float64, remnant bool) Stock {
	t.Helper()
	s, err := l.AddStock(t.Context(), Stock{Material: "calico", Remnant: Remnant{Width: width, Length: length}}, remnant, "login sam")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// is holds the stock against what it is to be, as "no:length" with ! for what is to be checked.
func is(t *testing.T, l *Ledger, want ...Stock) {
	t.Helper()
	all, err := l.Stock(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i := range want {
		want[i].Material = "calico"
	}
	if !slices.Equal(all, want) {
		t.Errorf("in stock is\n%+v, want\n%+v", all, want)
	}
	if faults, err := l.StockFaults(t.Context()); err != nil || len(faults) > 0 {
		t.Errorf("%q, %v", faults, err)
	}
}

// TestStockIsBooked by the arithmetic of a roll of 5 m: a job that is done takes what it is laid on, one that is canceled
// what surely ran and is in doubt, a trial and what was not sent nothing, and no job of another material anything.
func TestStockIsBooked(t *testing.T) {
	l := openTest(t)
	l.KeepRolls(Rolls{Unit: "cm", Least: map[string]float64{"calico": 400}})
	none := laid(t, l, 700, Remnant{})
	ends(t, l, none.ID, Completed, 0)
	is(t, l) // no stock was said
	add(t, l, 1400, 5000, false)
	done := laid(t, l, 1200, Remnant{})
	ends(t, l, done.ID, Completed, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 3800}, Check: false})
	events, err := l.Events(t.Context(), done.ID)
	if last := events[len(events)-1]; err != nil || last.Text != "120 cm of the roll of calico booked, 380 cm left" || last.To != Completed {
		t.Errorf("%+v, %v", last, err)
	}
	half := laid(t, l, 1200, Remnant{})
	ends(t, l, half.ID, Canceled, 450)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 3350}, Check: true})
	events, _ = l.Events(t.Context(), half.ID)
	if last := events[len(events)-1]; !strings.Contains(last.Text, "45 cm of the roll of calico booked, which surely ran") || !strings.Contains(last.Text, "stock correct calico LENGTH") {
		t.Error(last.Text)
	}
	if s, err := l.CorrectStock(t.Context(), "calico", 0, 3000, "login sam"); err != nil || s.Check {
		t.Fatalf("%+v, %v", s, err)
	}
	trial := laid(t, l, 1200, Remnant{})
	if _, err := l.Change(t.Context(), trial.ID, func(j *Job) (Step, error) {
		j.State, j.Answers = Completed, map[string]string{"tool-up": "dry"}
		return Step{Kind: "done"}, nil
	}); err != nil {
		t.Fatal(err)
	}
	waits := arrive(t, l, strings.Repeat("cd", 32))
	ends(t, l, waits.ID, Canceled, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 3000}})

	// begun anew on fresh material, then done: what ran before is booked besides
	anew := laid(t, l, 1000, Remnant{})
	if _, err := l.Change(t.Context(), anew.ID, func(j *Job) (Step, error) {
		return Step{Kind: "resume", Send: &Send{No: 2, Sure: -1, Stroke: -1}, GivesUp: true, RanMM: 300}, nil
	}); err != nil {
		t.Fatal(err)
	}
	is(t, l, Stock{Remnant: Remnant{0, 1400, 2700}, Check: true})
	ends(t, l, anew.ID, Completed, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 1700}, Check: true})

	// what is left of the roll is less than stays one
	last := laid(t, l, 1350, Remnant{})
	ends(t, l, last.ID, Completed, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 0}}, Stock{Remnant: Remnant{1, 1400, 350}, Check: true})
	on := laid(t, l, 200, Remnant{No: 1, Width: 1400, Length: 350})
	ends(t, l, on.ID, Completed, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 0}}, Stock{Remnant: Remnant{1, 1400, 150}, Check: true})
	more := laid(t, l, 500, Remnant{No: 1, Width: 1400, Length: 350})
	ends(t, l, more.ID, Completed, 0)
	is(t, l, Stock{Remnant: Remnant{0, 1400, 0}}, Stock{Remnant: Remnant{1, 1400, 0}, Check: true}) // more was used than it had: some may be left
	if s, err := l.CorrectStock(t.Context(), "calico", 1, 0, ""); err != nil || s.Check {
		t.Fatalf("%+v, %v", s, err)
	}
	is(t, l, Stock{Remnant: Remnant{0, 1400, 0}})
	if s := add(t, l, 900, 400, true); s.No != 2 {
		t.Errorf("the number of a remnant was given twice: %+v", s)
	}
	// of a forgotten job nobody's name stays
	if err := l.Erase(t.Context(), []int64{done.ID}); err != nil {
		t.Fatal(err)
	}
	h, err := l.StockHistory(t.Context(), "calico", 0, 0)
	if err != nil || len(h) != 8 || h[6].Job != done.ID || h[6].Change != -1200 || h[6].Who != "" || h[7].Kind != StockAdded || h[7].Who != "login sam" {
		t.Errorf("%+v, %v", h, err)
	}
}

// TestStockRefusals: what does not fit is refused and changes nothing.
func TestStockRefusals(t *testing.T) {
	l := openTest(t)
	add(t, l, 1400, 5000, false)
	add(t, l, 600, 400, true)
	for _, c := range []struct {
		err  func() error
		want string
	}{
		{func() error {
			_, err := l.AddStock(t.Context(), Stock{Material: "calico", Remnant: Remnant{Width: 900, Length: 400}}, false, "")
			return err
		}, "the roll of calico is 1400 mm wide"},
		{func() error { _, err := l.CorrectStock(t.Context(), "calico", 7, 1, ""); return err }, "there is no remnant 7"},
		{func() error { _, err := l.CorrectStock(t.Context(), "calico", -1, 1, ""); return err }, "they count from 1"},
		{func() error { _, err := l.CorrectStock(t.Context(), "linen", 1, 1, ""); return err }, "remnant 1 is of calico, not of linen"},
		{func() error { _, err := l.CorrectStock(t.Context(), "linen", 0, 1, ""); return err }, "stock add linen LENGTH"},
		{func() error { _, err := l.RemnantOf(t.Context(), "calico", 0); return err }, "they count from 1"},
		{func() error { _, err := l.RemnantOf(t.Context(), "linen", 1); return err }, "remnant 1 is of calico"},
	} {
		if err := c.err(); !errors.Is(err, ErrStock) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	is(t, l, Stock{Remnant: Remnant{0, 1400, 5000}}, Stock{Remnant: Remnant{1, 600, 400}})
	if n, err := l.StockToCheck(t.Context()); n != 2 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
	is(t, l, Stock{Remnant: Remnant{0, 1400, 5000}, Check: true}, Stock{Remnant: Remnant{1, 600, 400}, Check: true})
	if _, err := l.db.Exec("UPDATE stock SET length = 4000 WHERE remnant = 0"); err != nil {
		t.Fatal(err)
	}
	if faults, err := l.StockFaults(t.Context()); err != nil || !slices.Equal(faults, []string{"the roll of calico is not what its history came to"}) {
		t.Errorf("%q, %v", faults, err)
	}
}

// TestSupply: a job that waits is told what is left for it once those before it have taken theirs, and which remnants hold it.
func TestSupply(t *testing.T) {
	l := openTest(t)
	add(t, l, 1400, 2000, false)
	add(t, l, 900, 800, true)
	add(t, l, 600, 800, true)
	hold := func(id int64, s State) Job {
		t.Helper()
		if _, err := l.Change(t.Context(), id, func(j *Job) (Step, error) {
			j.State, j.Ready, j.Material, j.Laid, j.Fits = s, true, "calico", 700, []Rectangle{{600, 700}, {1400, 2000}}
			return Step{Kind: "made"}, nil
		}); err != nil {
			t.Fatal(err)
		}
		j, err := l.Job(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	first := hold(arrive(t, l, strings.Repeat("ab", 32)).ID, Held)
	if s := first.Supply; s == nil || s.LeftMM != 2000 || s.ShortMM != 0 || len(s.Fits) != 2 || s.Fits[0].No != 2 {
		t.Fatalf("%+v", first.Supply)
	}
	if short, offer := first.StockSaid("cm"); short != "" || offer != "it fits remnant 2 (80 cm long, 60 cm wide), or remnant 1 (80 cm long, 90 cm wide): tracewheel release 1 --remnant 2" {
		t.Errorf("%q, %q", short, offer)
	}
	laid(t, l, 1500, Remnant{})
	j, err := l.Job(t.Context(), first.ID)
	if err != nil || j.Supply == nil || j.Supply.ShortMM != 200 || j.Supply.LeftMM != 500 {
		t.Fatalf("%+v, %v", j.Supply, err)
	}
	if short, _ := j.StockSaid("mm"); short != "the material does not suffice: the job takes 700 mm, and 500 mm of the roll of calico is left for it, 200 mm too little; job 2 before it takes 1500 mm" {
		t.Error(short)
	}
	for unit, want := range map[string]string{"mm": "700 mm of calico", "cm": "70 cm of calico", "in": "27 9/16 in of calico"} { // 700 / 25.4 = 27.559
		if got := j.LaidSaid(unit); got != want {
			t.Errorf("it takes %q", got)
		}
	}
	text, err := j.MarshalJSON()
	if err != nil || !strings.Contains(string(text), `"stock":{"need_mm":700,"left_mm":500,"short_mm":200,"kept":true,"fits":[{"remnant":2,"width_mm":600,"length_mm":800}`) {
		t.Errorf("%s, %v", text, err)
	}
	// a remnant that another job has used since is not offered any more, and one that was added since is
	ends(t, l, laid(t, l, 150, Remnant{No: 2, Width: 600, Length: 800}).ID, Completed, 0)
	add(t, l, 650, 720, true)
	if j, err = l.Job(t.Context(), first.ID); err != nil || len(j.Supply.Fits) != 2 || j.Supply.Fits[0].No != 3 || j.Supply.Fits[1].No != 1 {
		t.Errorf("%+v, %v", j.Supply, err)
	}
	later := hold(arrive(t, l, strings.Repeat("ef", 32)).ID, Pending)
	if later.Supply == nil || later.Supply.LeftMM != 500 { // what is held may never begin
		t.Errorf("%+v", later.Supply)
	}
}

// TestHeldJobsShareARoll by the arithmetic of a roll of 1 m: each of two jobs that take 700 mm and wait for their release fits
// it, so that neither is short; the second is told what is left if the first goes first, and is short once that is released.
// The one that is put first is not.
func TestHeldJobsShareARoll(t *testing.T) {
	l := openTest(t)
	add(t, l, 1400, 1000, false)
	var ids []int64
	for _, sum := range []string{"ab", "cd"} {
		id := arrive(t, l, strings.Repeat(sum, 32)).ID
		ids = append(ids, id)
		if _, err := l.Change(t.Context(), id, func(j *Job) (Step, error) {
			j.State, j.Ready, j.Material, j.Laid = Held, true, "calico", 700
			return Step{Kind: "made"}, nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	said := func(id int64) string {
		j, err := l.Job(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		short, _ := j.StockSaid("mm")
		return short
	}
	const second = "if job %d goes first, the material does not suffice: of the roll of calico 300 mm would be left for this one, which takes 700 mm"
	if a, b := said(ids[0]), said(ids[1]); a != "" || b != fmt.Sprintf(second, ids[0]) {
		t.Errorf("%q, %q", a, b)
	}
	if _, err := l.Change(t.Context(), ids[1], func(j *Job) (Step, error) { j.Rank = 1; return Step{Kind: "next"}, nil }); err != nil {
		t.Fatal(err)
	}
	if a, b := said(ids[0]), said(ids[1]); a != fmt.Sprintf(second, ids[1]) || b != "" {
		t.Errorf("put first: %q, %q", a, b)
	}
	if j, err := l.Job(t.Context(), ids[0]); err != nil || j.Supply.ShortMM != 0 || j.Supply.LeftMM != 1000 {
		t.Errorf("%+v, %v", j.Supply, err)
	}
	if _, err := l.Change(t.Context(), ids[1], func(j *Job) (Step, error) { j.State = Pending; return Step{Kind: "release"}, nil }); err != nil {
		t.Fatal(err)
	}
	if a := said(ids[0]); a != fmt.Sprintf("the material does not suffice: the job takes 700 mm, and 300 mm of the roll of calico is left for it, 400 mm too little; job %d before it takes 700 mm", ids[1]) {
		t.Errorf("the other is released: %q", a)
	}
}

// TestBookedOfACanceledJob: of one of which nothing is sure nothing is called sure, and of one that was all sent, all counts as
// used and no more is said of it.
func TestBookedOfACanceledJob(t *testing.T) {
	l := openTest(t)
	add(t, l, 1400, 5000, false)
	for want, ran := range map[string]float64{"how much of the roll of calico was used cannot be known": 0, "700 mm of the roll of calico booked, as all of the job was sent": math.Inf(1)} {
		j := laid(t, l, 700, Remnant{})
		ends(t, l, j.ID, Canceled, ran)
		events, err := l.Events(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		if last := events[len(events)-1].Text; !strings.Contains(last, want) || strings.Contains(last, "surely") {
			t.Errorf("%q, want %q", last, want)
		}
	}
	is(t, l, Stock{Remnant: Remnant{0, 1400, 4300}, Check: true})
}

// TestFitsOfBefore: numbers of remnants, as kept by a program before, say nothing of how much a job needs, and damage no line.
func TestFitsOfBefore(t *testing.T) {
	l := openTest(t)
	id := arrive(t, l, strings.Repeat("ab", 32)).ID
	if _, err := l.db.Exec("UPDATE jobs SET fits = '[2,3]'"); err != nil {
		t.Fatal(err)
	}
	if _, err := l.db.Exec(SumJobs); err != nil {
		t.Fatal(err)
	}
	if j, err := l.Job(t.Context(), id); err != nil || j.Fault != "" || j.Fits != nil {
		t.Errorf("%+v, %v", j, err)
	}
}

// TestAgainSaid: what a job made again does not bring along is said before; of an ordinary one nothing.
func TestAgainSaid(t *testing.T) {
	for _, c := range []struct {
		state   State
		remnant int64
		want    string
	}{
		{Completed, 0, ""}, {Held, 2, ""}, // which cannot be made again yet
		{Completed, 2, "it was laid on remnant 2 of calico; made again, it is laid on the roll"},
		{Aborted, 0, "it was refused, and its draft and ticket are read again as they were"},
	} {
		j := Job{State: c.state, Remnant: Remnant{No: c.remnant, Width: 600, Length: 900}}
		j.Material = "calico"
		if got := j.AgainSaid(); !strings.HasPrefix(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%s on remnant %d: %q instead of %q", c.state, c.remnant, got, c.want)
		}
	}
}
