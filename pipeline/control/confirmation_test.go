package control

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// waiting brings a job of a device as far as a program.
func waiting(t *testing.T, d *Jobs, device string) int64 {
	t.Helper()
	id := d.Reserve()
	sum, err := d.st.Save(id, "original.svg", bytes.NewReader([]byte("skirt")))
	if err != nil {
		t.Fatal(err)
	}
	a := ledger.Arrival{ID: id, Device: device, File: "skirt.svg", Files: []ledger.File{{Name: sum.Name, Size: sum.Size, SHA256: sum.SHA256}}}
	if err := d.Enter(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	ready(t, d, id)
	return id
}

func ready(t *testing.T, d *Jobs, id int64) ledger.Job {
	t.Helper()
	j, err := d.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if j, err = d.Ready(t.Context(), id, Made{Ready: true, Pieces: 1, Answers: j.Answers}); err != nil {
		t.Fatal(err)
	}
	return j
}

func (d *Jobs) state(t *testing.T, id int64) ledger.Job {
	t.Helper()
	j, err := d.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// refusedFor holds that a wish was refused and which word would let it be done.
func refusedFor(t *testing.T, what string, err error, say Confirmation) {
	t.Helper()
	var r *Refusal
	if !errors.As(err, &r) || r.Say != say || say != "" && !strings.Contains(r.Hint, "--"+string(say)) {
		t.Errorf("%s: %v (%+v)", what, err, r)
	}
}

// TestWordsOfAJob: what waits says in plain words of which pieces it is, and a refusal names no state twice.
func TestWordsOfAJob(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "knife-table", Cuts: true}})
	text := d.goWords(&ledger.Job{ID: 5, Device: "knife-table", Answers: map[string]string{answers.Pieces: "1,2,6", "body": "A"}})
	if text != "ready to cut, of the draft's pieces only 1, 2, 6 (here numbered 1 to 3), with the answer body A. Check bed and cloth, then: tracewheel release 5" {
		t.Error(text)
	}
	for state, word := range map[ledger.State]string{ledger.Pending: "waiting", ledger.Aborted: "refused", ledger.Completed: "done", ledger.Processing: "running"} {
		err := d.cannot(&ledger.Job{ID: 5, State: state, Device: "knife-table"}, "resumed")
		if r, is := err.(*Refusal); !is || r.Text != "job 5 is "+word+" and cannot be resumed" {
			t.Errorf("%s: %v", state, err)
		}
	}
}

// TestOneAnswer: the second of two answers is refused, made or not yet, and what a person lets go says by
// which answer it was made. While it still asks it may be answered again.
func TestOneAnswer(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "knife-table", Cuts: true}})
	ctx, id := t.Context(), waiting(t, d, "knife-table")
	answer := func(a string) error { return d.Release(ctx, id, map[string]string{"allowance": a}, "") }
	if err := answer("included"); err != nil {
		t.Fatal(err)
	}
	if j := ready(t, d, id); !strings.Contains(j.Reason, "with the answer allowance included") {
		t.Errorf("it does not say how it is cut: %q", j.Reason)
	}
	for _, a := range []string{"10mm", "included"} {
		err := answer(a)
		var r *Refusal
		if !errors.As(err, &r) || !strings.Contains(r.Text, "answer already: allowance included") || !strings.Contains(r.Hint, "drop the draft again") {
			t.Errorf("%s: %v", a, err)
		}
	}
	if j := d.state(t, id); !j.Ready || j.Answers["allowance"] != "included" {
		t.Errorf("it is %+v", j)
	}
	if err := d.Release(ctx, id, map[string]string{"unit": "mm"}, ""); err != nil {
		t.Errorf("another question: %v", err)
	}
	if _, err := d.Ready(ctx, id, Made{Asks: "how wide?", Answers: d.state(t, id).Answers}); err != nil {
		t.Fatal(err)
	}
	if err := answer("12mm"); err != nil {
		t.Errorf("it asks: %v", err)
	}
}

