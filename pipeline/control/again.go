package control

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/control/leftout"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
)

// AgainPieces makes a new job of an ended one, with its draft, its ticket, its lay, the measure cards as they were when the first
// job was made, and its answers: for all its pieces, for some, such as "3-5,8", or for those of another cloth, also of a job that is
// made and waits or runs. It gives the new job's number, and the chosen pieces' numbers in the old job with their names.
func (d *Jobs) AgainPieces(ctx context.Context, id int64, pieces, cloth string) (n int64, called string, err error) {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	old, err := d.led.Job(ctx, id)
	if err != nil {
		return 0, "", err
	}
	if !old.State.Ended() && (cloth == "" || !old.Ready) {
		return 0, "", d.cannot(&old, "made again")
	}
	if old.Stripped == ledger.Forgotten {
		return 0, "", refuse("drop the draft again", fmt.Sprintf("job %d is forgotten: its draft is gone", id))
	}
	a := ledger.Arrival{Answers: maps.Clone(old.Answers), Text: fmt.Sprintf("job %d again", id)}
	if pieces != "" {
		names := d.named(ctx, old)
		if old.Pieces == 0 {
			text, mend := d.led.Unnumbered(ctx, old)
			return 0, "", refuse(mend, text)
		}
		chosen, err := places.Chosen(pieces, old.Pieces, old.Answers[answers.Pieces])
		if err != nil {
			return 0, "", refuse(places.Numbered(names), err.Error())
		}
		called = places.Called(names, pieces)
		a.Answers, a.Text = answers.With(old.Answers, answers.Pieces, chosen), a.Text+", pieces "+called
		old.Lay = "" // the old lay places all pieces
	}
	if cloth != "" { // its pieces are counted and laid anew
		var refused, hint string
		if cloth, refused, hint, err = leftout.Named(ctx, d, old, cloth); err != nil || refused != "" {
			return 0, "", cmp.Or(err, refuse(hint, refused))
		}
		a.Answers, a.Text, old.Lay = answers.With(old.Answers, answers.Cloth, cloth), fmt.Sprintf("job %d for its pieces of %s", id, cloth), ""
		delete(a.Answers, answers.Pieces)
		delete(a.Answers, answers.Bed)
	}
	n, err = d.copyJob(ctx, old, a)
	return n, called, err
}

// Divide makes jobs of the beds on which a job's pieces are cut one after the other, each told by the numbers of its pieces.
// The job keeps the first bed and is made anew. The others are entered before; what a crash leaves of them is not entered
// twice.
func (d *Jobs) Divide(ctx context.Context, id int64, beds []string) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	old, err := d.led.Job(ctx, id)
	if err != nil || old.State.Ended() {
		return err
	}
	of := answers.OfBeds(old.Answers, beds)
	entered, err := d.led.Jobs(ctx, ledger.Filter{Device: old.Device, Unended: true, Faulty: true})
	old.Lay = ""
	for k := 1; k < len(beds) && err == nil; k++ {
		if !slices.ContainsFunc(entered, func(o ledger.Job) bool { return o.AgainOf == id && maps.Equal(o.Answers, of[k]) }) {
			_, err = d.copyJob(ctx, old, ledger.Arrival{Answers: of[k], Text: fmt.Sprintf("bed %d of %d of job %d, pieces %s", k+1, len(beds), id, beds[k])})
		}
	}
	if err == nil {
		_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
			j.Answers = of[0]
			return ledger.Step{Kind: "divided", Text: fmt.Sprintf("into %d beds, each a job of its own; this one keeps the pieces %s", len(beds), beds[0])}, nil
		})
	}
	return err
}

// named gives the names of a job's pieces: from its program or, for a refused job, which has none, from the list of
// names that is kept with it. An old job has lost its program and gives no names.
func (d *Jobs) named(ctx context.Context, j ledger.Job) (names []string) {
	if j.State != ledger.Aborted {
		p, _ := d.Program(ctx, j.ID)
		return p.Names
	}
	if text, err := d.Read(ctx, j.ID, store.PieceNames); err == nil {
		_ = json.Unmarshal(text, &names) // without them the numbers alone are told
	}
	return names
}

// copyJob makes a new job of another job's files. The caller holds d.wishes.
func (d *Jobs) copyJob(ctx context.Context, old ledger.Job, a ledger.Arrival) (int64, error) {
	files, err := d.MadeOf(ctx, old)
	if err != nil {
		return 0, err
	}
	anew := d.led.Reserve()
	if _, trial := a.Answers[answers.ToolUp]; trial {
		a.Remnant = old.Remnant
	} else if old.Remnant.No != 0 { // the remnant is used up by then, so the lay on it is of no use
		files = slices.DeleteFunc(files, func(f store.Named) bool { return f.Name == ledger.LayFile(old.Lay) })
		old.Lay = ""
	}
	a.ID, a.Device, a.File, a.Ticket, a.AgainOf, a.Lay = anew, old.Device, old.File, old.Ticket, old.ID, old.Lay
	if err := d.st.Begin(anew); err != nil {
		return 0, err
	}
	sums, err := d.st.SaveAll(anew, files)
	if err != nil {
		return 0, err
	}
	for _, s := range sums {
		a.Files = append(a.Files, ledger.File{Job: anew, Name: s.Name, Size: s.Size, SHA256: s.SHA256})
	}
	if err := d.Enter(ctx, a); err != nil {
		return 0, err
	}
	return anew, d.st.Entered(anew)
}
