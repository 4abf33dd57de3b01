package control

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// Device is a machine of the workroom as the daemon sees it.
type Device struct {
	Name string
	// Cuts is true for a device with a blade: it moves only on a person's Confirmation.
	Cuts bool
	// Waits is true for a device without a blade that moves only after a person has released its job.
	Waits bool
	// Prints is true for a printer: it has no tool, and its sender finds out what became of sheets handed over
	// earlier.
	Prints bool
	// Material is what usually lies on it.
	Material string
}

// Confirmation is what a person at a cutter confirms before it moves. The program cannot know it, so every wish that
// moves a cutter carries one and is refused without.
type Confirmation string

// What a person can confirm.
const (
	BedClear   Confirmation = "bed-clear"
	NotShifted Confirmation = "not-shifted"
)

// ReleaseSaid is the beginning of the history's line for a release, by the kind of device.
func ReleaseSaid(cuts bool) string {
	if cuts {
		return released + saidBy + BedClear.Text()
	}
	return released
}

const (
	released = "released by a person"
	saidBy   = ", who says: "

	releasedByDemo = "released by the demo itself, for its pretend machine"
)

// Text is the confirmation as a statement.
func (w Confirmation) Text() string {
	switch w {
	case BedClear:
		return "the bed is clear, and the cloth is backed, flat and held, in one layer"
	case NotShifted:
		return "neither cloth nor machine has shifted, and the bed is clear"
	}
	return string(w)
}

// Question is the confirmation as a question to a person.
func (w Confirmation) Question() string {
	switch w {
	case BedClear:
		return "Bed clear? Cloth in one layer, backed, flat and held?"
	case NotShifted:
		return "Bed clear? Neither cloth nor machine has shifted?"
	}
	return string(w) + "?"
}

// Serve says which devices have a worker. Jobs of other devices wait and are not released.
func (d *Jobs) Serve(devices []Device) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.served, d.leaving = slices.Clone(devices), nil
}

// Leave announces that a device's worker is about to end: none of its jobs is begun, released or resumed until Serve
// is called. It is refused while a job of the device is being sent or has been released.
func (d *Jobs) Leave(name string) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	d.mu.Lock()
	defer d.mu.Unlock()
	for id, l := range d.live {
		if l.last.Device == name {
			return refuse(fmt.Sprintf("wait for job %d to end, or: tracewheel cancel %d", id, id),
				fmt.Sprintf("the device %q is in the middle of job %d: let it end first", name, id))
		}
	}
	d.leaving = append(d.leaving, name)
	return nil
}

// stays refuses a job whose device is being taken away or replaced at this moment.
func (d *Jobs) stays(j *ledger.Job) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if slices.Contains(d.leaving, j.Device) {
		return refuse("try again in a moment", fmt.Sprintf("the workroom file is being read anew, and changes the device %q of job %d", j.Device, j.ID))
	}
	return nil
}

func (d *Jobs) device(name string) (dev Device, served bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	i := slices.IndexFunc(d.served, func(o Device) bool { return o.Name == name })
	if i < 0 {
		return Device{}, false
	}
	return d.served[i], true
}

func (d *Jobs) prints(device string) bool {
	dev, _ := d.device(device)
	return dev.Prints
}

func (d *Jobs) cuts(device string) bool {
	dev, _ := d.device(device)
	return dev.Cuts
}

// isServed refuses to release a job whose device is not in the workroom: it would move as soon as the device is back.
func (d *Jobs) isServed(j *ledger.Job) error {
	if !d.serves(j.Device) {
		return refuse("add it to the workroom file, or cancel the job",
			fmt.Sprintf("the device %q of job %d is not in the workroom", j.Device, j.ID))
	}
	return d.stays(j)
}

func (d *Jobs) serves(device string) bool {
	_, served := d.device(device)
	return served
}

// needsGo tells whether a job never begins before a person has released it: a job of a gantry, or a trial, which
// somebody asks for who stands beside the machine.
func (d *Jobs) needsGo(j *ledger.Job) bool {
	dev, _ := d.device(j.Device)
	return dev.Cuts || dev.Waits || j.Answers[answers.ToolUp] != ""
}

// goWords say what a job for which needsGo is true waits for.
func (d *Jobs) goWords(j *ledger.Job) string {
	what := "ready to draw"
	if d.cuts(j.Device) {
		what = "ready to cut"
	}
	if j.Answers[answers.ToolUp] != "" {
		what = "ready to move with the tool up"
	}
	what += d.onRemnant(j)
	what += answers.Part(j.Answers)
	if d.cuts(j.Device) {
		return fmt.Sprintf("%s. Check bed and %s, then: tracewheel release %d", what, cmp.Or(answers.DrawnOn(j.Answers, j.Material), j.Material, "cloth"), j.ID)
	}
	if dev, _ := d.device(j.Device); dev.Waits {
		return fmt.Sprintf("%s. The gantry moves with force: clear its way, keep hands out of its reach, then: tracewheel release %d", what, j.ID)
	}
	return fmt.Sprintf("%s. Clear its way, then: tracewheel release %d", what, j.ID)
}

// onRemnant says which remnant must lie under the tool, "" for a job that lies on the roll.
func (d *Jobs) onRemnant(j *ledger.Job) string {
	r, say := j.Remnant, d.led.Rolls().Say
	if r.No == 0 {
		return ""
	}
	return fmt.Sprintf(" on remnant %d, %s long and %s wide", r.No, say(r.Length), say(r.Width))
}