// TestFailedHint: whoever asks something of a job that failed is sent to its reason, which may name another way
// than mending the draft: where the program was altered the draft is whole.
func TestFailedHint(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "knife-table", Cuts: true}})
	ctx, id := t.Context(), waiting(t, d, "knife-table")
	if _, err := d.Refuse(ctx, id, Made{}, "its program was altered; tracewheel again 1 makes a new job of it"); err != nil {
		t.Fatal(err)
	}
	var r *Refusal
	if err := d.Hold(ctx, id); !errors.As(err, &r) || strings.Contains(r.Hint, "draft") || !strings.Contains(r.Hint, "tracewheel show 1 says why") {
		t.Errorf("%v: %+v", err, r)
	}
}

// second is the error of what gives a job too.
func second(_ int64, err error) error { return err }

// TestOneBedOneJob: nobody can say that a bed is clear before another job was cut on it.
func TestOneBedOneJob(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "knife-table", Cuts: true}})
	t.Cleanup(d.Shut)
	ctx, a, b := t.Context(), waiting(t, d, "knife-table"), waiting(t, d, "knife-table")
	refused := func(words string) {
		t.Helper()
		err := d.Release(ctx, b, nil, BedClear)
		refusedFor(t, "release", err, "")
		_, trial := d.ToolUp(ctx, b, ToolUpBounds, BedClear)
		refusedFor(t, "bounds", trial, "")
		for _, err := range []error{err, trial} {
			if err == nil || !strings.Contains(err.Error(), words) {
				t.Errorf("%v", err)
			}
		}
	}
	if err := d.Release(ctx, a, nil, BedClear); err != nil {
		t.Fatal(err)
	}
	refused("job 1 has knife-table")
	var again *Refusal // it leads to what was asked for, never from a trial to the cut
	for how, err := range map[string]error{"release": d.Release(ctx, b, nil, BedClear), ToolUpDry: second(d.ToolUp(ctx, b, ToolUpDry, BedClear)),
		ToolUpBounds: second(d.ToolUp(ctx, b, ToolUpBounds, BedClear))} {
		if !errors.As(err, &again) || !strings.HasSuffix(again.Hint, fmt.Sprintf("tracewheel %s %d", how, b)) {
			t.Errorf("%s: %+v", how, again)
		}
	}
	if _, err := d.Begin(ctx, a, 3, 30); err != nil {
		t.Fatal(err)
	}
	refused("job 1 has knife-table")
	if _, err := d.Close(ctx, a, End{State: ledger.Stopped, Reason: "unplugged", Sure: -1, Stroke: -1}); err != nil {
		t.Fatal(err)
	}
	refused("job 1 is stopped on")
	if err := d.Cancel(ctx, a); err != nil {
		t.Fatal(err)
	}
	if err := d.Release(ctx, b, nil, BedClear); err != nil {
		t.Error(err)
	}
}

// TestWordsCountOnce: what was let go and is not begun waits again after a new start, trials too, and
// also those that are not made yet; `again` of a trial is no person's word. A pen's own job goes on.
func TestWordsCountOnce(t *testing.T) {
	d := served(t)
	devices := []Device{{Name: "knife-table", Cuts: true}, {Name: "other-knife", Cuts: true}, {Name: "roll-plotter"}}
	d.Serve(devices)
	t.Cleanup(d.Shut)
	ctx := t.Context()
	cut, tried, pen := waiting(t, d, "knife-table"), waiting(t, d, "other-knife"), waiting(t, d, "roll-plotter")
	if err := d.Release(ctx, cut, nil, BedClear); err != nil {
		t.Fatal(err)
	}
	unmade, err := d.ToolUp(ctx, tried, ToolUpDry, BedClear)
	if err != nil {
		t.Fatal(err)
	}
	penTrial, err := d.ToolUp(ctx, pen, ToolUpBounds, "")
	if err != nil {
		t.Fatal(err)
	}
	if j := ready(t, d, penTrial); j.State != ledger.Pending || !j.Released {
		t.Errorf("a trial that was asked for is %s (%s)", j.State, j.Reason)
	}
	plain := waiting(t, d, "roll-plotter")
	for _, dev := range devices {
		if _, err := d.TakeBack(ctx, dev, "the program ended"); err != nil {
			t.Fatal(err)
		}
	}
	ready(t, d, unmade)
	for id, words := range map[int64]string{cut: "no longer counts; ready to cut. Check bed and cloth",
		penTrial: "no longer counts; ready to move with the tool up", unmade: "ready to move with the tool up. Check bed and cloth"} {
		if j := d.state(t, id); j.State != ledger.Held || j.Released || !strings.Contains(j.Reason, words) {
			t.Errorf("job %d is %s: %s", id, j.State, j.Reason)
		}
		if _, err := d.Begin(ctx, id, 3, 30); !IsRefusal(err) {
			t.Errorf("job %d begins: %v", id, err)
		}
	}
	if j := d.state(t, plain); j.State != ledger.Pending {
		t.Errorf("a pen's job is %s: %s", j.State, j.Reason)
	}
	if err := d.Cancel(ctx, unmade); err != nil {
		t.Fatal(err)
	}
	again, _, err := d.AgainPieces(ctx, unmade, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if j := ready(t, d, again); j.State != ledger.Held {
		t.Errorf("a trial made again is %s", j.State)
	}
}

// TestDeviceBecomesACutter: a job that was waiting for a pen does not go by itself once its device cuts.
func TestDeviceBecomesACutter(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "table"}})
	id := waiting(t, d, "table")
	d.Serve([]Device{{Name: "table", Cuts: true}})
	if _, err := d.Begin(t.Context(), id, 3, 30); !IsRefusal(err) {
		t.Errorf("it begins: %v", err)
	}
	if j := d.state(t, id); j.State != ledger.Held || !strings.Contains(j.Reason, "Check bed and cloth") {
		t.Errorf("it is %s: %s", j.State, j.Reason)
	}
}

