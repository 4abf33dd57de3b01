package jobtext

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
)

// Kept says what a hold of a job has done that stood so before.
func Kept(before ledger.Job) string {
	const then = "`tracewheel release %d` lets it go, `tracewheel cancel %d` ends it"
	if before.State != ledger.Held {
		return fmt.Sprintf("job %d is held: nothing of it is sent; "+then, before.ID, before.ID, before.ID)
	}
	text := fmt.Sprintf("job %d was held already, and stays so: %s", before.ID, pattern.Printable(cmp.Or(before.Asks, before.Reason)))
	if strings.Contains(text, "tracewheel release") {
		return text
	}
	return text + "; " + fmt.Sprintf(then, before.ID, before.ID)
}

// Fitting are the states in which a job takes a verb; verbs that are not named take any.
var Fitting = map[string][]ledger.State{
	"hold":    {ledger.Pending},
	"release": {ledger.Held},
	"cancel":  {ledger.Pending, ledger.Held, ledger.Processing, ledger.Stopped},
	"pause":   {ledger.Processing},
	"resume":  {ledger.Stopped},
	"dry":     {ledger.Pending, ledger.Held},
	"bounds":  {ledger.Pending, ledger.Held},
	"again":   {ledger.Canceled, ledger.Aborted, ledger.Completed},
}

// First says what a `next` of a job has done that stood so before.
func First(before ledger.Job) string {
	text := fmt.Sprintf("job %d goes before the others that wait for %s", before.ID, before.Device)
	if before.State == ledger.Held {
		text += fmt.Sprintf("; it is held, so first: tracewheel release %d", before.ID)
	}
	return pattern.Printable(text)
}

// Repeats says what an `again` has made: the job n of all pieces of an old one, of those that are called so, or of those that
// its draft has of a cloth.
func Repeats(n int64, old ledger.Job, called, cloth string) string {
	if cloth != "" {
		return pattern.Printable(fmt.Sprintf("job %d makes the pieces of %s, with the draft and ticket of job %d", n, cloth, old.ID))
	}
	text := fmt.Sprintf("job %d repeats job %d", n, old.ID)
	if called != "" {
		text = fmt.Sprintf("job %d makes pieces %s of job %d again, and numbers them anew from 1", n, called, old.ID)
	}
	if more := old.AgainSaid(); more != "" {
		text += fmt.Sprintf("; of job %d: %s", old.ID, strings.Replace(more, "release JOB", fmt.Sprintf("release %d", n), 1))
	}
	return pattern.Printable(text)
}

// Released says what a release has done: one with answers, or of a job that is not made, lets no machine
// move yet, and takes nobody's word for the bed.
func Released(id int64, answers map[string]string, made, bedClear bool) string {
	const then = "; if it then waits for release, release it again"
	text := ""
	switch {
	case len(answers) > 0:
		var all []string
		for _, what := range slices.Sorted(maps.Keys(answers)) {
			all = append(all, what+" "+answers[what])
		}
		text = fmt.Sprintf("job %d takes the answer %s and is made with it%s", id, strings.Join(all, ", "), then)
	case !made:
		text = fmt.Sprintf("job %d is made first%s", id, then)
	default:
		return fmt.Sprintf("job %d is released; `tracewheel show %d` tells whether it has begun", id, id)
	}
	if bedClear {
		text += ", and say --bed-clear then: it was not taken now"
	}
	return text
}

// Canceled says what a cancel of a job has done; known is false where the job cannot be read.
func Canceled(j ledger.Job, known bool, id int64) string {
	switch {
	case known && !j.State.Ended():
		return fmt.Sprintf("job %d is told to stop with its tool up; `tracewheel show %d` tells whether it has, and what was made", id, id)
	case known && j.Sends > 0:
		return fmt.Sprintf("job %d is %s", id, pattern.Printable(j.Reason))
	}
	return fmt.Sprintf("job %d is canceled", id)
}

// LaidOn says what a release on a remnant has done: the job is made again, and lets no cutter move yet.
func LaidOn(id int64, remnant string) string {
	on := "remnant " + remnant
	if remnant == control.OnRoll {
		on = "the roll"
	}
	return fmt.Sprintf("job %d is laid on %s and made with that; if it then waits for release, release it again", id, on)
}

// Warnings are what a person must know before a release of a job, a line each; "" for nothing.
func (t Teller) Warnings(ctx context.Context, led reading.Reader, id int64) (text string) {
	j, err := led.Job(ctx, id)
	if err != nil {
		return ""
	}
	for _, w := range t.warnings(j) {
		text += "warning: " + pattern.Printable(w) + "\n"
	}
	return text
}