// Lies names what must lie under a cutter for a job, where a person is asked for it by name: a remnant, a material
// that is not the device's usual one, or another material than the job was cut from before. Otherwise it is "".
func (d *Jobs) Lies(ctx context.Context, j ledger.Job) string {
	dev, _ := d.device(j.Device)
	on := answers.DrawnOn(j.Answers, j.Material)
	switch {
	case dev.Cuts && on != "":
		return on + ","
	case !dev.Cuts || j.Material == "" && j.Remnant.No == 0:
		return ""
	case j.Remnant.No != 0:
		return ledger.Stock{Material: j.Material, Remnant: j.Remnant}.Called() + ", its corner at 0,0 of the bed, the lower left of the job's picture, and its length along x,"
	case j.Material != dev.Material:
		return j.Material
	}
	last, err := d.led.LastRun(ctx, j.Device, 0, 0)
	if err == nil && last.Job == 0 {
		return ""
	}
	before, jerr := d.led.Job(ctx, last.Job)
	if err != nil || jerr != nil || before.Material != j.Material || before.Remnant.No != 0 { // where it is not known, a person is asked
		return j.Material
	}
	return ""
}

// Asks is the question for a confirmation, with what must lie under the tool.
func (w Confirmation) Asks(lies string) string {
	if lies == "" {
		return w.Question()
	}
	return w.Question() + " Does " + lies + " lie there?"
}

// wants refuses a wish that moves a cutter unless it carries one of the confirmations that fit it; the refusal asks
// for the first.
func (d *Jobs) wants(ctx context.Context, j *ledger.Job, said Confirmation, fit ...Confirmation) error {
	if !d.cuts(j.Device) || slices.Contains(fit, said) {
		return nil
	}
	text, lies := fit[0].Text(), d.Lies(ctx, *j)
	if lies != "" {
		text += ", and whether " + lies + " lies there"
	}
	return &Refusal{Text: fmt.Sprintf("job %d moves a cutter%s: look whether %s", j.ID, d.onRemnant(j), text),
		Hint: fmt.Sprintf("then say so with --%s", fit[0]), Say: fit[0], Lies: lies, Cause: ledger.ErrState}
}

// saying adds the confirmation to the history's line; for a pen there is none.
func (d *Jobs) saying(j *ledger.Job, text string, said Confirmation) string {
	if said == "" || !d.cuts(j.Device) {
		return text
	}
	return text + saidBy + said.Text()
}

// bedFree refuses to release a second job of a cutter while another is being cut, is stopped or is released already:
// nobody can confirm that the bed is clear before something else has been cut on it. wish is the verb that the person
// may repeat later. The caller holds d.wishes.
func (d *Jobs) bedFree(ctx context.Context, j ledger.Job, wish string) error {
	if !d.cuts(j.Device) || j.State.Ended() {
		return nil
	}
	jobs, err := d.led.Jobs(ctx, ledger.Filter{BegunOn: j.Device})
	if err != nil {
		return err
	}
	waiting, err := d.led.Jobs(ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Pending}, Released: true, Faulty: true})
	if err != nil {
		return err
	}
	for _, o := range append(jobs, waiting...) {
		switch {
		case o.ID == j.ID || o.Fault != "": // a damaged job is not sent
		case o.State == ledger.Stopped:
			return refuse(fmt.Sprintf("tracewheel resume %d, or: tracewheel cancel %d", o.ID, o.ID),
				fmt.Sprintf("job %d is stopped on %s and must end first", o.ID, o.Device))
		default:
			return refuse(fmt.Sprintf("wait for job %d to end, set the bed up anew, then: tracewheel %s %d", o.ID, wish, j.ID),
				fmt.Sprintf("job %d has %s: wait for it to end and clear the bed first", o.ID, o.Device))
		}
	}
	return nil
}

// TakeBack holds again the jobs of a device that were released and have not begun, because what the person saw at the
// release may have changed: when the program starts, and when the device's settings change. since says which of the
// two; dev is the device with its new settings. It gives the jobs that it held. A job that needs no release is left as
// it is.
func (d *Jobs) TakeBack(ctx context.Context, dev Device, since string) (held []ledger.Job, err error) {
	jobs, err := d.led.Jobs(ctx, ledger.Filter{Device: dev.Name, States: []ledger.State{ledger.Pending}, Faulty: true})
	if err != nil {
		return nil, err
	}
	for _, j := range jobs {
		if j.Fault != "" || !dev.Cuts && !dev.Waits && !d.needsGo(&j) { // a damaged one is not sent
			continue
		}
		j, err := d.change(ctx, j.ID, func(j *ledger.Job) (ledger.Step, error) {
			if !j.Ready {
				j.Released = false // it is made first and then waits for a release
				return ledger.Step{}, nil
			}
			j.State, j.Released = ledger.Held, false
			j.Reason = fmt.Sprintf("it was not begun before %s, so the release no longer counts; %s", since, d.goWords(j))
			return ledger.Step{Kind: "hold", Text: j.Reason}, nil
		})
		if err != nil {
			return held, err
		}
		if j.State == ledger.Held {
			held = append(held, j)
		}
	}
	return held, nil
}