// TestWrittenLateIsHeld: a job that may be half a draft waits for a person, and its history says why.
func TestWrittenLateIsHeld(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	id := waiting(t, d, "roll-plotter")
	if err := d.Late(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	j := d.state(t, id)
	events, err := d.Events(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if j.State != ledger.Held || !strings.Contains(j.Reason, "half") || events[len(events)-1].Kind != "written late" {
		t.Errorf("%s, %q, %+v", j.State, j.Reason, events)
	}
	if err := d.Late(t.Context(), 99); err != nil {
		t.Errorf("a job that is gone: %v", err)
	}
}

// TestClothIsAskedForByName: a cloth that is not the device's own, or not the one that was cut before, is asked for with
// the word, at a release and where a job goes on. An operator cut the wrong cloth.
func TestClothIsAskedForByName(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "knife-table", Cuts: true, Material: "calico"}})
	t.Cleanup(d.Shut)
	of := func(material string) int64 {
		id := waiting(t, d, "knife-table")
		if _, err := d.change(t.Context(), id, func(j *ledger.Job) (ledger.Step, error) {
			j.Material, j.State = material, ledger.Held
			j.Reason = d.goWords(j)
			return ledger.Step{Kind: "hold", Text: j.Reason}, nil
		}); err != nil {
			t.Fatal(err)
		}
		return id
	}
	asks := func(what string, err error, lies string) {
		t.Helper()
		var r *Refusal
		if !errors.As(err, &r) || r.Lies != lies || lies != "" && !strings.Contains(r.Text, "whether "+lies+" lies there") {
			t.Errorf("%s: %v, %+v; expected %q", what, err, r, lies)
		}
	}
	ctx, first, canvas, next := t.Context(), of("calico"), of("canvas"), of("calico")
	if j := d.state(t, canvas); !strings.Contains(j.Reason, "Check bed and canvas, then") {
		t.Errorf("%s", j.Reason)
	}
	asks("the device's own, nothing before", d.Release(ctx, first, nil, ""), "")
	asks("another", d.Release(ctx, canvas, nil, ""), "canvas")
	if err := d.Release(ctx, canvas, nil, BedClear); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(ctx, canvas, 3, 30); err != nil {
		t.Fatal(err)
	}
	if got := d.Lies(ctx, d.state(t, next)); got != "calico" {
		t.Errorf("the own one after another: %q", got)
	}
	on := d.state(t, next)
	on.Remnant = ledger.Remnant{No: 2, Width: 600, Length: 900}
	if got := BedClear.Asks(d.Lies(ctx, on)); !strings.HasSuffix(got, " Does remnant 2 of calico, its corner at 0,0 of the bed, the lower left of the job's picture, and its length along x, lie there?") {
		t.Error(got)
	}
	if got := BedClear.Asks("canvas"); got != BedClear.Question()+" Does canvas lie there?" {
		t.Error(got)
	}
}
